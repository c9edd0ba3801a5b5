#include "app/window/hand.h"

#include <gtest/gtest.h>

#include <random>

#include "app/window/angles.h"
#include "core/cut/library.h"
#include "core/solid/convex_solid.h"

namespace macle::app {
namespace {

Sight sightFromZ(bool parallel) {
    Sight s;
    s.eye_mm = {0, 0, 20};
    s.parallel = parallel;
    s.halfHeight = parallel ? 5.0 : 0.25;
    s.width_px = 800;
    s.height_px = 600;
    return s;
}

TEST(Hand, ThePointUnderThePointerStaysThereWhenTheCutIsMoved) {
    for (const bool parallel : {false, true}) {
        const Sight s = sightFromZ(parallel);
        Placement p;
        p.translation_mm = {1.0, -0.5, 2.0};
        const Placement q = moved(p, s, 37.0, -21.0);
        const double scale = millimetresPerPixel(s, p.translation_mm);
        EXPECT_NEAR((q.translation_mm - p.translation_mm).x(), 37.0 * scale, 1e-12);
        EXPECT_NEAR((q.translation_mm - p.translation_mm).y(), 21.0 * scale, 1e-12);
        EXPECT_EQ(q.translation_mm.z(), p.translation_mm.z());
    }
    // 5 mm over half of 600 pixels; 20 mm away, tangent 0.25.
    EXPECT_NEAR(millimetresPerPixel(sightFromZ(true), Eigen::Vector3d::Zero()), 5.0 / 300.0, 1e-12);
    EXPECT_NEAR(millimetresPerPixel(sightFromZ(false), Eigen::Vector3d::Zero()), 5.0 / 300.0,
                1e-12);
}

TEST(Hand, TurningKeepsTheCentreAndMovesTheFrontWithThePointer) {
    const Sight s = sightFromZ(false);
    Placement p;
    p.translation_mm = {1, 2, 3};
    const Placement q = turned(p, s, 300.0, 0.0);
    EXPECT_EQ(q.translation_mm, p.translation_mm);
    // Half the smaller side is a quarter turn; what faced the viewer now faces right.
    EXPECT_NEAR((q.rotation * Eigen::Vector3d::UnitZ() - Eigen::Vector3d::UnitX()).norm(), 0.0,
                1e-12);
    const Placement down = turned(p, s, 0.0, 300.0);
    EXPECT_NEAR((down.rotation * Eigen::Vector3d::UnitZ() + Eigen::Vector3d::UnitY()).norm(), 0.0,
                1e-12);
    EXPECT_EQ(turned(p, s, 0.0, 0.0).rotation.coeffs(), p.rotation.coeffs());
}

TEST(Hand, SpinningKeepsTheAxisOfTheCut) {
    Placement p;
    p.rotation = rotationOf({40.0, 70.0, 15.0});
    const Placement q = spun(p, 25.0);
    EXPECT_NEAR(
        (q.rotation * Eigen::Vector3d::UnitZ() - p.rotation * Eigen::Vector3d::UnitZ()).norm(), 0.0,
        1e-12);
    EXPECT_NEAR(anglesOf(q.rotation).spin_deg, 40.0, 1e-9);
}

TEST(Hand, SizesStayWithinWhatTheWindowOffers) {
    EXPECT_EQ(sized({}, -3.0).size_mm, kSmallestSize_mm);
    EXPECT_EQ(sized({}, 1e9).size_mm, kLargestSize_mm);
    EXPECT_EQ(sized({}, 6.25).size_mm, 6.25);
}

// Independent check: a ray meets a convex solid when it crosses one of its triangles.
bool crosses(const Ray& ray, const TriangleMesh& mesh) {
    for (const auto& t : mesh.triangles) {
        const Eigen::Vector3d a = mesh.vertices[t[0]];
        const Eigen::Vector3d u = mesh.vertices[t[1]] - a;
        const Eigen::Vector3d v = mesh.vertices[t[2]] - a;
        Eigen::Matrix3d m;
        m << u, v, -ray.direction;
        if (std::abs(m.determinant()) < 1e-15) continue;
        const Eigen::Vector3d s = m.inverse() * (ray.origin_mm - a);
        if (s.x() >= 0.0 && s.y() >= 0.0 && s.x() + s.y() <= 1.0 && s.z() >= 0.0) return true;
    }
    return false;
}

TEST(Hand, PicksTheCutExactlyWhereItsTrianglesAreHit) {
    const Design design = makeDesign("round", {});
    Placement p;
    p.rotation = rotationOf({50.0, 20.0, 5.0});
    p.translation_mm = {0.4, -0.3, 0.2};
    p.size_mm = 6.0;
    const TriangleMesh mesh = triangulated(placed(makeSolid(design.parts.front()), p));
    const Sight s = sightFromZ(false);
    std::mt19937 generator(3);
    std::uniform_real_distribution<double> x(0.0, 800.0);
    std::uniform_real_distribution<double> y(0.0, 600.0);
    int hits = 0;
    for (int i = 0; i < 3000; ++i) {
        const Ray ray = rayThrough(s, x(generator), y(generator));
        const bool hit = meets(ray, design, p);
        EXPECT_EQ(hit, crosses(ray, mesh));
        hits += hit ? 1 : 0;
    }
    EXPECT_GT(hits, 300);
    EXPECT_LT(hits, 2700);
}

}  // namespace
}  // namespace macle::app
