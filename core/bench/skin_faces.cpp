#include "core/bench/skin_faces.h"

#include <Eigen/Eigenvalues>
#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <unordered_map>

#include "core/base/units.h"

namespace macle {

using Eigen::Vector3d;

namespace {

constexpr int kMostRounds = 12;
constexpr std::size_t kMostTipsTried = 64;
constexpr double kLeastVolume = 0.05;  // of three normals: below, they lie near one plane

struct Join {
    std::uint32_t a = 0, b = 0;  // triangles at one edge
    double cosine = 1.0;         // between them
};

// Pairs of triangles at an edge, flattest first.
std::vector<Join> joins(const TriangleMesh& skin, const std::vector<Vector3d>& areas) {
    struct Half {
        std::uint64_t edge;
        std::uint32_t triangle;
    };
    std::vector<Half> halves;
    halves.reserve(3 * skin.triangles.size());
    for (std::size_t t = 0; t < skin.triangles.size(); ++t)
        for (std::size_t k = 0; k < 3; ++k) {
            const std::uint32_t a = skin.triangles[t][k], b = skin.triangles[t][(k + 1) % 3];
            halves.push_back({(std::uint64_t{std::min(a, b)} << 32) | std::max(a, b),
                              static_cast<std::uint32_t>(t)});
        }
    std::sort(halves.begin(), halves.end(), [](const Half& a, const Half& b) {
        return a.edge != b.edge ? a.edge < b.edge : a.triangle < b.triangle;
    });
    std::vector<Join> found;
    for (std::size_t i = 0; i + 1 < halves.size(); ++i) {
        if (halves[i].edge != halves[i + 1].edge) continue;
        const Join join{halves[i].triangle, halves[i + 1].triangle, 0.0};
        const double lengths = areas[join.a].norm() * areas[join.b].norm();
        if (!(lengths > 0.0)) continue;
        found.push_back(join);
        found.back().cosine = areas[join.a].dot(areas[join.b]) / lengths;
    }
    std::stable_sort(found.begin(), found.end(),
                     [](const Join& a, const Join& b) { return a.cosine > b.cosine; });
    return found;
}

class Regions {
  public:
    explicit Regions(std::vector<Vector3d> areas) : area_(std::move(areas)), parent_(area_.size()) {
        std::iota(parent_.begin(), parent_.end(), 0U);
    }
    std::uint32_t root(std::uint32_t t) {
        while (parent_[t] != t)
            t = parent_[t] = parent_[parent_[t]];
        return t;
    }
    bool join(std::uint32_t a, std::uint32_t b, double leastCosine) {
        a = root(a);
        b = root(b);
        if (a == b || area_[a].dot(area_[b]) < leastCosine * area_[a].norm() * area_[b].norm())
            return false;
        parent_[std::max(a, b)] = std::min(a, b);
        area_[std::min(a, b)] += area_[std::max(a, b)];
        return true;
    }

