#include "core/stone/sample.h"

#include <array>
#include <cmath>
#include <numbers>

#include "core/base/error.h"
#include "core/base/units.h"

namespace macle {
namespace {

using Eigen::Vector3d;

struct Dent {
    Vector3d direction;
    double depth;  // share of the radius taken away at its middle; negative for a bump
    double width;  // of its bell in chord length on the unit sphere
};

// A well-grown octahedron with unequal faces, broken and worn: star-shaped about the origin, so
// that the surface cannot cross itself.
double radius(const Vector3d& u) {
    static const std::array<double, 8> faces = {5.15, 6.05, 5.55, 5.80, 6.10, 5.25, 5.95, 5.40};
    constexpr double kSharpness = 16.0;
    double sum = 0.0;
    for (int k = 0; k < 8; ++k) {
        const Vector3d n =
            Vector3d(k & 1 ? -1.0 : 1.0, k & 2 ? -1.0 : 1.0, k & 4 ? -0.86 : 0.86).normalized();
        sum += std::pow(std::max(0.0, u.dot(n)) / faces[static_cast<std::size_t>(k)], kSharpness);
    }
    double r = std::pow(sum, -1.0 / kSharpness);
    static const std::array<Dent, 7> dents = {{
        {Vector3d(0.78, 0.52, 0.35).normalized(), 0.27, 0.30},  // the deep notch
        {Vector3d(-0.30, 0.85, -0.43).normalized(), 0.13, 0.42},
        {Vector3d(-0.90, -0.20, 0.38).normalized(), 0.10, 0.35},
        {Vector3d(0.10, -0.55, -0.83).normalized(), 0.12, 0.30},
        {Vector3d(0.40, -0.80, 0.45).normalized(), -0.07, 0.40},
        {Vector3d(-0.55, 0.35, 0.76).normalized(), -0.05, 0.35},
        {Vector3d(0.02, 0.06, 1.00).normalized(), 0.16, 0.28},  // the broken point
    }};
    for (const Dent& dent : dents) {
        const double reach = (u - dent.direction).norm() / dent.width;
        r *= 1.0 - dent.depth * std::exp(-reach * reach);
    }
    // Growth relief of some hundredths of a millimetre.
    r += 0.022 * std::sin(9.0 * u.x() + 4.0 * u.y()) * std::sin(8.0 * u.y() - 5.0 * u.z()) +
         0.010 * std::sin(23.0 * u.z() + 3.0 * u.x()) * std::cos(19.0 * u.y()) +
         0.005 * std::sin(41.0 * u.x() - 17.0 * u.z()) * std::sin(37.0 * u.y() + 11.0 * u.x());
    return r;
}

// An octahedral grid: each face of the octahedron in n * n triangles. 4 n^2 + 2 vertices.
TriangleMesh octahedralGrid(int n) {
    TriangleMesh mesh;
    // Vertices by integer coordinates |x| + |y| + |z| = n, so that shared ones are found exactly.
    const int side = 2 * n + 1;
    std::vector<std::int64_t> index(static_cast<std::size_t>(side) * side * 2, -1);
    const auto vertex = [&](int x, int y, int z) {
        const std::size_t slot =
            (static_cast<std::size_t>(x + n) * side + static_cast<std::size_t>(y + n)) * 2 +
            (z < 0 ? 1u : 0u);
        if (index[slot] < 0) {
            index[slot] = static_cast<std::int64_t>(mesh.vertices.size());
            mesh.vertices.emplace_back(double(x) / n, double(y) / n, double(z) / n);
        }
        return static_cast<std::uint32_t>(index[slot]);
    };
    for (int octant = 0; octant < 8; ++octant) {
        const int sx = octant & 1 ? -1 : 1;
        const int sy = octant & 2 ? -1 : 1;
        const int sz = octant & 4 ? -1 : 1;
        const bool mirrored = sx * sy * sz < 0;
        const auto add = [&](std::array<std::uint32_t, 3> t) {
            if (mirrored) std::swap(t[1], t[2]);
            mesh.triangles.push_back(t);
        };
        const auto at = [&](int i, int j) { return vertex(sx * i, sy * j, sz * (n - i - j)); };
        for (int i = 0; i < n; ++i)
            for (int j = 0; i + j < n; ++j) {
                add({at(i, j), at(i + 1, j), at(i, j + 1)});
                if (i + j + 1 < n) add({at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)});
            }
    }
    return mesh;
}

Defect ellipsoid(const char* name, DefectKind kind, int severity, Vector3d centre,
                 Vector3d halfAxes, double turn_deg) {
    Defect defect;
    defect.name = name;
    defect.kind = kind;
    defect.severity = severity;
    defect.shape = Ellipsoid{centre, halfAxes,
                             Eigen::Quaterniond(Eigen::AngleAxisd(
                                 radians(turn_deg), Vector3d(0.3, 0.5, 0.81).normalized()))};
    return defect;
}

Defect sheet(const char* name, DefectKind kind, int severity, Vector3d corner, Vector3d along,
             Vector3d across) {
    Defect defect;
    defect.name = name;
    defect.kind = kind;
    defect.severity = severity;
    defect.shape = Sheet{{corner, corner + along, corner + along + across, corner + across}};
    return defect;
}

}  // namespace

