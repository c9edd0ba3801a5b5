#include "core/solid/convex_solid.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <tuple>
#include <utility>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/tolerance.h"
#include "core/solid/facet_meets.h"

namespace macle {

namespace {

using Eigen::Vector3d;

constexpr std::size_t kMostParts = 10;

void checkPlanes(const std::vector<Facet>& facets) {
    for (const Facet& facet : facets) {
        if (!facet.normal.allFinite() || !std::isfinite(facet.distance))
            throw Error(ErrorCode::BadInput, "Facet \"" + facet.name + "\" is not a plane.",
                        "Its normal and distance must be finite numbers.");
        if (std::abs(facet.normal.squaredNorm() - 1.0) > tolerance::kVolumeRelative)
            throw Error(ErrorCode::BadInput,
                        "The normal of facet \"" + facet.name + "\" has length " +
                            formatExact(facet.normal.norm()) + ".",
                        "Give it length 1.");
        if (!(facet.distance > 0.0))
            throw Error(ErrorCode::NoSolution,
                        "Facet \"" + facet.name +
                            "\" leaves the centre of the cut outside (distance " +
                            formatExact(facet.distance) + ").",
                        "Every facet must lie beyond the centre; move it outward.");
    }
}

// Vertices taken for one. A group never grows wider than allowed, so that a ring of short edges
// does not draw its vertices far off their planes.
class Groups {
  public:
    Groups(const std::vector<FacetMeet>& raw, double widest)
        : parent_(raw.size()), widest_(widest) {
        std::iota(parent_.begin(), parent_.end(), 0);
        for (const FacetMeet& vertex : raw)
            boxes_.emplace_back(vertex.point);
    }
    int root(int k) {
        while (parent_[index(k)] != k) {
            parent_[index(k)] = parent_[index(parent_[index(k)])];
            k = parent_[index(k)];
        }
        return k;
    }
    void uniteWithin(int a, int b) {
        const int low = std::min(root(a), root(b));
        const int high = std::max(root(a), root(b));
        const Eigen::AlignedBox3d both = boxes_[index(low)].merged(boxes_[index(high)]);
        if (low == high || both.diagonal().norm() >= widest_) return;
        parent_[index(high)] = low;
        boxes_[index(low)] = both;
    }

  private:
    static std::size_t index(int k) { return static_cast<std::size_t>(k); }

