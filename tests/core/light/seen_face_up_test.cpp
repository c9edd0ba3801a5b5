#include "core/light/seen_face_up.h"

#include <gtest/gtest.h>

#include <cmath>

#include "core/base/error.h"
#include "core/cut/library.h"
#include "core/light/trace.h"
#include "core/stone/mesh.h"
#include "tests/core/light/light_shapes.h"

namespace macle {
namespace {

using Eigen::Vector3d;

const Material& diamond() {
    static const Material material = loadMaterial("diamond");
    return material;
}

BodyInside ball(const Vector3d& centre, double radius) {
    return BodyInside(Ellipsoid{centre, Vector3d::Constant(radius)});
}

// A plate shows a ball once, straight, at its true size: rays straight down are not bent. The
// bottom throws back a sixth, which shows the same place again.
TEST(SeenFaceUp, APlateShowsABallOnceAtItsTrueSize) {
    const LightBody plate(test::box(2, 2, 0.5), 1.0, diamond());
    for (const double radius : {0.3, 0.05, 0.004, 0.0004}) {
        SeenOptions options;
        options.leastImage_mm = 0.0;
        const auto seen = seenFaceUp(plate, {ball({0.31, -0.22, 0.1}, radius)}, options).front();
        const double area = M_PI * radius * radius;
        EXPECT_NEAR(seen.area_mm2 / area, 1.0, 0.03) << radius;
        EXPECT_NEAR(seen.straightArea_mm2, seen.area_mm2, 1e-12) << radius;
        EXPECT_NEAR(seen.shareOfFace, seen.area_mm2 / 16.0, 1e-9);
        EXPECT_EQ(seen.images, 1) << radius;
    }
}

// In the trough at 45 degrees a vertical ray runs level between both sides and rises again.
TEST(SeenFaceUp, PavilionSidesShowABallAgainWhereItsMirrorImagesLie) {
    Design design = test::trough(45.0);
    design.parts[0].facets[0].kind = FacetKind::Table;
    const LightBody trough(design, 1.0, diamond());
    const double radius = 0.03;
    const auto seen = seenFaceUp(trough, {ball({0.1, 0.0, -0.3}, radius)}).front();
    // Straight at x = 0.1; on the level stretch of the rays at x = -0.7 and 0.7; and rising, for
    // the ray that came down at -0.1.
    EXPECT_EQ(seen.images, 4);
    EXPECT_EQ(seen.imagesUnderTable, 4);
    EXPECT_NEAR(seen.area_mm2, 4 * M_PI * radius * radius, 0.02 * seen.area_mm2);
    EXPECT_NEAR(seen.straightArea_mm2, M_PI * radius * radius, 0.02 * seen.area_mm2);
}

// Against a plain count of the rays of a fine raster whose way meets the body.
TEST(SeenFaceUp, ARoundShowsWhatAPlainRasterCounts) {
    const LightBody round(makeDesign("round", {}), 6.5, diamond());
    const std::vector<BodyInside> bodies{ball({0.4, 0.3, -0.8}, 0.15), ball({0, 0, -2.0}, 0.1),
                                         ball({2.0, 0.5, 0.1}, 0.12)};
    const auto seen = seenFaceUp(round, bodies);
    const int n = 600;
    const double pitch = 6.6 / n;
    std::vector<int> count(bodies.size(), 0), straight(bodies.size(), 0);
    TraceOptions options;
    options.leastPower = SeenOptions{}.leastShare;
    for (int y = 0; y < n; ++y)
        for (int x = 0; x < n; ++x) {
            const LightRay ray{{(x - 0.5 * (n - 1)) * pitch, (y - 0.5 * (n - 1)) * pitch, 5.0},
                               {0, 0, -1}};
            const auto way = wayInside(round, ray, options);
            for (std::size_t b = 0; b < bodies.size(); ++b)
                for (std::size_t s = 0; s < way.size(); ++s) {
                    const Vector3d run = way[s].to_mm - way[s].from_mm;
                    if (!bodies[b].touches(way[s].from_mm, run.normalized(), run.norm())) continue;
                    ++count[b];
                    if (s == 0) ++straight[b];
                    break;
                }
        }
    for (std::size_t b = 0; b < bodies.size(); ++b) {
        const double plain = count[b] * pitch * pitch;
        EXPECT_NEAR(seen[b].area_mm2, plain, 0.05 * plain) << b;
        EXPECT_NEAR(seen[b].straightArea_mm2, straight[b] * pitch * pitch,
                    0.06 * straight[b] * pitch * pitch)
            << b;
        EXPECT_GT(seen[b].images, 1) << b;
        EXPECT_LE(seen[b].imagesUnderTable, seen[b].images) << b;
    }
}

// Common practice, no source: a mark at the culet is mirrored all around, one near the girdle under
// the crown's edge is not.
TEST(SeenFaceUp, ABodyAtTheCuletIsMirroredMoreThanOneAtTheGirdle) {
    const auto seen = seenFaceUp(makeDesign("round", {}), 6.5, diamond(),
                                 {ball({0, 0, -2.3}, 0.03), ball({2.9, 0.3, 0.0}, 0.03)});
    EXPECT_GT(seen[0].images, 8);
    EXPECT_GT(seen[0].images, 2 * seen[1].images);
    EXPECT_GT(seen[0].shareOfFace, seen[1].shareOfFace);
    EXPECT_GT(seen[0].imagesUnderTable, seen[1].imagesUnderTable);
}

TEST(SeenFaceUp, MeshesSheetsAndThreadsAgree) {
    const Design round = makeDesign("round", {});
    Defect drawn;
    drawn.shape = Ellipsoid{{0.4, 0.3, -0.8}, Vector3d::Constant(0.1)};
    Sheet sheet{{{0.3, 0.2, -0.8}, {0.5, 0.2, -0.8}, {0.5, 0.4, -0.8}, {0.3, 0.4, -0.8}}};
    const std::vector<BodyInside> bodies{BodyInside(std::get<Ellipsoid>(drawn.shape)),
                                         BodyInside(defectSurface(drawn)), BodyInside(sheet)};
    SeenOptions one, many;
    one.threads = 1;
    many.threads = 3;
    const auto a = seenFaceUp(round, 6.5, diamond(), bodies, one);
    const auto b = seenFaceUp(round, 6.5, diamond(), bodies, many);
    for (std::size_t i = 0; i < bodies.size(); ++i) {
        EXPECT_EQ(a[i].area_mm2, b[i].area_mm2);
        EXPECT_EQ(a[i].images, b[i].images);
    }
    // The surface of a drawn ellipsoid encloses it.
    EXPECT_GE(a[1].area_mm2, a[0].area_mm2);
    EXPECT_NEAR(a[1].area_mm2 / a[0].area_mm2, 1.0, 0.15);
    EXPECT_NEAR(a[2].straightArea_mm2, 0.04, 0.004);
}

TEST(SeenFaceUp, RefusesBadOptionsAndStopsWhenCancelled) {
    const LightBody plate(test::box(2, 2, 0.5), 1.0, diamond());
    SeenOptions options;
    options.leastShare = 0.0;
    EXPECT_THROW(seenFaceUp(plate, {}, options), Error);
    Progress progress;
    progress.cancel();
    EXPECT_THROW(seenFaceUp(plate, {ball({0, 0, 0}, 0.1)}, {}, &progress), Error);
}

}  // namespace
}  // namespace macle
