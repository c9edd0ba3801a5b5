// How facets lie to the crystal. Angles between forms of the cube: 54.7356 ({111} to {100}),
// 35.2644 ({111} to {110}), 45 ({100} to {110}): exact identities.
#include "core/appraise/grain.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "core/appraise/grain_turn.h"
#include "core/base/error.h"
#include "core/base/units.h"
#include "core/cut/library.h"
#include "core/cut/round_brilliant.h"
#include "tests/core/solid/test_bodies.h"

using namespace macle;
using namespace macle::bodies;
using ::testing::HasSubstr;

namespace {

const double kCubeToOctahedron_deg = degrees(std::acos(1.0 / std::sqrt(3.0)));

CrystalAxes turnedAxes(double about_z_deg) {
    CrystalAxes axes;
    axes.rotation = Eigen::AngleAxisd(radians(about_z_deg), Vector3d::UnitZ());
    return axes;
}

Design brilliant() {
    RoundProportions proportions;
    proportions.star_percent = 50.0;
    proportions.lower_half_percent = 75.0;
    return roundBrilliant(proportions);  // crown 34.5, pavilion 40.75
}

const FacetGrain& grainOf(const GrainReading& reading, FacetKind kind, double* least = nullptr) {
    const FacetGrain* best = nullptr;
    for (const FacetGrain& grain : reading.facets)
        if (grain.kind == kind && (!best || grain.toOctahedron_deg < best->toOctahedron_deg))
            best = &grain;
    if (least) *least = best->toOctahedron_deg;
    return *best;
}

Stone block(double half_mm, double height_mm) {
    Stone stone;
    stone.name = "block";
    stone.material.density_g_cm3 = 3.515;
    stone.rough = rough(boxMesh({-half_mm, -half_mm, -height_mm}, {half_mm, half_mm, height_mm}));
    return stone;
}

}  // namespace

TEST(Grain, MainsOfAFourPointStoneLieAsTheAnglesSay) {
    // With a main towards [110], its normal lies in the plane of [001] and [111].
    const GrainReading reading = readGrain(turnedAxes(45.0), brilliant(), {});
    EXPECT_EQ(reading.table.nearest, PointNaming::FourPoint);
    EXPECT_NEAR(reading.table.off_deg, 0.0, 1e-9);
    double main = 0.0, crown = 0.0;
    grainOf(reading, FacetKind::PavilionMain, &main);
    grainOf(reading, FacetKind::CrownMain, &crown);
    EXPECT_NEAR(main, kCubeToOctahedron_deg - 40.75, 1e-9);
    EXPECT_NEAR(main, 13.99, 0.005);
    EXPECT_NEAR(crown, kCubeToOctahedron_deg - 34.5, 1e-9);
    EXPECT_NEAR(crown, 20.24, 0.005);
    // Every second main looks towards a cube axis instead: cos = (sin b + cos b) / sqrt 3.
    const double b = radians(40.75);
    const double towardsCube = degrees(std::acos((std::sin(b) + std::cos(b)) / std::sqrt(3.0)));
    int near = 0, far = 0;
    for (const FacetGrain& grain : reading.facets)
        if (grain.kind == FacetKind::PavilionMain) {
            if (std::abs(grain.toOctahedron_deg - main) < 1e-9) ++near;
            if (std::abs(grain.toOctahedron_deg - towardsCube) < 1e-9) ++far;
        }
    EXPECT_EQ(near, 4);
    EXPECT_EQ(far, 4);
    // A lower half at 42.0, 11.25 degrees off [110]: by the cosine rule on the sphere.
    double half = 0.0;
    grainOf(reading, FacetKind::LowerHalf, &half);
    const Design design = brilliant();
    const auto lower = std::find_if(design.parts[0].facets.begin(), design.parts[0].facets.end(),
                                    [](const Facet& f) { return f.kind == FacetKind::LowerHalf; });
    const double tilt = radians(facetAngle_deg(*lower));
    const double lattice = radians(kCubeToOctahedron_deg);
    EXPECT_NEAR(half,
                degrees(std::acos(std::cos(tilt) * std::cos(lattice) +
                                  std::sin(tilt) * std::sin(lattice) * std::cos(radians(11.25)))),
                1e-9);
    EXPECT_EQ(reading.warned, 0);
    EXPECT_EQ(reading.worst_deg, std::min({main, crown, half, reading.worst_deg}));
}