    std::vector<int> parent_;
    std::vector<Eigen::AlignedBox3d> boxes_;
    double widest_;
};

// Walks the edges of the polygon: visit(corner, next corner).
template <class Visit>
void eachEdge(const std::vector<int>& corners, Visit visit) {
    for (std::size_t c = 0; c < corners.size(); ++c)
        visit(corners[c], corners[(c + 1) % corners.size()]);
}

// Area as seen along the plane's own normal.
template <class PointAt>
double polygonArea(const std::vector<int>& corners, const Vector3d& normal, PointAt pointAt) {
    Vector3d twice = Vector3d::Zero();
    const Vector3d origin = pointAt(corners.front());
    for (std::size_t c = 1; c + 1 < corners.size(); ++c)
        twice += (pointAt(corners[c]) - origin).cross(pointAt(corners[c + 1]) - origin);
    return 0.5 * twice.dot(normal);
}

struct Merged {
    ConvexSolid solid;
    double moved = 0.0;  // farthest any vertex was moved by merging
};

// Contracts the edges shorter than the tolerance, shortest first.
std::vector<int> groupsOf(const std::vector<FacetMeet>& raw,
                          const std::vector<std::vector<int>>& faces, double tooShort) {
    std::vector<std::tuple<double, int, int>> shortEdges;
    for (const auto& corners : faces)
        eachEdge(corners, [&](int a, int b) {
            const double length =
                (raw[static_cast<std::size_t>(a)].point - raw[static_cast<std::size_t>(b)].point)
                    .norm();
            if (a < b && length < tooShort) shortEdges.emplace_back(length, a, b);
        });
    std::sort(shortEdges.begin(), shortEdges.end());
    Groups groups(raw, tooShort);
    for (const auto& [length, a, b] : shortEdges)
        groups.uniteWithin(a, b);
    std::vector<int> roots(raw.size());
    for (std::size_t k = 0; k < raw.size(); ++k)
        roots[k] = groups.root(static_cast<int>(k));
    return roots;
}

// Drops repeated corners, faces left with fewer than three (their neighbours share the remaining
// edge), and vertices left with two faces only (they lie on the edge between them).
void dropCollapsed(std::vector<std::vector<int>>& faces, std::size_t vertexCount) {
    for (bool changed = true; changed;) {
        changed = false;
        std::vector<int> uses(vertexCount, 0);
        for (auto& corners : faces) {
            corners.erase(std::unique(corners.begin(), corners.end()), corners.end());
            while (corners.size() > 1 && corners.front() == corners.back())
                corners.pop_back();
            if (corners.size() < 3) corners.clear();
            for (const int corner : corners)
                ++uses[static_cast<std::size_t>(corner)];
        }
        for (auto& corners : faces) {
            const auto onEdge = [&](int corner) {
                return uses[static_cast<std::size_t>(corner)] < 3;
            };
            changed = std::erase_if(corners, onEdge) > 0 || changed;
        }
    }
}

Merged merge(const std::vector<FacetMeet>& raw, std::vector<std::vector<int>> faces,
             double tooShort) {
    const std::vector<int> roots = groupsOf(raw, faces, tooShort);
    // A group stands where its planes fix a point best.
    std::vector<int> sharpest(raw.size(), -1);
    for (std::size_t k = 0; k < raw.size(); ++k) {
        int& best = sharpest[static_cast<std::size_t>(roots[k])];
        if (best < 0 || raw[k].sharpness > raw[static_cast<std::size_t>(best)].sharpness)
            best = static_cast<int>(k);
    }
    const auto place = [&](int root) {
        return raw[static_cast<std::size_t>(sharpest[static_cast<std::size_t>(root)])].point;
    };

    Merged merged;
    for (std::size_t k = 0; k < raw.size(); ++k)
        merged.moved = std::max(merged.moved, (raw[k].point - place(roots[k])).norm());
    for (auto& corners : faces)
        for (int& corner : corners)
            corner = roots[static_cast<std::size_t>(corner)];
    dropCollapsed(faces, raw.size());

    std::vector<int> number(raw.size(), -1);
    for (std::size_t k = 0; k < faces.size(); ++k) {
        if (faces[k].empty()) continue;
        SolidFace face;
        face.facet = static_cast<int>(k);
        for (const int root : faces[k]) {
            int& index = number[static_cast<std::size_t>(root)];
            if (index < 0) {
                index = static_cast<int>(merged.solid.vertices.size());
                merged.solid.vertices.push_back(place(root));
            }
            face.corners.push_back(index);
        }
        merged.solid.faces.push_back(std::move(face));
    }
    return merged;
}

// --- Verification -----------------------------------------------------------------------------

void verifyClosed(const ConvexSolid& solid) {
    std::map<std::pair<int, int>, int> edges;
    std::vector<int> uses(solid.vertices.size(), 0);
    for (const SolidFace& face : solid.faces)
        eachEdge(face.corners, [&](int a, int b) {
            ++edges[{a, b}];
            ++uses[static_cast<std::size_t>(a)];
        });
    for (const auto& [edge, count] : edges) {
        require(count == 1, "each edge of the solid is walked once in each direction");
        require(edges.contains({edge.second, edge.first}), "the solid is closed");
    }
    for (const int count : uses)
        require(count >= 3, "three faces meet in every vertex");
    const auto halfEdges = static_cast<long>(edges.size());
    require(static_cast<long>(solid.vertices.size() + solid.faces.size()) - halfEdges / 2 == 2,
            "the solid is one piece without holes (Euler 2)");
}

void verifyPlanes(const ConvexSolid& solid, const std::vector<Facet>& facets, double allowed) {
    for (const Vector3d& vertex : solid.vertices)
        for (const Facet& facet : facets)
            require(facet.normal.dot(vertex) - facet.distance <= allowed,
                    "every vertex of the solid satisfies every facet");
    for (const SolidFace& face : solid.faces) {
        const Facet& facet = facets[static_cast<std::size_t>(face.facet)];
        for (const int corner : face.corners)
            require(std::abs(facet.normal.dot(solid.vertices[static_cast<std::size_t>(corner)]) -
                             facet.distance) <= allowed,
                    "every corner of a face lies on its facet");
    }
}

double divergenceVolume(const ConvexSolid& solid) {
    double six = 0.0;
    const auto at = [&](int k) { return solid.vertices[static_cast<std::size_t>(k)]; };
    for (const SolidFace& face : solid.faces)
        for (std::size_t c = 1; c + 1 < face.corners.size(); ++c)
            six += at(face.corners[0]).dot(at(face.corners[c]).cross(at(face.corners[c + 1])));
    return six / 6.0;
}

}  // namespace

ConvexSolid makeSolid(const ConvexPart& part) {
    const std::vector<Facet>& facets = part.facets;
    checkPlanes(facets);
    const FacetMeets raw = facetMeets(facets);

    // The first volume, from planes and areas before any merging: exact for the planes as given.
    const auto meetPoint = [&](int k) { return raw.meets[static_cast<std::size_t>(k)].point; };
    double volume = 0.0;
    for (std::size_t k = 0; k < facets.size(); ++k)
        if (!raw.faces[k].empty())
            volume +=
                facets[k].distance * polygonArea(raw.faces[k], facets[k].normal, meetPoint) / 3.0;

    const double scale = std::max(1.0, raw.reach);
    Merged merged = merge(raw.meets, raw.faces, tolerance::kMergeVertex_mm * scale);
    ConvexSolid solid = std::move(merged.solid);
    if (solid.faces.size() < 4)
        throw Error(ErrorCode::NoSolution,
                    "The facets enclose a sliver thinner than the tolerance of " +
                        formatExact(tolerance::kMergeVertex_mm * scale) + " mm.",
                    "Move the facets apart.");
    const auto point = [&](int k) { return solid.vertices[static_cast<std::size_t>(k)]; };
    double surface = 0.0;
    for (SolidFace& face : solid.faces) {
        face.area =
            polygonArea(face.corners, facets[static_cast<std::size_t>(face.facet)].normal, point);
        surface += face.area;
    }
    verifyClosed(solid);
    verifyPlanes(solid, facets, tolerance::kOnPlane_mm * scale);
    const double difference = std::abs(divergenceVolume(solid) - volume);
    require(
        volume > 0.0 && difference <= tolerance::kVolumeRelative * volume + merged.moved * surface,
        "two ways of computing the volume agree");
    solid.volume = volume;
    return solid;
}

std::vector<std::string> vanishedFacets(const Design& design) {
    std::vector<std::string> names;
    for (const ConvexPart& part : design.parts) {
        std::vector<bool> bounds(part.facets.size(), false);
        for (const SolidFace& face : makeSolid(part).faces)
            bounds[static_cast<std::size_t>(face.facet)] = true;
        for (std::size_t k = 0; k < part.facets.size(); ++k)
            if (!bounds[k]) names.push_back(part.facets[k].name);
    }
    return names;
}

ConvexSolid placed(const ConvexSolid& solid, const Placement& placement) {
    if (!(placement.size_mm > 0.0) || !std::isfinite(placement.size_mm))
        throw Error(ErrorCode::BadUsage,
                    "The size of a placement is " + formatExact(placement.size_mm) + " mm.",
                    "Give a size above zero.");
    if (!placement.translation_mm.allFinite() ||
        !(std::abs(placement.rotation.norm() - 1.0) <= tolerance::kVolumeRelative))
        throw Error(ErrorCode::BadUsage,
                    "The placement does not describe a turn and a shift (quaternion of length " +
                        formatExact(placement.rotation.norm()) + ").",
                    "Give a quaternion of length 1 and a finite shift.");
    const Eigen::Matrix3d turn = placement.rotation.toRotationMatrix();
    const double size = placement.size_mm;
    ConvexSolid result = solid;
    for (Vector3d& vertex : result.vertices)
        vertex = turn * (size * vertex) + placement.translation_mm;
    for (SolidFace& face : result.faces)
        face.area *= size * size;
    result.volume *= size * size * size;
    return result;
}

TriangleMesh triangulated(const ConvexSolid& solid) {
    TriangleMesh mesh;
    mesh.vertices = solid.vertices;
    for (const SolidFace& face : solid.faces)
        for (std::size_t c = 1; c + 1 < face.corners.size(); ++c)
            mesh.triangles.push_back({static_cast<std::uint32_t>(face.corners[0]),
                                      static_cast<std::uint32_t>(face.corners[c]),
                                      static_cast<std::uint32_t>(face.corners[c + 1])});
    return mesh;
}

double designVolume(const Design& design) {
    const std::size_t count = design.parts.size();
    if (count == 0 || count > kMostParts)
        throw Error(ErrorCode::BadUsage,
                    "The cut \"" + design.cut + "\" has " + std::to_string(count) + " parts.",
                    "Give it 1 to " + std::to_string(kMostParts) + " parts.");
    double volume = 0.0;
    for (unsigned subset = 1; subset < (1u << count); ++subset) {
        ConvexPart common;
        bool odd = false;
        for (std::size_t k = 0; k < count; ++k) {
            if ((subset >> k & 1u) == 0) continue;
            odd = !odd;
            const auto& facets = design.parts[k].facets;
            common.facets.insert(common.facets.end(), facets.begin(), facets.end());
        }
        const double shared = makeSolid(common).volume;
        volume += odd ? shared : -shared;
    }
    return volume;
}

}  // namespace macle
