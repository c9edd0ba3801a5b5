// Clarity: what is seen face-up, in closed form, and the words it gets.
#include "core/appraise/clarity.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "core/appraise/clarity_grades.h"
#include "core/appraise/planar_hull.h"
#include "core/base/error.h"
#include "core/base/text_file.h"
#include "core/base/units.h"
#include "core/cut/library.h"
#include "core/cut/round_brilliant.h"
#include "core/stone/sample.h"
#include "tests/core/solid/test_bodies.h"

using namespace macle;
using namespace macle::bodies;
using ::testing::HasSubstr;

namespace {

constexpr double kSize_mm = 6.5;

Placement turned() {
    Placement placement;
    placement.size_mm = kSize_mm;
    placement.rotation = Eigen::Quaterniond(0.7, -0.3, 0.5, 0.2).normalized();
    placement.translation_mm = Vector3d(0.3, 1.0, -2.0);
    return placement;
}

// Given in the cut frame, mm.
Defect ball(const Vector3d& at_mm, const Vector3d& halfAxes_mm, const Placement& placement,
            const Eigen::Quaterniond& rotation = Eigen::Quaterniond::Identity()) {
    Defect defect;
    defect.name = "spot";
    defect.kind = DefectKind::Crystal;
    defect.shape = Ellipsoid{placement.rotation * at_mm + placement.translation_mm, halfAxes_mm,
                             (placement.rotation * rotation).normalized()};
    return defect;
}

const ClarityScale& scale() {
    static const ClarityScale kScale = readClarityScale(defaultClarityScale());
    return kScale;
}

std::string scaleText() {
    return readTextFile(defaultClarityScale(), "clarity scale", 1u << 20);
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
    const std::size_t at = text.find(from);
    EXPECT_NE(at, std::string::npos) << from;
    return text.replace(at, from.size(), to);
}

std::string refusalOf(const std::string& text) {
    try {
        parseClarityScale(text, "scale.json");
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), ErrorCode::BadInput);
        return error.message();
    }
    return "";
}

SeenDefect counting(double um) {
    SeenDefect seen;
    seen.name = "one";
    seen.kind = "crystal";
    seen.zone = "under the table";
    seen.seen_um = um;
    seen.counts_um = um;
    return seen;
}

}  // namespace

TEST(PlanarHull, OfASquareWithPointsInside) {
    std::vector<Eigen::Vector2d> points = {{0, 0}, {2, 0}, {2, 2}, {0, 2},    {1, 1},
                                           {1, 0}, {2, 1}, {0, 0}, {0.5, 1.5}};
    const auto hull = planarHull(points);
    ASSERT_EQ(hull.size(), 4u);
    EXPECT_DOUBLE_EQ(hullLength(hull), 8.0);
    EXPECT_DOUBLE_EQ(hullWidest(hull), 2.0 * std::sqrt(2.0));
    EXPECT_EQ(planarHull({{1, 1}, {1, 1}}).size(), 1u);
    EXPECT_DOUBLE_EQ(hullWidest(planarHull({{0, 0}, {1, 0}, {3, 0}})), 3.0);
}

TEST(Glimpse, SeesABallAsWideAsItIs) {
    const Placement placement = turned();
    const PlacedDesign placed(roundBrilliant({}), placement);
    const auto glimpse = placed.glimpse(ball({0.2, 0.1, 0.3}, Vector3d::Constant(0.04), placement));
    ASSERT_TRUE(glimpse);
    EXPECT_NEAR(glimpse->seen_mm, 0.08, 1e-12);
    EXPECT_EQ(glimpse->zone, "under the table");
    EXPECT_FALSE(placed.glimpse(ball({4, 0, 0}, Vector3d::Constant(0.04), placement)));
}

TEST(Glimpse, SeesTheShadowOfATurnedEllipsoid) {
    // A needle of half-axes a, b, b tilted by t from the axis throws a shadow a sin t + ... of half
    // width sqrt(a^2 sin^2 t + b^2 cos^2 t).
    const Placement placement = turned();
    const PlacedDesign placed(roundBrilliant({}), placement);
    for (const double tilt_deg : {0.0, 20.0, 55.0, 90.0}) {
        const Eigen::Quaterniond tilt(
            Eigen::AngleAxisd(radians(90.0 - tilt_deg), Vector3d::UnitY()));  // x towards -z
        const auto glimpse = placed.glimpse(ball({0, 0, -0.2}, {0.3, 0.02, 0.02}, placement, tilt));
        ASSERT_TRUE(glimpse);
        const double s = std::sin(radians(tilt_deg)), c = std::cos(radians(tilt_deg));
        EXPECT_NEAR(glimpse->seen_mm, 2.0 * std::sqrt(0.09 * s * s + 0.0004 * c * c), 1e-12);
    }
}

