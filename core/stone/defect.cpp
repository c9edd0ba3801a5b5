#include "core/stone/defect.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <numeric>

#include "core/base/error.h"
#include "core/base/tolerance.h"
#include "core/stone/sheet.h"

namespace macle {

namespace {

using Eigen::Vector3d;

// An icosahedron with each triangle parted in four, twice: 320 faces, corners on the unit sphere.
TriangleMesh icosphere() {
    const double g = std::numbers::phi;
    TriangleMesh mesh;
    mesh.vertices = {{-1, g, 0},  {1, g, 0},  {-1, -g, 0}, {1, -g, 0}, {0, -1, g},  {0, 1, g},
                     {0, -1, -g}, {0, 1, -g}, {g, 0, -1},  {g, 0, 1},  {-g, 0, -1}, {-g, 0, 1}};
    mesh.triangles = {{0, 11, 5}, {0, 5, 1},  {0, 1, 7},   {0, 7, 10}, {0, 10, 11},
                      {1, 5, 9},  {5, 11, 4}, {11, 10, 2}, {10, 7, 6}, {7, 1, 8},
                      {3, 9, 4},  {3, 4, 2},  {3, 2, 6},   {3, 6, 8},  {3, 8, 9},
                      {4, 9, 5},  {2, 4, 11}, {6, 2, 10},  {8, 6, 7},  {9, 8, 1}};
    for (Vector3d& v : mesh.vertices)
        v.normalize();
    for (int round = 0; round < 2; ++round) {
        std::map<std::pair<std::uint32_t, std::uint32_t>, std::uint32_t> middles;
        const auto middle = [&](std::uint32_t a, std::uint32_t b) {
            const auto [at, isNew] = middles.try_emplace(
                std::minmax(a, b), static_cast<std::uint32_t>(mesh.vertices.size()));
            if (isNew) mesh.vertices.push_back((mesh.vertices[a] + mesh.vertices[b]).normalized());
            return at->second;
        };
        std::vector<std::array<std::uint32_t, 3>> finer;
        for (const auto& [a, b, c] : mesh.triangles) {
            const std::uint32_t ab = middle(a, b), bc = middle(b, c), ca = middle(c, a);
            finer.insert(finer.end(), {{a, ab, ca}, {b, bc, ab}, {c, ca, bc}, {ab, bc, ca}});
        }
        mesh.triangles = std::move(finer);
    }
    return mesh;
}

// Blown up until its nearest face plane touches the unit sphere. Stretching to the ellipsoid
// afterwards keeps inside inside, so the result encloses it.
TriangleMesh aroundUnitSphere() {
    TriangleMesh mesh = icosphere();
    double nearest = 1.0;
    for (const auto& [a, b, c] : mesh.triangles) {
        const Vector3d normal = (mesh.vertices[b] - mesh.vertices[a])
                                    .cross(mesh.vertices[c] - mesh.vertices[a])
                                    .normalized();
        nearest = std::min(nearest, normal.dot(mesh.vertices[a]));
    }
    const double scale = (1.0 + tolerance::kVolumeRelative) / nearest;
    for (Vector3d& v : mesh.vertices)
        v *= scale;
    return mesh;
}

void check(const Ellipsoid& ellipsoid) {
    if (!ellipsoid.centre_mm.allFinite() || !ellipsoid.halfAxes_mm.allFinite() ||
        !(ellipsoid.halfAxes_mm.minCoeff() > 0.0) ||
        !(std::abs(ellipsoid.rotation.norm() - 1.0) < tolerance::kVolumeRelative))
        throw Error(ErrorCode::BadInput,
                    "An ellipsoid needs a centre, half-axes above zero and a unit rotation.",
                    "Correct the defect.");
}

void check(const Sheet& flat) {
    if (const auto fault = sheet::faultOf(flat))
        throw Error(ErrorCode::BadInput, "A sheet cannot be used: " + *fault + ".",
                    "Correct the corners of the defect.");
}

TriangleMesh surfaceOf(const TriangleMesh& mesh) {
    return mesh;
}

TriangleMesh surfaceOf(const Ellipsoid& ellipsoid) {
    check(ellipsoid);
    static const TriangleMesh kAround = aroundUnitSphere();
    TriangleMesh mesh = kAround;
    for (Vector3d& v : mesh.vertices)
        v = ellipsoid.centre_mm + ellipsoid.rotation * v.cwiseProduct(ellipsoid.halfAxes_mm);
    return mesh;
}

TriangleMesh surfaceOf(const Sheet& flat) {
    check(flat);
    TriangleMesh mesh;
    mesh.vertices = flat.corners_mm;
    mesh.triangles = sheet::triangulate(flat);
    return mesh;
}

double volumeOf(const TriangleMesh& mesh) {
    return signedVolume_mm3(mesh);
}
double volumeOf(const Ellipsoid& ellipsoid) {
    check(ellipsoid);
    return 4.0 / 3.0 * std::numbers::pi * ellipsoid.halfAxes_mm.prod();
}
double volumeOf(const Sheet&) {
    return 0.0;
}

Box boxOf(const TriangleMesh& mesh) {
    return bounds(mesh);
}
Box boxOf(const Ellipsoid& ellipsoid) {
    check(ellipsoid);
    // Along each axis the ellipsoid reaches as far as the length of that row of R diag(half-axes).
    const Eigen::Matrix3d stretch =
        ellipsoid.rotation.toRotationMatrix() * ellipsoid.halfAxes_mm.asDiagonal();
    const Vector3d reach = stretch.rowwise().norm();
    return {ellipsoid.centre_mm - reach, ellipsoid.centre_mm + reach};
}
Box boxOf(const Sheet& flat) {
    TriangleMesh corners;
    corners.vertices = flat.corners_mm;
    return bounds(corners);
}

double distance_mm(const Box& one, const Box& two) {
    const Vector3d gap =
        (one.low - two.high).cwiseMax(two.low - one.high).cwiseMax(Vector3d::Zero());
    return gap.norm();
}

struct KindWord {
    DefectKind kind;
    const char* word;
};
constexpr KindWord kKinds[] = {
    {DefectKind::Crystal, "crystal"}, {DefectKind::Feather, "feather"},
    {DefectKind::Cloud, "cloud"},     {DefectKind::Pinpoint, "pinpoint"},
    {DefectKind::Crack, "crack"},     {DefectKind::GrainLine, "grain line"},
    {DefectKind::Other, "other"}};

struct PolicyWord {
    DefectPolicy policy;
    const char* word;
};
constexpr PolicyWord kPolicies[] = {{DefectPolicy::MustBeCutAway, "must be cut away"},
                                    {DefectPolicy::MayStay, "may stay"},
                                    {DefectPolicy::MayStayAtEdge, "may stay under the crown edge"}};

template <class Words>
std::string listed(const Words& words) {
    std::string text;
    for (const auto& entry : words)
        text += (text.empty() ? "" : ", ") + std::string(entry.word);
    return text;
}

}  // namespace

TriangleMesh defectSurface(const Defect& defect) {
    return std::visit([](const auto& shape) { return surfaceOf(shape); }, defect.shape);
}

double defectVolume_mm3(const Defect& defect) {
    return std::visit([](const auto& shape) { return volumeOf(shape); }, defect.shape);
}

Box defectBounds(const Defect& defect) {
    return std::visit([](const auto& shape) { return boxOf(shape); }, defect.shape);
}

std::vector<DefectCluster> clusterByDistance(std::vector<Defect>& defects, double distance) {
    if (!(distance >= 0.0))
        throw Error(ErrorCode::BadUsage, "The distance between clusters must not be negative.",
                    "Give a distance in mm, 0 or more.");
    std::vector<Box> boxes;
    for (const Defect& defect : defects)
        boxes.push_back(defectBounds(defect));
    // The root of a defect is the first member of its cluster.
    std::vector<std::size_t> root(defects.size());
    std::iota(root.begin(), root.end(), std::size_t{0});
    const auto find = [&](std::size_t i) {
        while (root[i] != i)
            i = root[i] = root[root[i]];
        return i;
    };
    for (std::size_t i = 0; i < defects.size(); ++i)
        for (std::size_t j = 0; j < i; ++j)
            if (distance_mm(boxes[i], boxes[j]) <= distance) {
                const std::size_t a = find(i), b = find(j);
                root[std::max(a, b)] = std::min(a, b);
            }
    std::vector<DefectCluster> clusters;
    for (std::size_t i = 0; i < defects.size(); ++i) {
        const std::size_t first = find(i);
        if (first == i) {
            defects[i].cluster = static_cast<int>(clusters.size());
            clusters.push_back({"cluster " + std::to_string(clusters.size() + 1), {}});
        } else {
            defects[i].cluster = defects[first].cluster;
        }
        clusters[static_cast<std::size_t>(defects[i].cluster)].members.push_back(
            static_cast<int>(i));
    }
    return clusters;
}

const char* kindName(DefectKind kind) {
    for (const KindWord& entry : kKinds)
        if (entry.kind == kind) return entry.word;
    return "other";
}

DefectKind kindFromName(const std::string& name) {
    for (const KindWord& entry : kKinds)
        if (entry.word == name) return entry.kind;
    throw Error(ErrorCode::BadInput, "There is no kind of defect called '" + name + "'.",
                "Use one of: " + listed(kKinds) + ".");
}

const char* policyName(DefectPolicy policy) {
    for (const PolicyWord& entry : kPolicies)
        if (entry.policy == policy) return entry.word;
    return "must be cut away";
}

DefectPolicy policyFromName(const std::string& name) {
    for (const PolicyWord& entry : kPolicies)
        if (entry.word == name) return entry.policy;
    throw Error(ErrorCode::BadInput, "There is no policy called '" + name + "'.",
                "Use one of: " + listed(kPolicies) + ".");
}

}  // namespace macle
