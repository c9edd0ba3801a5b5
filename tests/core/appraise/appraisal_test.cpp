#include "core/appraise/appraisal.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <numbers>

#include "core/base/error.h"
#include "core/base/units.h"
#include "core/cut/round_brilliant.h"
#include "tests/core/solid/test_bodies.h"

using namespace macle;
using namespace macle::bodies;
using ::testing::HasSubstr;

namespace {

constexpr double kDensity = 3.52;  // g/cm3, common practice for diamond, no source
constexpr double kSize_mm = 6.5;

Stone cubeStone(double half_mm) {
    Stone stone;
    stone.name = "test cube";
    stone.material.name = "diamond";
    stone.material.density_g_cm3 = kDensity;
    stone.rough = rough(boxMesh(Vector3d::Constant(-half_mm), Vector3d::Constant(half_mm)));
    return stone;
}

Defect ellipsoid(const std::string& name, const Vector3d& centre_mm, double radius_mm,
                 int severity = 3, DefectPolicy policy = DefectPolicy::MustBeCutAway) {
    Defect defect;
    defect.name = name;
    defect.shape = Ellipsoid{centre_mm, Vector3d::Constant(radius_mm)};
    defect.kind = DefectKind::Crystal;
    defect.severity = severity;
    defect.policy = policy;
    return defect;
}

Placement upright(double size_mm) {
    Placement placement;
    placement.size_mm = size_mm;
    return placement;
}

Design roundDesign() {
    return roundBrilliant(RoundProportions{});
}

Appraisal look(const Stone& stone, const Placement& placement = upright(kSize_mm)) {
    return appraise(stone, RoughCutter(stone.rough), roundDesign(), placement);
}

}  // namespace

TEST(Appraisal, AccountsForEveryCarat) {
    const Stone stone = cubeStone(4.0);
    const Appraisal inside = look(stone);
    EXPECT_TRUE(inside.inside);
    EXPECT_DOUBLE_EQ(inside.rough_ct, 512.0 * kDensity / 200.0);
    EXPECT_DOUBLE_EQ(inside.rough_ct, inside.finished_ct + inside.loss_ct);
    EXPECT_DOUBLE_EQ(inside.loss_outside_ct, inside.loss_ct);
    EXPECT_DOUBLE_EQ(inside.loss_missing_ct, 0.0);
    EXPECT_DOUBLE_EQ(inside.recovery_percent, 100.0 * inside.finished_ct / inside.rough_ct);
    EXPECT_DOUBLE_EQ(inside.naturals_mm2, 0.0);

    Placement aside = upright(kSize_mm);
    aside.translation_mm = Vector3d(2.0, 0.0, 0.0);
    const Appraisal poking = look(stone, aside);
    EXPECT_FALSE(poking.inside);
    EXPECT_DOUBLE_EQ(poking.rough_ct, poking.finished_ct + poking.loss_ct);
    EXPECT_GT(poking.loss_missing_ct, 0.0);
    EXPECT_NEAR(poking.finished_ct + poking.loss_missing_ct, inside.finished_ct, 1e-9);
    EXPECT_GT(poking.naturals_mm2, 0.0);
}

TEST(Appraisal, SaysWhenNoDefectRemains) {
    Stone stone = cubeStone(4.0);
    stone.defects = {ellipsoid("corner", Vector3d::Constant(3.5), 0.3)};
    const Appraisal appraisal = look(stone);
    EXPECT_TRUE(appraisal.defects.empty());
    EXPECT_EQ(appraisal.clarity,
              "No recorded defect remains inside. Planning estimate, not a grading report.");
}