TEST(Grain, TheTableOfAThreePointStoneIsWarnedOf) {
    CrystalAxes axes;
    axes.rotation = Eigen::Quaterniond::FromTwoVectors(Vector3d(1, 1, 1), Vector3d::UnitZ());
    const GrainReading reading = readGrain(axes, brilliant(), {});
    EXPECT_EQ(reading.table.nearest, PointNaming::ThreePoint);
    EXPECT_EQ(reading.worstFacet, "table");
    EXPECT_NEAR(reading.worst_deg, 0.0, 1e-6);
    EXPECT_EQ(reading.warned, 1);
    const FacetGrain& table = grainOf(reading, FacetKind::Table);
    EXPECT_TRUE(table.warned);
    EXPECT_TRUE(table.easy.empty());
    EXPECT_THAT(table.text, HasSubstr("hardly any polish"));
    GrainRules none;
    none.warn_deg = 0.0;
    EXPECT_EQ(readGrain(axes, brilliant(), {}, none).warned, 0);
}

TEST(Grain, EasyDirectionsAreThoseOfTheThreeForms) {
    // Four on a cube face, along its axes; two on a dodecahedron face; none on an octahedron face
    // (Kraus and Slawson 1939); three beside one (from memory).
    const CrystalAxes axes;
    const FacetGrain cube = facetGrain(axes, {0, 0, 1});
    ASSERT_EQ(cube.easy.size(), 2u);
    for (const EasyDirection& easy : cube.easy) {
        EXPECT_TRUE(easy.bothWays);
        EXPECT_NEAR(easy.axisOff_deg, 0.0, 1e-9);
        EXPECT_NEAR(easy.direction.cwiseAbs().maxCoeff(), 1.0, 1e-12);
        EXPECT_NEAR(easy.direction.z(), 0.0, 1e-12);
    }
    const FacetGrain dodecahedron = facetGrain(axes, {1, 1, 0});
    ASSERT_EQ(dodecahedron.easy.size(), 1u);
    EXPECT_TRUE(dodecahedron.easy[0].bothWays);
    EXPECT_EQ(dodecahedron.easy[0].axis, "[001]");
    EXPECT_TRUE(facetGrain(axes, {1, 1, 1}).easy.empty());
    const Vector3d beside =
        Eigen::AngleAxisd(radians(4.0), Vector3d(1, -1, 0).normalized()) * Vector3d(1, 1, 1);
    const FacetGrain tilted = facetGrain(axes, beside);
    EXPECT_NEAR(tilted.toOctahedron_deg, 4.0, 1e-9);
    ASSERT_EQ(tilted.easy.size(), 3u);
    for (const EasyDirection& easy : tilted.easy) {
        EXPECT_FALSE(easy.bothWays);
        EXPECT_NEAR(easy.direction.dot(beside.normalized()), 0.0, 1e-12);
        EXPECT_NEAR(easy.direction.norm(), 1.0, 1e-12);
        const Eigen::Index axis = easy.axis == "[100]" ? 0 : easy.axis == "[010]" ? 1 : 2;
        EXPECT_LT(easy.direction[axis], 0.0) << "away from the corner";
    }
}

TEST(Grain, GirdleFlatsAreNotWarnedOf) {
    // A stone on its side: a girdle flat parallel to an octahedral plane.
    CrystalAxes axes;
    axes.rotation = Eigen::Quaterniond::FromTwoVectors(Vector3d(1, 1, 1), Vector3d::UnitX());
    GrainRules wide;
    wide.warn_deg = 6.0;
    bool near = false;
    const GrainReading reading = readGrain(axes, brilliant(), {}, wide);
    for (const FacetGrain& grain : reading.facets)
        if (grain.kind == FacetKind::Girdle) {
            EXPECT_FALSE(grain.warned);
            near = near || grain.toOctahedron_deg < 6.0;
        }
    EXPECT_TRUE(near);
}

TEST(Grain, RefusesALimitThatIsNone) {
    GrainRules rules;
    rules.warn_deg = -1.0;
    EXPECT_THROW(facetGrain({}, {0, 0, 1}, rules), Error);
    rules.warn_deg = std::nan("");
    EXPECT_THROW(facetGrain({}, {0, 0, 1}, rules), Error);
}

