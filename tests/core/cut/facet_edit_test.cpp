#include "core/cut/facet_edit.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "core/base/error.h"
#include "core/base/units.h"
#include "core/cut/library.h"
#include "core/solid/convex_solid.h"

using namespace macle;
using ::testing::HasSubstr;
using What = FacetEdit::What;

namespace {

const Facet& facetNamed(const Design& design, const std::string& name) {
    for (const Facet& facet : design.parts.front().facets)
        if (facet.name == name) return facet;
    throw std::runtime_error("no facet " + name);
}

std::string refusal(const Design& design, const FacetEdit& edit) {
    try {
        edited(design, edit);
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), ErrorCode::BadUsage);
        EXPECT_FALSE(error.remedy().empty());
        return error.message();
    }
    ADD_FAILURE() << "not refused: " << describe(edit);
    return "";
}

}  // namespace

TEST(FacetEdit, AStepThatGoesOnJoinsTheLastAndOneThatComesBackLeavesNone) {
    std::vector<FacetEdit> edits;
    const FacetEdit tilt{
        .what = What::Tilt, .facet = "star", .wholeRow = true, .tilt_deg = 0.1, .hold_percent = 5};
    for (int i = 0; i < 3; ++i)
        append(edits, tilt);
    ASSERT_EQ(edits.size(), 1u);
    EXPECT_NEAR(edits[0].tilt_deg, 0.3, 1e-15);
    FacetEdit one = tilt;
    one.wholeRow = false;
    one.facet = "star 2";
    append(edits, one);
    EXPECT_EQ(edits.size(), 2u);
    one.tilt_deg = -0.1;
    append(edits, one);
    EXPECT_EQ(edits.size(), 1u);
    FacetEdit elsewhere = tilt;
    elsewhere.hold_percent = 6;
    append(edits, elsewhere);
    EXPECT_EQ(edits.size(), 2u);
    const FacetEdit gone{.what = What::Remove, .facet = "star 1"};
    append(edits, gone);
    append(edits, gone);
    EXPECT_EQ(edits.size(), 4u);  // the second will be refused by `edited`, not lost here
}

TEST(FacetEdit, TiltsOneFacetAboutItsLineAtTheHeldHeight) {
    const Design round = makeDesign("round", {});
    const Design tilted = edited(
        round,
        {.what = What::Tilt, .facet = "pavilion main 3", .tilt_deg = 0.5, .hold_percent = -1.5});
    const Facet& before = facetNamed(round, "pavilion main 3");
    const Facet& after = facetNamed(tilted, "pavilion main 3");
    EXPECT_NEAR(facetAngle_deg(after), 41.25, 1e-12);
    EXPECT_NEAR(facetAzimuth_deg(after), 90.0, 1e-12);
    // The girdle edge of the main, at height -1.5 %, stays where it was.
    const Eigen::Vector3d edge(0.2, 0.5, -0.015);
    EXPECT_NEAR(before.normal.dot(edge), before.distance, 1e-15);
    EXPECT_NEAR(after.normal.dot(edge), after.distance, 1e-15);
    // Symmetry is broken: the others stay.
    EXPECT_EQ(facetNamed(tilted, "pavilion main 2").normal,
              facetNamed(round, "pavilion main 2").normal);
    EXPECT_NEAR(facetAngle_deg(facetNamed(edited(tilted, {.what = What::Tilt,
                                                          .facet = "pavilion main 3",
                                                          .tilt_deg = -0.5,
                                                          .hold_percent = -1.5}),
                                          "pavilion main 3")),
                40.75, 1e-12);
}

TEST(FacetEdit, AWholeRowKeepsTheSymmetry) {
    // Crown mains by one degree about the girdle edge: the round of 35.5 degrees, but for the table
    // and the halves, which stay.
    const Design round = makeDesign("round", {});
    const Design steeper = edited(round, {.what = What::Tilt,
                                          .facet = "crown main",
                                          .wholeRow = true,
                                          .tilt_deg = 1.0,
                                          .hold_percent = 1.5});
    const Design expected = makeDesign("round", {{"crown_deg", 35.5}});
    for (int k = 1; k <= 8; ++k) {
        const std::string name = "crown main " + std::to_string(k);
        EXPECT_LT((facetNamed(steeper, name).normal - facetNamed(expected, name).normal).norm(),
                  1e-15);
        EXPECT_NEAR(facetNamed(steeper, name).distance, facetNamed(expected, name).distance, 1e-15);
    }
}

TEST(FacetEdit, ShiftMovesTheWeightByAreaTimesWay) {
    const Design round = makeDesign("round", {});
    const double before = designVolume(round);
    double area = 0.0;
    const ConvexSolid solid = makeSolid(round.parts.front());
    for (const SolidFace& face : solid.faces)
        if (face.facet == 0) area = face.area;
    const Design lower =
        edited(round, {.what = What::Shift, .facet = "table", .shift_percent = -0.01});
    // The second order is the rim times the square of the way: 2e-8.
    EXPECT_NEAR(before - designVolume(lower), area * 1e-4, 3e-8);
}