TEST(Glimpse, TakesOnlyWhatLiesInside) {
    const Facet table = roundBrilliant({}).parts[0].facets.front();
    const double top = kSize_mm * table.distance;
    Placement upright;
    upright.size_mm = kSize_mm;
    const PlacedDesign placed(roundBrilliant({}), upright);
    Defect box;
    box.name = "box";
    box.shape = boxMesh({-0.2, -0.1, top - 0.3}, {0.2, 0.1, top + 0.1});
    const auto glimpse = placed.glimpse(box);
    ASSERT_TRUE(glimpse);
    EXPECT_NEAR(glimpse->seen_mm, std::hypot(0.4, 0.2), 1e-9);
    Defect crack;
    crack.kind = DefectKind::Crack;
    crack.shape = Sheet{{{-7, 0, -7}, {7, 0, -7}, {7, 0, 7}, {-7, 0, 7}}};
    // A plane through the axis and two main junctions: as wide as the girdle.
    ASSERT_TRUE(placed.glimpse(crack));
    EXPECT_NEAR(placed.glimpse(crack)->seen_mm, kSize_mm, 1e-4);
    Defect all;
    all.shape = Ellipsoid{Vector3d::Zero(), Vector3d::Constant(9.0)};
    ASSERT_TRUE(placed.glimpse(all));
    EXPECT_NEAR(placed.glimpse(all)->seen_mm, kSize_mm, 1e-9);
    box.shape = boxMesh({-0.2, -0.1, top}, {0.2, 0.1, top + 0.4});
    EXPECT_FALSE(placed.glimpse(box));
}

TEST(Glimpse, AgreesWithTheFullLookOnWhatRemains) {
    const Stone stone = sampleStone(4000);
    std::mt19937 random(7);
    std::uniform_real_distribution<double> unit(-1.0, 1.0);
    int inside = 0;
    for (int i = 0; i < 60; ++i) {
        Placement placement;
        placement.size_mm = 5.0 + 3.0 * std::abs(unit(random));
        placement.rotation =
            Eigen::Quaterniond(unit(random), unit(random), unit(random), unit(random)).normalized();
        placement.translation_mm = 2.0 * Vector3d(unit(random), unit(random), unit(random));
        const PlacedDesign placed(makeDesign(i % 2 ? "round" : "heart", {}), placement);
        for (const Defect& defect : stone.defects) {
            const auto look = placed.look(defect);
            const auto glimpse = placed.glimpse(defect);
            ASSERT_EQ(look.has_value(), glimpse.has_value());
            if (!look) continue;
            ++inside;
            EXPECT_EQ(look->zone, glimpse->zone);
            EXPECT_NEAR(look->depth_mm, glimpse->depth_mm, 1e-12);
            EXPECT_GT(glimpse->seen_mm, 0.0);
        }
    }
    EXPECT_GT(inside, 50);
}

TEST(Clarity, GivesEachGradeUpToItsLimit) {
    const std::vector<double>& up_to = scale().up_to_um;
    ASSERT_EQ(up_to.size(), clarityGrades().size() - 1);
    EXPECT_EQ(up_to[0], 5.0);  // a dot of 5 um in good contrast: IDC rules 1980
    for (int grade = 0; grade < static_cast<int>(up_to.size()); ++grade) {
        const double limit = up_to[static_cast<std::size_t>(grade)];
        EXPECT_EQ(gradeClarity(scale(), {counting(limit)}, 1.0).grade, grade);
        EXPECT_EQ(gradeClarity(scale(), {counting(limit * 1.0001)}, 1.0).grade, grade + 1);
    }
    EXPECT_EQ(gradeClarity(scale(), {}, 1.0).name, "loupe clean");
    EXPECT_THAT(gradeClarity(scale(), {}, 1.0).text, HasSubstr("not a grading report"));
}

TEST(Clarity, SplitsGradesOnlyFromTheirWeightOn) {
    // Sub-grades from 0.47 ct: CIBJO.
    EXPECT_EQ(gradeClarity(scale(), {counting(60.0)}, 0.47).name, "VS2");
    EXPECT_EQ(gradeClarity(scale(), {counting(60.0)}, 0.4699).name, "VS");
    EXPECT_EQ(gradeClarity(scale(), {counting(900.0)}, 0.2).name, "P2");
}