TEST(Appraisal, NamesTheZoneOfEachDefect) {
    // Round of 6.5 mm: table 56 %, crown about 0.98 mm high, girdle 0.195 mm, z = 0 mid-girdle.
    Stone stone = cubeStone(4.0);
    stone.defects = {
        ellipsoid("a", {0.3, 0.2, 0.5}, 0.05, 5), ellipsoid("b", {2.4, 0.0, 0.25}, 0.05, 4),
        ellipsoid("c", {3.1, 0.1, 0.0}, 0.04, 3), ellipsoid("d", {0.2, 0.0, -1.5}, 0.05, 2),
        ellipsoid("e", {3.9, 3.9, 3.9}, 0.05, 1)};
    const Appraisal appraisal = look(stone);
    ASSERT_EQ(appraisal.defects.size(), 4U);
    EXPECT_EQ(appraisal.defects[0].zone, "under the table");
    EXPECT_EQ(appraisal.defects[1].zone, "under the crown");
    EXPECT_EQ(appraisal.defects[2].zone, "at the girdle");
    EXPECT_EQ(appraisal.defects[3].zone, "in the pavilion");
}

TEST(Appraisal, TurnsZonesWithThePlacement) {
    Stone stone = cubeStone(5.0);
    stone.defects = {ellipsoid("low in the stone frame", {0.2, 0.1, -0.6}, 0.05)};
    Placement upsideDown = upright(kSize_mm);
    upsideDown.rotation = Eigen::AngleAxisd(std::numbers::pi, Vector3d::UnitX());
    const Appraisal appraisal = look(stone, upsideDown);
    ASSERT_EQ(appraisal.defects.size(), 1U);
    EXPECT_EQ(appraisal.defects[0].zone, "under the table");
}

TEST(Appraisal, MeasuresDefectsThatLieWhollyInside) {
    Stone stone = cubeStone(4.0);
    stone.defects = {ellipsoid("crystal 1", {0.1, 0.0, 0.4}, 0.155)};
    const Appraisal appraisal = look(stone);
    ASSERT_EQ(appraisal.defects.size(), 1U);
    const DefectInside& defect = appraisal.defects[0];
    EXPECT_EQ(defect.name, "crystal 1");
    EXPECT_EQ(defect.kind, "crystal");
    EXPECT_TRUE(defect.forbidden);
    EXPECT_NEAR(defect.volume_mm3, 4.0 / 3.0 * std::numbers::pi * std::pow(0.155, 3.0), 1e-12);
    EXPECT_NEAR(defect.largest_mm, 0.31, 0.01);
    const Facet& table = roundDesign().parts[0].facets.front();
    ASSERT_EQ(table.kind, FacetKind::Table);
    EXPECT_NEAR(defect.depth_mm, kSize_mm * table.distance - 0.4, 1e-6);
    EXPECT_EQ(appraisal.clarity,
              "1 defect remains inside, 0.31 mm (crystal, under the table). It must be cut away. "
              "Planning estimate, not a grading report.");
}

TEST(Appraisal, TakesOnlyThePartOfADefectThatIsInside) {
    // A box halfway through the table.
    const Facet table = roundDesign().parts[0].facets.front();
    const double top = kSize_mm * table.distance;
    Stone stone = cubeStone(4.0);
    Defect box;
    box.name = "box";
    box.shape = boxMesh({-0.2, -0.1, top - 0.3}, {0.2, 0.1, top + 0.1});
    box.policy = DefectPolicy::MayStay;
    stone.defects = {box};
    const Appraisal appraisal = look(stone);
    ASSERT_EQ(appraisal.defects.size(), 1U);
    EXPECT_NEAR(appraisal.defects[0].volume_mm3, 0.4 * 0.2 * 0.3, 1e-9);
    EXPECT_FALSE(appraisal.defects[0].forbidden);
    EXPECT_EQ(appraisal.defects[0].zone, "under the table");
    EXPECT_THAT(appraisal.clarity, testing::Not(HasSubstr("cut away")));
}

TEST(Appraisal, ADefectThatOnlyTouchesDoesNotRemain) {
    const Facet table = roundDesign().parts[0].facets.front();
    const double top = kSize_mm * table.distance;
    Stone stone = cubeStone(4.0);
    Defect box;
    box.name = "box";
    box.shape = boxMesh({-0.2, -0.1, top}, {0.2, 0.1, top + 0.4});
    Defect sheet;
    sheet.name = "crack";
    sheet.kind = DefectKind::Crack;
    sheet.shape = Sheet{{{-0.2, -0.2, top}, {0.2, -0.2, top}, {0.2, 0.2, top}}};
    stone.defects = {box, sheet};
    EXPECT_TRUE(look(stone).defects.empty());
}