TEST(Grain, EveryCutFallsUponItselfAsItsSymmetrySays) {
    EXPECT_EQ(turnsOf(brilliant()), 8);
    EXPECT_EQ(turnsOf(makeDesign("oval", {})), 2);
    EXPECT_EQ(turnsOf(makeDesign("pear", {})), 1);
    EXPECT_EQ(turnsOf(makeDesign("princess", {})), 4);
    EXPECT_EQ(turnsOf(makeDesign("trilliant", {})), 3);
    EXPECT_EQ(turnsOf(makeDesign("emerald", {})), 2);
}

TEST(GrainTurn, TurnsAMainAwayFromAnOctahedralPlane) {
    // A pavilion main at 52 degrees towards [110] is 2.74 off. Turned by 22.5 it is as far as the
    // sphere says. In an upright cylinder-like block wide enough the weight is the same throughout.
    RoundProportions steep;
    steep.crown_deg = 30.0;
    steep.pavilion_deg = 43.0;
    const Stone stone = block(3.0, 1.2);  // held by top and bottom only
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, roundBrilliant(steep), {});
    GrainRules rules;
    rules.warn_deg = 12.0;  // 54.74 - 43 = 11.74
    const GrainTurns turns = turnAgainstGrain(turnedAxes(45.0), gauge, {}, 3.515, 2.5, rules);
    ASSERT_EQ(turns.turns.size(), 18u);
    EXPECT_NEAR(turns.turns.front().worst_deg, kCubeToOctahedron_deg - 43.0, 1.0);
    EXPECT_GT(turns.turns.front().warned, 0);
    const GrainTurn& advised = turns.turns[static_cast<std::size_t>(turns.advised)];
    EXPECT_EQ(advised.warned, std::min_element(turns.turns.begin(), turns.turns.end(),
                                               [](const GrainTurn& a, const GrainTurn& b) {
                                                   return a.warned < b.warned;
                                               })
                                  ->warned);
    EXPECT_NEAR(turns.gains_ct, 0.0, 1e-6);
    // Mains and halves repeat after 45 degrees, and mirror-wise at half of it.
    for (std::size_t i = 1; i < turns.turns.size(); ++i)
        EXPECT_NEAR(turns.turns[i].worst_deg, turns.turns[turns.turns.size() - i].worst_deg, 1e-9);
    for (const GrainTurn& turn : turns.turns) {
        EXPECT_GE(turn.weight_ct, turn.kept_ct - 1e-12);
        EXPECT_NEAR(readGrain(turnedAxes(45.0), gauge.design(), turn.placement, rules).worst_deg,
                    turn.worst_deg, 1e-12);
    }
}

TEST(GrainTurn, ASquareCutPaysForItsTurn) {
    // A cube of edge s in a box of half-width h, as high as need be: turned by t the largest edge
    // is 2 h / (cos t + sin t).
    const Stone stone = block(2.0, 9.0);
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, cubeDesign(), {});
    Placement start;
    start.translation_mm = Vector3d(0.3, -0.2, 0.0);
    start.rotation = Eigen::AngleAxisd(radians(3.0), Vector3d::UnitZ());
    const auto closedForm_ct = [](double turn_deg) {
        const double t = radians(turn_deg + 3.0);
        return carats(std::pow(4.0 / (std::cos(t) + std::sin(t)), 3), 3.515);
    };
    const GrainTurns turns = turnAgainstGrain(CrystalAxes{}, gauge, start, 3.515, 5.0);
    ASSERT_EQ(turns.turns.size(), 18u);
    for (const GrainTurn& turn : turns.turns) {
        EXPECT_NEAR(turn.weight_ct, closedForm_ct(turn.turn_deg), 1e-6) << turn.turn_deg;
        EXPECT_LT(turn.kept_ct, turn.weight_ct);
    }
    EXPECT_EQ(turns.advised, 17);  // 88 degrees: nearest to square
    EXPECT_NEAR(turns.gains_ct, closedForm_ct(85.0) - closedForm_ct(0.0), 2e-6);
    EXPECT_THROW(turnAgainstGrain(CrystalAxes{}, gauge, start, 3.515, 0.0), Error);
    EXPECT_THROW(turnAgainstGrain(CrystalAxes{}, gauge, start, 3.515, 0.01), Error);
    Progress cancelled;
    cancelled.cancel();
    EXPECT_THROW(turnAgainstGrain(CrystalAxes{}, gauge, start, 3.515, 5.0, {}, &cancelled), Error);
}