TEST(Clarity, AddsUpByArea) {
    const ClarityFigure figure = gradeClarity(scale(), {counting(30.0), counting(40.0)}, 1.0);
    EXPECT_DOUBLE_EQ(figure.counts_um, 50.0);
    EXPECT_EQ(figure.name, "VS2");
    EXPECT_EQ(figure.defects.front().seen_um, 40.0);
    EXPECT_THAT(figure.text, HasSubstr("2 defects remain; most counts one, 40 um face-up"));
}

TEST(Clarity, WeighsReliefPlaceAndReflections) {
    const Placement placement = turned();
    const PlacedDesign placed(roundBrilliant({}), placement);
    Defect feather = ball({2.4, 0.0, 0.25}, Vector3d::Constant(0.05), placement);
    feather.kind = DefectKind::Feather;
    const auto plain = seenDefects({feather}, placed, scale());
    ASSERT_EQ(plain.size(), 1u);
    EXPECT_EQ(plain[0].zone, "under the crown");
    EXPECT_NEAR(plain[0].counts_um, 100.0 * 0.7 * 0.7, 1e-9);
    EXPECT_FALSE(plain[0].reflections);
    const auto mirrored =
        seenDefects({feather}, placed, scale(), [](int) { return std::optional<int>(3); });
    EXPECT_NEAR(mirrored[0].counts_um, plain[0].counts_um * 1.45, 1e-9);
    const auto many =
        seenDefects({feather}, placed, scale(), [](int) { return std::optional<int>(50); });
    EXPECT_NEAR(many[0].counts_um, plain[0].counts_um * (1.0 + 0.15 * 8.0), 1e-9);
    std::string account;
    for (const Reason& reason : mirrored[0].reasons)
        account += reasonText(reason) + "\n";
    EXPECT_THAT(account, HasSubstr("Seen face-up: 100 um"));
    EXPECT_THAT(account, HasSubstr("Relief of a feather: 0.70"));
    EXPECT_THAT(account, HasSubstr("Reflections seen: 3, which count: 1.45"));
}

TEST(ClarityScale, RefusesWhatItCannotUse) {
    const std::string text = scaleText();
    EXPECT_EQ(refusalOf(text), "");
    EXPECT_THAT(scale().note, HasSubstr("invented"));
    EXPECT_THAT(refusalOf(replaced(text, "\"up_to_um\": 12", "\"up_to_um\": 4")),
                HasSubstr("grade 2, \"up_to_um\" is 4, not above"));
    EXPECT_THAT(refusalOf(replaced(text, "\"VVS2\"", "\"VVS3\"")), HasSubstr("grade 3, \"grade\""));
    EXPECT_THAT(refusalOf(replaced(text, "\"crystal\": 1.0,", "")),
                HasSubstr("\"relief\", \"crystal\" is missing"));
    EXPECT_THAT(refusalOf(replaced(text, "\"crystal\": 1.0", "\"crystal\": -1.0")),
                HasSubstr("\"crystal\" is -1, out of range"));
    EXPECT_THAT(refusalOf(replaced(text, "\"at the girdle\"", "\"on the girdle\"")),
                HasSubstr("\"on the girdle\" is no field"));
    EXPECT_THAT(
        refusalOf(replaced(text, "{\"grade\": \"P3\"}", "{\"grade\": \"P3\", \"up_to_um\": 9}")),
        HasSubstr("grade 10, \"up_to_um\" is no field"));
    EXPECT_THAT(refusalOf(replaced(text, ",\n    {\"grade\": \"P3\"}", "")),
                HasSubstr("9 entries"));
    EXPECT_THAT(refusalOf("{"), HasSubstr("not JSON"));
    EXPECT_THROW(readClarityScale("/nowhere/scale.json"), Error);
}

TEST(ClarityGrades, ReadsGradesGroupsAndRanges) {
    EXPECT_EQ(clarityRange("loupe clean"), (ClarityRange{0, 0}));
    EXPECT_EQ(clarityRange("VVS"), (ClarityRange{1, 2}));
    EXPECT_EQ(clarityRange("VS1"), (ClarityRange{3, 3}));
    EXPECT_EQ(clarityRange("VS-SI1"), (ClarityRange{3, 5}));
    EXPECT_EQ(clarityRange("any"), (ClarityRange{0, 9}));
    for (const char* none : {"", "vs1", "VS3", "SI-VS", "-", "VS1-", "P"})
        EXPECT_FALSE(clarityRange(none)) << none;
    EXPECT_EQ(clarityName(4, true), "VS2");
    EXPECT_EQ(clarityName(4, false), "VS");
    EXPECT_EQ(clarityName(7, false), "P1");
}