TEST(Appraisal, ACrackThroughTheStoneIsFoundThoughItsCornersAreOutside) {
    Stone stone = cubeStone(8.0);
    Defect crack;
    crack.name = "crack 1";
    crack.kind = DefectKind::Crack;
    crack.shape = Sheet{{{-7, -7, 0.3}, {7, -7, 0.3}, {7, 7, 0.3}, {-7, 7, 0.3}}};
    stone.defects = {crack};
    const Appraisal appraisal = look(stone);
    ASSERT_EQ(appraisal.defects.size(), 1U);
    EXPECT_DOUBLE_EQ(appraisal.defects[0].volume_mm3, 0.0);
    EXPECT_EQ(appraisal.defects[0].kind, "crack");
    EXPECT_EQ(appraisal.defects[0].zone, "under the table");
}

TEST(Appraisal, ADesignInsideADefectIsNotCalledClean) {
    Stone stone = cubeStone(8.0);
    stone.defects = {ellipsoid("cloud", Vector3d::Zero(), 7.5)};
    const Appraisal appraisal = look(stone);
    ASSERT_EQ(appraisal.defects.size(), 1U);
    EXPECT_NEAR(carats(appraisal.defects[0].volume_mm3, kDensity), appraisal.finished_ct, 1e-12);
}

TEST(Appraisal, SortsTheMostSevereFirstAndNamesTheLargest) {
    Stone stone = cubeStone(4.0);
    stone.defects = {ellipsoid("slight", {0.0, 0.0, -1.0}, 0.2, 1, DefectPolicy::MayStay),
                     ellipsoid("severe", {0.0, 0.0, 0.5}, 0.05, 5)};
    const Appraisal appraisal = look(stone);
    ASSERT_EQ(appraisal.defects.size(), 2U);
    EXPECT_EQ(appraisal.defects[0].name, "severe");
    EXPECT_THAT(appraisal.clarity, HasSubstr("2 defects remain inside, the largest 0.4"));
    EXPECT_THAT(appraisal.clarity, HasSubstr("(crystal, in the pavilion)"));
    EXPECT_THAT(appraisal.clarity, HasSubstr("1 of them must be cut away."));
    EXPECT_THAT(appraisal.clarity, HasSubstr("Planning estimate, not a grading report."));
}

TEST(Appraisal, WhatMayStayAtTheCrownsEdgeIsForbiddenElsewhere) {
    Stone stone = cubeStone(4.0);
    const auto forbidden = [&](const Vector3d& place) {
        stone.defects = {ellipsoid("feather", place, 0.02, 3, DefectPolicy::MayStayAtEdge)};
        const Appraisal appraisal = look(stone);
        EXPECT_EQ(appraisal.defects.size(), 1U) << place.transpose();
        return appraisal.defects.empty() || appraisal.defects[0].forbidden;
    };
    EXPECT_TRUE(forbidden({0.0, 0.0, 0.3}));   // under the table
    EXPECT_TRUE(forbidden({0.0, 0.0, -1.0}));  // in the pavilion
    const DefectInside edge = [&] {
        stone.defects = {
            ellipsoid("feather", {2.4, 0.0, 0.3}, 0.02, 3, DefectPolicy::MayStayAtEdge)};
        return look(stone).defects.at(0);
    }();
    EXPECT_EQ(edge.zone, "under the crown");
    EXPECT_FALSE(edge.forbidden);
}

TEST(Appraisal, ADesignOutsideTheRoughHasNoFigures) {
    const Stone stone = cubeStone(2.0);
    Placement away = upright(3.0);
    away.translation_mm = Vector3d(30.0, 0.0, 0.0);
    EXPECT_THROW(look(stone, away), Error);
}