Stone sampleStone(int triangles) {
    if (triangles < 800 || triangles > 4000000)
        throw Error(ErrorCode::BadUsage, "A sample stone has 800 to 4000000 triangles.",
                    "Ask for a number in between.");
    Stone stone;
    stone.name = "Heron 7";
    stone.material = loadMaterial("diamond");

    const int n = static_cast<int>(std::lround(std::sqrt(triangles / 8.0)));
    TriangleMesh& mesh = stone.rough.mesh;
    mesh = octahedralGrid(n);
    const Eigen::Quaterniond asScanned(
        Eigen::AngleAxisd(radians(37.0), Vector3d(0.48, -0.62, 0.62).normalized()));
    for (Vector3d& v : mesh.vertices) {
        const Vector3d u = v.normalized();
        v = asScanned * (radius(u) * u);
    }
    constexpr double kTarget_ct = 19.02;
    const double scale = std::cbrt(cubicMillimetres(kTarget_ct, stone.material.density_g_cm3) /
                                   signedVolume_mm3(mesh));
    // A scanner writes whole tenths of a micrometre.
    for (Vector3d& v : mesh.vertices)
        v = (scale * v * 1e4).array().round() / 1e4;
    stone.rough.volume_mm3 = signedVolume_mm3(mesh);
    stone.rough.report.trianglesRead = stone.rough.report.trianglesKept =
        static_cast<long long>(mesh.triangles.size());
    stone.rough.report.closed = true;
    stone.scale_ct = 19.05;

    const auto place = [&](double x, double y, double z) {
        return Vector3d(asScanned * Vector3d(x, y, z));
    };
    auto& d = stone.defects;
    // Off the middle: a group of included crystals with a feather.
    d.push_back(ellipsoid("crystal A", DefectKind::Crystal, 5, place(-1.9, -1.6, 1.5),
                          {0.42, 0.30, 0.26}, 25));
    d.push_back(ellipsoid("crystal B", DefectKind::Crystal, 4, place(-2.3, -1.1, 1.8),
                          {0.22, 0.18, 0.16}, 70));
    d.push_back(ellipsoid("crystal C", DefectKind::Crystal, 3, place(-1.6, -2.1, 1.9),
                          {0.17, 0.12, 0.12}, 140));
    d.push_back(sheet("feather A", DefectKind::Feather, 4, place(-2.6, -2.2, 1.2),
                      asScanned * Vector3d(0.5, 0.9, 0.1), asScanned * Vector3d(-0.2, 0.1, 0.7)));
    // Under the deep notch: cracks that run in from the skin.
    d.push_back(sheet("crack A", DefectKind::Crack, 5, place(2.3, 1.5, 0.4),
                      asScanned * Vector3d(0.9, 0.5, 0.5), asScanned * Vector3d(-0.3, 0.6, 0.4)));
    d.push_back(sheet("crack B", DefectKind::Crack, 3, place(2.0, 2.0, 1.3),
                      asScanned * Vector3d(0.7, 0.2, 0.1), asScanned * Vector3d(0.1, 0.5, -0.4)));
    d.push_back(
        ellipsoid("cloud A", DefectKind::Cloud, 2, place(2.3, 1.3, 1.4), {0.5, 0.4, 0.3}, 10));
    // Toward one end: pinpoints strewn along a growth layer.
    for (int i = 0; i < 6; ++i) {
        const double a = 0.9 * i;
        d.push_back(
            ellipsoid(("pinpoint " + std::to_string(i + 1)).c_str(), DefectKind::Pinpoint, 1,
                      place(0.6 + 0.55 * std::cos(a), -0.9 + 0.5 * std::sin(a), -3.6 + 0.06 * i),
                      {0.04, 0.04, 0.04}, 0));
    }
    for (Defect& defect : d)
        if (auto* e = std::get_if<Ellipsoid>(&defect.shape)) e->rotation = asScanned * e->rotation;
    stone.clusters = clusterByDistance(stone.defects, 0.8);
    return stone;
}

Stone octahedronStone(double edge_mm, int refinement) {
    if (!(edge_mm > 0.0 && edge_mm <= 1000.0) || refinement < 0 || refinement > 9)
        throw Error(ErrorCode::BadUsage,
                    "An octahedron has an edge of up to 1000 mm and 0 to 9 refinements.",
                    "Correct the numbers.");
    Stone stone;
    stone.name = "Regular octahedron";
    stone.material = loadMaterial("diamond");
    stone.rough.mesh = octahedralGrid(1 << refinement);
    for (Vector3d& v : stone.rough.mesh.vertices)
        v *= edge_mm / std::numbers::sqrt2;
    stone.rough.volume_mm3 = signedVolume_mm3(stone.rough.mesh);
    stone.rough.report.trianglesRead = stone.rough.report.trianglesKept =
        static_cast<long long>(stone.rough.mesh.triangles.size());
    stone.rough.report.closed = true;
    return stone;
}

}  // namespace macle