TEST(FacetEdit, AddsARingOfFacetsWithMirrorImages) {
    const Design oval = makeDesign("oval", {});
    const Design more = edited(oval, {.what = What::Add,
                                      .facet = "pavilion main",
                                      .angle_deg = 36,
                                      .azimuth_deg = 30,
                                      .distance_percent = 37,
                                      .crown = false,
                                      .copies = 2,
                                      .mirrored = true});
    ASSERT_EQ(more.parts.front().facets.size(), oval.parts.front().facets.size() + 4);
    std::vector<double> azimuths;
    for (int k = 9; k <= 12; ++k) {
        const Facet& facet = facetNamed(more, "pavilion main " + std::to_string(k));
        EXPECT_EQ(facet.kind, FacetKind::PavilionMain);
        EXPECT_NEAR(facetAngle_deg(facet), 36.0, 1e-12);
        EXPECT_EQ(facet.distance, 0.37);
        azimuths.push_back(std::round(facetAzimuth_deg(facet)));
    }
    EXPECT_THAT(azimuths, testing::UnorderedElementsAre(30, 330, 210, 150));
    // On the mirror plane a facet is its own image.
    const Design one = edited(oval, {.what = What::Add,
                                     .facet = "new",
                                     .angle_deg = 36,
                                     .azimuth_deg = 0,
                                     .distance_percent = 37,
                                     .crown = false,
                                     .mirrored = true});
    EXPECT_EQ(one.parts.front().facets.size(), oval.parts.front().facets.size() + 1);
    EXPECT_EQ(facetNamed(one, "new 1").kind, FacetKind::Other);
}

TEST(FacetEdit, TurnKeepsTheAngle) {
    const Design turned =
        edited(makeDesign("round", {}), {.what = What::Turn, .facet = "star 2", .turn_deg = -1.5});
    EXPECT_NEAR(facetAzimuth_deg(facetNamed(turned, "star 2")), 66.0, 1e-12);
    EXPECT_NEAR(facetAngle_deg(facetNamed(turned, "star 2")),
                facetAngle_deg(facetNamed(makeDesign("round", {}), "star 2")), 1e-12);
}

TEST(FacetEdit, RemovesOneOrARow) {
    const Design round = makeDesign("round", {});
    EXPECT_EQ(edited(round, {.what = What::Remove, .facet = "star 4"}).parts[0].facets.size(),
              round.parts[0].facets.size() - 1);
    const Design bare = edited(round, {.what = What::Remove, .facet = "star 4", .wholeRow = true});
    EXPECT_EQ(bare.parts[0].facets.size(), round.parts[0].facets.size() - 8);
    EXPECT_GT(designVolume(bare), designVolume(round));
}

TEST(FacetEdit, ChangesEveryPartOfAHeart) {
    const Design heart = makeDesign("heart", {});
    const Design lower =
        edited(heart, {.what = What::Shift, .facet = "table", .shift_percent = -1.0});
    for (const ConvexPart& part : lower.parts)
        EXPECT_NEAR(part.facets.front().distance, heart.parts[0].facets.front().distance - 0.01,
                    1e-15);
    EXPECT_LT(designVolume(lower), designVolume(heart));
}

TEST(FacetEdit, WhatCannotBeIsRefusedByName) {
    const Design round = makeDesign("round", {});
    EXPECT_THAT(refusal(round, {.what = What::Shift, .facet = "pavilion mian 3"}),
                HasSubstr("pavilion mian 3"));
    EXPECT_THAT(refusal(round, {.what = What::Shift, .facet = "table", .shift_percent = -50}),
                HasSubstr("pass the centre"));
    EXPECT_THAT(refusal(round, {.what = What::Tilt, .facet = "table", .tilt_deg = 1}),
                HasSubstr("level"));
    EXPECT_THAT(refusal(round, {.what = What::Tilt, .facet = "star 1", .tilt_deg = -30}),
                HasSubstr("degrees to the girdle plane"));
    EXPECT_THAT(refusal(round, {.what = What::Tilt, .facet = "star 1", .tilt_deg = 90}),
                HasSubstr("degrees to the girdle plane"));
    EXPECT_THAT(
        refusal(round,
                {.what = What::Add, .facet = "main 3", .angle_deg = 40, .distance_percent = 40}),
        HasSubstr("without a number"));
    EXPECT_THAT(
        refusal(round,
                {.what = What::Add, .facet = "main", .angle_deg = 91, .distance_percent = 40}),
        HasSubstr("91"));
    EXPECT_THAT(refusal(round, {.what = What::Add, .facet = "main", .angle_deg = 40}),
                HasSubstr("pass the centre"));
    EXPECT_THAT(refusal(round, {.what = What::Shift,
                                .facet = "table",
                                .shift_percent = std::numeric_limits<double>::quiet_NaN()}),
                HasSubstr("not finite"));
}

TEST(FacetEdit, SaysWhatItDoes) {
    EXPECT_EQ(describe({.what = What::Tilt, .facet = "pavilion main 3", .tilt_deg = 0.5}),
              "Tilt pavilion main 3 by 0.5 deg");
    EXPECT_EQ(describe({.what = What::Remove, .facet = "star 2", .wholeRow = true}),
              "Remove every star");
    EXPECT_EQ(rowOf("pavilion main 12"), "pavilion main");
    EXPECT_EQ(rowOf("table"), "table");
    EXPECT_EQ(rowOf("12"), "12");
}