  private:
    std::vector<Vector3d> area_;
    std::vector<std::uint32_t> parent_;
};

// The plane through the patch's middle that its skin lies nearest to, by area.
void fitPlane(const TriangleMesh& skin, NaturalPatch& patch) {
    Vector3d normals = Vector3d::Zero(), middle = Vector3d::Zero();
    double area = 0.0;
    const auto corners = [&](std::uint32_t t) {
        const auto& c = skin.triangles[t];
        return std::array<Vector3d, 3>{skin.vertices[c[0]], skin.vertices[c[1]],
                                       skin.vertices[c[2]]};
    };
    for (const std::uint32_t t : patch.triangles) {
        const auto p = corners(t);
        const Vector3d twice = (p[1] - p[0]).cross(p[2] - p[0]);
        normals += twice;
        middle += 0.5 * twice.norm() * (p[0] + p[1] + p[2]) / 3.0;
        area += 0.5 * twice.norm();
    }
    middle /= area;
    // Second moments of a triangle: area / 12 of (sum of p p' + sum p * sum p').
    Eigen::Matrix3d moment = Eigen::Matrix3d::Zero();
    for (const std::uint32_t t : patch.triangles) {
        auto p = corners(t);
        const double size = 0.5 * (p[1] - p[0]).cross(p[2] - p[0]).norm();
        Vector3d sum = Vector3d::Zero();
        Eigen::Matrix3d own = Eigen::Matrix3d::Zero();
        for (Vector3d& q : p) {
            q -= middle;
            sum += q;
            own += q * q.transpose();
        }
        moment += size / 12.0 * (own + sum * sum.transpose());
    }
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> eigen(moment / area);
    Vector3d normal = eigen.eigenvectors().col(0);
    if (normal.dot(normals) < 0.0) normal = -normal;
    patch.area_mm2 = area;
    patch.middle_mm = middle;
    patch.plane = {normal, normal.dot(middle)};
    patch.unevenness_mm = std::sqrt(std::max(0.0, eigen.eigenvalues()[0]));
}

std::string listOf(const std::vector<int>& faces) {
    std::string text;
    for (const int face : faces)
        text += (text.empty() ? "" : ", ") + std::to_string(face + 1);
    return text;
}

// Where the skin lies as a whole; turns with the scan.
struct Middle {
    Vector3d place = Vector3d::Zero();  // mean of the skin by area
    double across_mm = 0.0;             // twice the farthest distance from it
    std::vector<bool> used;             // vertices that some triangle names
    std::vector<double> far;            // of each vertex from the middle
};

Middle middleOf(const TriangleMesh& skin) {
    Middle middle;
    double whole = 0.0;
    middle.used.assign(skin.vertices.size(), false);
    for (const auto& c : skin.triangles) {
        const Vector3d &p = skin.vertices[c[0]], &q = skin.vertices[c[1]], &r = skin.vertices[c[2]];
        const double area = 0.5 * (q - p).cross(r - p).norm();
        middle.place += area * (p + q + r) / 3.0;
        whole += area;
        middle.used[c[0]] = middle.used[c[1]] = middle.used[c[2]] = true;
    }
    if (whole > 0.0) middle.place /= whole;
    middle.far.resize(skin.vertices.size());
    for (std::size_t v = 0; v < middle.far.size(); ++v) {
        middle.far[v] = (skin.vertices[v] - middle.place).norm();
        if (middle.used[v]) middle.across_mm = std::max(middle.across_mm, 2.0 * middle.far[v]);
    }
    return middle;
}

std::vector<std::uint32_t> verticesOf(const TriangleMesh& skin, const NaturalPatch& face) {
    std::vector<std::uint32_t> own;
    for (const std::uint32_t t : face.triangles)
        own.insert(own.end(), skin.triangles[t].begin(), skin.triangles[t].end());
    std::sort(own.begin(), own.end());
    own.erase(std::unique(own.begin(), own.end()), own.end());
    return own;
}

// Where the planes of three faces meet, if the skin of each comes there.
std::vector<SkinPoint> cornersOf(const TriangleMesh& skin, const std::vector<NaturalPatch>& faces,
                                 double near) {
    std::vector<std::vector<std::uint32_t>> own;
    for (const NaturalPatch& face : faces)
        own.push_back(verticesOf(skin, face));
    const auto off = [&](std::uint32_t v, const Vector3d& place) {
        return (skin.vertices[v] - place).norm();
    };
    const auto nearestOf = [&](std::size_t face, const Vector3d& place) {
        return *std::min_element(
            own[face].begin(), own[face].end(),
            [&](std::uint32_t a, std::uint32_t b) { return off(a, place) < off(b, place); });
    };
    std::vector<SkinPoint> corners;
    const auto meet = [&](const std::array<std::size_t, 3>& three) {
        Eigen::Matrix3d rows;
        Vector3d offsets;
        for (int r = 0; r < 3; ++r) {
            rows.row(r) = faces[three[std::size_t(r)]].plane.normal.transpose();
            offsets[r] = faces[three[std::size_t(r)]].plane.offset_mm;
        }
        if (!(std::abs(rows.determinant()) > kLeastVolume)) return;
        const Vector3d place = rows.inverse() * offsets;
        std::array<std::uint32_t, 3> nearest{};
        for (std::size_t k = 0; k < 3; ++k) {
            nearest[k] = nearestOf(three[k], place);
            if (off(nearest[k], place) > near) return;
        }
        const std::uint32_t vertex = *std::min_element(
            nearest.begin(), nearest.end(),
            [&](std::uint32_t a, std::uint32_t b) { return off(a, place) < off(b, place); });
        auto corner = std::find_if(corners.begin(), corners.end(), [&](const SkinPoint& c) {
            return off(vertex, c.place_mm) <= 2.0 * near;
        });
        if (corner == corners.end())
            corner = corners.insert(corners.end(), {skin.vertices[vertex], {}, {}});
        for (const std::size_t face : three)
            corner->faces.push_back(static_cast<int>(face));
    };
    for (std::size_t i = 0; i < faces.size(); ++i)
        for (std::size_t j = i + 1; j < faces.size(); ++j)
            for (std::size_t k = j + 1; k < faces.size(); ++k)
                meet({i, j, k});
    for (SkinPoint& corner : corners) {
        std::sort(corner.faces.begin(), corner.faces.end());
        corner.faces.erase(std::unique(corner.faces.begin(), corner.faces.end()),
                           corner.faces.end());
    }
    return corners;
}

// Vertices farther from the middle than all skin near them, and not beside a corner.
std::vector<SkinPoint> tipsOf(const TriangleMesh& skin, const Middle& middle,
                              const std::vector<SkinPoint>& corners) {
    const double room = tolerance::kTipReach * middle.across_mm;
    std::vector<bool> peak = middle.used;
    for (const auto& c : skin.triangles)
        for (std::size_t k = 0; k < 3; ++k)
            if (middle.far[c[k]] < middle.far[c[(k + 1) % 3]])
                peak[c[k]] = false;
            else if (middle.far[c[k]] > middle.far[c[(k + 1) % 3]])
                peak[c[(k + 1) % 3]] = false;
    std::vector<std::uint32_t> tried;
    for (std::uint32_t v = 0; v < peak.size(); ++v)
        if (peak[v]) tried.push_back(v);
    std::stable_sort(tried.begin(), tried.end(), [&](std::uint32_t a, std::uint32_t b) {
        return middle.far[a] > middle.far[b];
    });
    if (tried.size() > kMostTipsTried) tried.resize(kMostTipsTried);
    std::vector<SkinPoint> tips;
    for (const std::uint32_t tip : tried) {
        const Vector3d& place = skin.vertices[tip];
        const auto beside = [&](const SkinPoint& p) { return (p.place_mm - place).norm() < room; };
        bool highest = std::none_of(corners.begin(), corners.end(), beside) &&
                       std::none_of(tips.begin(), tips.end(), beside);
        for (std::size_t v = 0; v < middle.far.size() && highest; ++v)
            highest = !middle.used[v] || middle.far[v] <= middle.far[tip] ||
                      (skin.vertices[v] - place).norm() >= room;
        if (highest) tips.push_back({place, {}, {}});
    }
    return tips;
}

}  // namespace

std::vector<NaturalPatch> naturalFaces(const TriangleMesh& skin) {
    std::vector<Vector3d> areas(skin.triangles.size());
    double whole = 0.0;
    for (std::size_t t = 0; t < areas.size(); ++t) {
        const auto& c = skin.triangles[t];
        areas[t] = 0.5 * (skin.vertices[c[1]] - skin.vertices[c[0]])
                             .cross(skin.vertices[c[2]] - skin.vertices[c[0]]);
        whole += areas[t].norm();
    }
    const std::vector<Join> pairs = joins(skin, areas);
    const double leastCosine = std::cos(radians(tolerance::kFlatFace_deg));
    Regions regions(areas);
    bool joined = true;
    for (int round = 0; joined && round < kMostRounds; ++round) {
        joined = false;
        for (const Join& pair : pairs)
            joined = regions.join(pair.a, pair.b, leastCosine) || joined;
    }
    std::unordered_map<std::uint32_t, std::size_t> patchOf;
    std::vector<NaturalPatch> patches;
    for (std::uint32_t t = 0; t < areas.size(); ++t) {
        const auto [slot, fresh] = patchOf.try_emplace(regions.root(t), patches.size());
        if (fresh) patches.emplace_back();
        patches[slot->second].triangles.push_back(t);
        patches[slot->second].area_mm2 += areas[t].norm();
    }
    std::erase_if(patches, [&](const NaturalPatch& patch) {
        return patch.area_mm2 < tolerance::kFaceShare * whole;
    });
    for (NaturalPatch& patch : patches)
        fitPlane(skin, patch);
    std::stable_sort(patches.begin(), patches.end(),
                     [](const auto& a, const auto& b) { return a.area_mm2 > b.area_mm2; });
    return patches;
}

std::string SkinPoint::words() const {
    if (saws.empty())
        return faces.size() < 3 ? "tip of the rough" : "corner of natural faces " + listOf(faces);
    const std::string sawn = saws.size() > 1 ? "the faces of saws " : "the face of saw ";
    return "corner of " + sawn + listOf(saws) +
           (faces.empty() ? " on the skin" : " and natural faces " + listOf(faces));
}

std::vector<SkinPoint> skinPoints(const TriangleMesh& skin, const std::vector<NaturalPatch>& faces,
                                  std::size_t most) {
    const Middle middle = middleOf(skin);
    if (!(middle.across_mm > 0.0)) return {};
    std::vector<SkinPoint> points =
        cornersOf(skin, faces, tolerance::kCornerReach * middle.across_mm);
    std::vector<SkinPoint> tips = tipsOf(skin, middle, points);
    std::stable_sort(points.begin(), points.end(), [&](const SkinPoint& a, const SkinPoint& b) {
        return (a.place_mm - middle.place).norm() > (b.place_mm - middle.place).norm();
    });
    points.insert(points.end(), tips.begin(), tips.end());
    if (points.size() > most) points.resize(most);
    return points;
}

}  // namespace macle
