// Self-intersections against CGAL's own test for surfaces, on bodies shaken until they cross.
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_processing/self_intersections.h>
#include <CGAL/Surface_mesh.h>
#include <gtest/gtest.h>

#include "core/base/error.h"
#include "core/stone/skin.h"
#include "tests/core/stone/shapes.h"

namespace macle {
namespace {

using Eigen::Vector3d;
using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;

long long pairsByCgal(const TriangleMesh& mesh) {
    CGAL::Surface_mesh<Kernel::Point_3> surface;
    for (const Vector3d& v : mesh.vertices)
        surface.add_vertex(Kernel::Point_3(v.x(), v.y(), v.z()));
    using Vertex = CGAL::Surface_mesh<Kernel::Point_3>::Vertex_index;
    for (const auto& [a, b, c] : mesh.triangles)
        surface.add_face(Vertex(a), Vertex(b), Vertex(c));
    using Face = CGAL::Surface_mesh<Kernel::Point_3>::Face_index;
    std::vector<std::pair<Face, Face>> pairs;
    CGAL::Polygon_mesh_processing::self_intersections(surface, std::back_inserter(pairs));
    return static_cast<long long>(pairs.size());
}

TEST(Touching, AgreesWithAnIndependentCheckOnShakenBodies) {
    int crossing = 0, clean = 0;
    for (unsigned seed = 0; seed < 60; ++seed) {
        std::mt19937 random(seed);
        TriangleMesh mesh = shapes::bumpy(10, 5.0);
        const double by = 0.05 * seed / 2.0;
        std::uniform_real_distribution<double> share(-by, by);
        if (seed > 0)
            for (Vector3d& v : mesh.vertices)
                v += Vector3d(share(random), share(random), share(random));
        // On a coarse lattice many triangles become coplanar and touch exactly.
        if (seed % 3 == 2)
            for (Vector3d& v : mesh.vertices)
                v = (v * 4.0).array().round() / 4.0;
        bool sound = true;
        for (std::uint32_t t = 0; t < mesh.triangles.size(); ++t)
            sound = sound && !skin::isSliver(mesh, t, 1e-9);
        if (!sound) continue;
        const skin::Touching touching = skin::findTouching(mesh, nullptr);
        if (touching.more) continue;
        EXPECT_EQ(touching.pairs, pairsByCgal(mesh)) << "seed " << seed;
        ++(touching.pairs > 0 ? crossing : clean);
    }
    EXPECT_GT(crossing, 10);
    EXPECT_GT(clean, 3);
}

TEST(Touching, ShowsWhereTwoPartsCross) {
    TriangleMesh mesh = shapes::together(shapes::box({0, 0, 0}, {1, 1, 1}),
                                         shapes::box({0.9, 0.4, 0.4}, {3, 0.6, 0.6}));
    const skin::Touching touching = skin::findTouching(mesh, nullptr);
    EXPECT_GT(touching.pairs, 0);
    ASSERT_FALSE(touching.places.empty());
    for (const Vector3d& place : touching.places) {
        EXPECT_GE(place.x(), 0.9);
        EXPECT_LE(place.x(), 1.0);
        EXPECT_GE(place.y(), 0.4);
        EXPECT_LE(place.y(), 0.6);
    }
}

TEST(Touching, GivesUpCountingInATangle) {
    TriangleMesh mesh;
    for (int i = 0; i < 60; ++i) {
        const double a = 0.1 * i;
        const TriangleMesh needle = shapes::moved(
            shapes::box({-5, -0.1, -0.1}, {5, 0.1, 0.1}),
            Eigen::Quaterniond(Eigen::AngleAxisd(a, Vector3d(1, 1, a).normalized())), {0, 0, 0});
        mesh = mesh.empty() ? needle : shapes::together(mesh, needle);
    }
    const skin::Touching touching = skin::findTouching(mesh, nullptr);
    EXPECT_TRUE(touching.more);
    EXPECT_EQ(touching.pairs, skin::kMostPairs);
    EXPECT_EQ(touching.places.size(), 20u);
}

TEST(Touching, AFlapFoldedFlatOntoItsNeighbourIsFound) {
    TriangleMesh mesh;
    mesh.vertices = {{0, 0, 0}, {2, 0, 0}, {1, 1, 0}, {1, 0.5, 0}, {1, -1, 0}, {1, 1, 0.01}};
    mesh.triangles = {{0, 1, 2}, {1, 0, 3}};
    EXPECT_EQ(skin::findTouching(mesh, nullptr).pairs, 1);
    mesh.triangles = {{0, 1, 2}, {1, 0, 4}};
    EXPECT_EQ(skin::findTouching(mesh, nullptr).pairs, 0);
    mesh.triangles = {{0, 1, 2}, {1, 0, 5}};
    EXPECT_EQ(skin::findTouching(mesh, nullptr).pairs, 0);
}

}  // namespace
}  // namespace macle
