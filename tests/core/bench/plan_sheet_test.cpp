#include "core/bench/plan_sheet.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <set>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/units.h"
#include "core/cut/library.h"
#include "core/stone/sample.h"

namespace macle {
namespace {

using ::testing::HasSubstr;

// A small round in the middle of an octahedron, table up.
struct Case {
    Stone stone = octahedronStone(8.0, 1);
    Layout layout;
    SheetRequest request;
    Case() { layout.main().placement.size_mm = 3.0; }
    PlannedStone& main() { return layout.main(); }
    PlanSheet sheet() const {
        const RoughCutter cutter(stone.rough);
        return makePlanSheet(stone, cutter, layout, request);
    }
    std::string hash() const { return layoutHash(stone, layout); }
};

const SheetView& viewNamed(const PlanSheet& sheet, const std::string& title) {
    for (const SheetView& view : sheet.stones[0].views)
        if (view.title == title) return view;
    throw std::runtime_error("no view " + title);
}

double half(double angle_deg) {
    return std::tan(radians(angle_deg));
}

TEST(PlanSheet, TableAndMainsLieWhereTheProportionsPutThem) {
    Case c;
    c.request.date = "2026-01-31";
    const PlanSheet sheet = c.sheet();
    const double size = 3.0;
    const double r = 0.5, girdle = 0.03;
    // Heights from the proportions alone: crown main from the girdle's top at the mains up to the
    // table's corner, at table radius 0.28 (R = 1/2). The corners of the table lie on the crown
    // mains' meridians: height (R - t/2) tan(crown).
    const double crown = (r - 0.28) * half(34.5);
    const double table = girdle / 2 + crown;
    const FacetRow& first = sheet.stones[0].facets.front();
    EXPECT_EQ(first.facet, "table");
    EXPECT_NEAR(first.centre_mm, size * table, 1e-9);
    EXPECT_NEAR(first.fromTable_mm, 0.0, 1e-9);

    // A pavilion main passes through the girdle's lower corner (R, -g/2): its distance from the
    // centre is R sin(a) + g/2 cos(a); all eight end in the culet point.
    int mains = 0;
    for (const FacetRow& row : sheet.stones[0].facets) {
        if (!row.facet.starts_with("pavilion main")) continue;
        ++mains;
        const double a = radians(40.75);
        EXPECT_NEAR(row.angle_deg, 40.75, 1e-9);
        EXPECT_NEAR(row.centre_mm, size * (r * std::sin(a) + girdle / 2 * std::cos(a)), 1e-9);
        EXPECT_NEAR(row.fromTable_mm, size * (table + girdle / 2 + r * half(40.75)), 1e-6);
    }
    EXPECT_EQ(mains, 8);
}

TEST(PlanSheet, ListsEveryFacetOnceInWorkingOrderWithTheGirdleInOneRow) {
    const PlanSheet sheet = Case().sheet();
    int facets = 0;
    std::set<std::string> names;
    std::vector<std::string> groups;
    for (std::size_t i = 0; i < sheet.stones[0].facets.size(); ++i) {
        const FacetRow& row = sheet.stones[0].facets[i];
        EXPECT_EQ(row.step, int(i) + 1);
        facets += row.count;
        names.insert(row.facet);
        const std::string group =
            row.facet.substr(0, row.facet.find_last_not_of("0123456789- ") + 1);
        if (groups.empty() || groups.back() != group) groups.push_back(group);
    }
    EXPECT_EQ(names.size(), sheet.stones[0].facets.size());
    EXPECT_EQ(facets, 57 + 64);  // a pointed culet: 57 facets and the girdle's flats
    // Common practice, no source.
    EXPECT_EQ(groups, (std::vector<std::string>{"table", "girdle", "pavilion main", "crown main",
                                                "pavilion main", "crown main", "lower half",
                                                "upper half", "star"}));
}

TEST(PlanSheet, FiguresAreThoseOfTheAppraisal) {
    Case c;
    c.stone.scale_ct = 4.2;
    const PlanSheet sheet = c.sheet();
    const double design_ct =
        carats(27.0 * designVolume(designOf(c.main())), c.stone.material.density_g_cm3);
    EXPECT_NEAR(sheet.stones[0].appraisal.finished_ct, design_ct, 1e-9);
    std::map<std::string, std::string> figures(sheet.figures.begin(), sheet.figures.end());
    figures.insert(sheet.stones[0].figures.begin(), sheet.stones[0].figures.end());
    EXPECT_EQ(figures.at("Finished weight"), formatFixed(design_ct, 3) + " ct");
    EXPECT_EQ(figures.at("Rough weight (scan)"), formatFixed(scanWeight_ct(c.stone), 3) + " ct");
    EXPECT_EQ(figures.at("Rough weight (scale)"), "4.200 ct");
    EXPECT_EQ(figures.at("Size"), "3.000 mm");
    EXPECT_EQ(sheet.state.state, "draft");
}

TEST(PlanSheet, ViewsOfTheRoundAreItsPlanAndElevation) {
    const PlanSheet sheet = Case().sheet();
    const SheetView& top = viewNamed(sheet, "From the table");
    EXPECT_NEAR(top.width_mm, 3.0, 1e-9);
    const SheetView& side = viewNamed(sheet, "From the side");
    const double height = 3.0 * (0.03 + 0.22 * half(34.5) + 0.5 * half(40.75));
    EXPECT_NEAR(side.height_mm, height, 1e-6);

    // Seen from the table: the eight table edges, at the table's radius, are among the visible.
    int tableEdges = 0;
    for (const auto& edge : top.visibleEdges)
        if (std::abs(edge[0].norm() - 0.84) < 1e-6 && std::abs(edge[1].norm() - 0.84) < 1e-6)
            ++tableEdges;
    EXPECT_EQ(tableEdges, 8);
    // And seen from the culet they are all hidden.
    const SheetView& bottom = viewNamed(sheet, "From the culet");
    for (const auto& edge : bottom.visibleEdges)
        EXPECT_FALSE(std::abs(edge[0].norm() - 0.84) < 1e-6 &&
                     std::abs(edge[1].norm() - 0.84) < 1e-6);
    // The side view draws no uprights between girdle flats.
    for (const auto* edges : {&side.visibleEdges, &side.hiddenEdges})
        for (const auto& edge : *edges)
            EXPECT_FALSE(std::abs(edge[0].x() - edge[1].x()) < 1e-9 &&
                         std::abs(std::abs(edge[0].y()) - 0.045) < 0.03 &&
                         std::abs(edge[0].y() + edge[1].y()) < 1e-9)
                << edge[0].transpose();
    for (const SheetView& view : sheet.stones[0].views)
        for (const auto* edges : {&view.visibleEdges, &view.hiddenEdges})
            for (const auto& edge : *edges)
                EXPECT_GT((edge[0] - edge[1]).norm(), 0.0);
}

TEST(PlanSheet, TheRoughIsOutlinedInTheFrameOfTheCut) {
    // Turned a quarter about z and moved: the octahedron's square shadow keeps its size but its
    // centre moves the other way in the cut's frame.
    Case c;
    c.main().placement.rotation = Eigen::AngleAxisd(std::numbers::pi / 2, Eigen::Vector3d::UnitZ());
    c.main().placement.translation_mm = {0.4, 0.0, 0.0};
    const PlanSheet sheet = c.sheet();
    const SheetView& top = viewNamed(sheet, "From the table");
    ASSERT_EQ(top.roughOutline.size(), 1u);
    Eigen::Vector2d low = top.roughOutline[0][0], high = low;
    for (const auto& p : top.roughOutline[0]) {
        low = low.cwiseMin(p);
        high = high.cwiseMax(p);
    }
    const double corner = 8.0 / std::numbers::sqrt2;
    // R^T (p - t): stone +x is cut -y.
    EXPECT_NEAR(high.y(), corner + 0.4, 0.02);
    EXPECT_NEAR(low.y(), -corner + 0.4, 0.02);
    EXPECT_NEAR(high.x(), corner, 0.02);
}

TEST(PlanSheet, ReferenceFaceIsFoundByThreeCornersAndTheNaturalFaces) {
    const PlanSheet sheet = Case().sheet();
    const double table = 3.0 * (0.015 + 0.22 * half(34.5));
    const double corner = 8.0 / std::numbers::sqrt2;
    int deciding = 0, slopes = 0;
    std::string all;
    for (const std::string& line : sheet.stones[0].referenceFace) {
        all += line + "\n";
        // The four corners of the middle lie as deep as the table is high.
        if (line.find(formatFixed(table, 3) + " mm below the plane") != std::string::npos &&
            line.find("to check") == std::string::npos)
            ++deciding;
        if (line.find("Angle to natural face") == 0 && line.find("54.74 deg") != std::string::npos)
            ++slopes;
    }
    EXPECT_THAT(all, HasSubstr("The table. Plane n.x = " + formatFixed(table, 3) + " mm"));
    EXPECT_THAT(all, HasSubstr("Grind " + formatFixed(corner - table, 3) + " mm"));
    EXPECT_THAT(all, HasSubstr("Index 0 (azimuth 0 deg) points along (1.00000, 0.00000, 0.00000)"));
    EXPECT_GE(deciding, 2);  // the third may be the lowest corner
    EXPECT_EQ(slopes, 8);
}

TEST(PlanSheet, WarnsOfEveryDanger) {
    const PlanSheet sheet = Case().sheet();
    std::string all;
    for (const std::string& caution : sheet.cautions)
        all += caution + "\n";
    for (const char* word : {"Laser", "class 4", "eyewear", "guards", "cobalt", "Extract", "Heat",
                             "Acid", "fume hood", "Follow local codes and licensed practice"})
        EXPECT_THAT(all, HasSubstr(word));
}

TEST(LayoutHash, ChangesWithEveryInputThatDecides) {
    Case plain;
    const auto defect = [] {
        Defect d;
        d.name = "pinpoint 1";
        d.shape = Ellipsoid{{0.1, 0.2, 2.0}, {0.1, 0.1, 0.1}, Eigen::Quaterniond::Identity()};
        return d;
    };
    plain.stone.defects = {defect()};
    std::set<std::string> seen = {plain.hash()};
    const auto differs = [&](const char* what, auto change) {
        Case changed;
        changed.stone.defects = {defect()};
        change(changed);
        EXPECT_TRUE(seen.insert(changed.hash()).second) << what;
    };
    differs("skin", [](Case& c) { c.stone.rough.mesh.vertices[0].x() += 1e-9; });
    differs("triangle", [](Case& c) {
        auto& t = c.stone.rough.mesh.triangles[0];
        std::rotate(t.begin(), t.begin() + 1, t.end());
    });
    differs("density", [](Case& c) { c.stone.material.density_g_cm3 = 3.52; });
    differs("no defect", [](Case& c) { c.stone.defects.clear(); });
    differs("defect place",
            [](Case& c) { std::get<Ellipsoid>(c.stone.defects[0].shape).centre_mm.z() = 2.1; });
    differs("defect kind", [](Case& c) { c.stone.defects[0].kind = DefectKind::Feather; });
    differs("defect severity", [](Case& c) { c.stone.defects[0].severity = 4; });
    differs("defect policy", [](Case& c) { c.stone.defects[0].policy = DefectPolicy::MayStay; });
    differs("defect margin", [](Case& c) { c.stone.defects[0].margin_mm = 0.05; });
    differs("defect shape", [](Case& c) { c.stone.defects[0].shape = Sheet{{{0, 0, 0}}}; });
    differs("proportion", [](Case& c) { c.main().proportions = {{"crown_deg", 34.0}}; });
    differs("size", [](Case& c) { c.main().placement.size_mm = 3.0000001; });
    differs("place", [](Case& c) { c.main().placement.translation_mm.x() = 1e-6; });
    differs("turn", [](Case& c) {
        c.main().placement.rotation = Eigen::AngleAxisd(1e-6, Eigen::Vector3d::UnitX());
    });
    differs("allowance", [](Case& c) { c.main().rules.allowance_mm = 0.01; });
}

TEST(PlanSheet, WeightsFollowATrustedScaleAndTheSheetSaysSo) {
    Case c;
    const PlanSheet plain = c.sheet();
    c.stone.scale_ct = 0.98 * scanWeight_ct(c.stone);
    c.stone.trusted = TrustedWeight::Scale;
    const PlanSheet scaled = c.sheet();
    EXPECT_NEAR(scaled.stones[0].appraisal.finished_ct,
                0.98 * plain.stones[0].appraisal.finished_ct, 1e-12);
    EXPECT_NEAR(scaled.stones[0].appraisal.recovery_percent,
                plain.stones[0].appraisal.recovery_percent, 1e-9);
    std::map<std::string, std::string> figures(scaled.figures.begin(), scaled.figures.end());
    figures.insert(scaled.stones[0].figures.begin(), scaled.stones[0].figures.end());
    EXPECT_EQ(figures.at("Weights scaled to the scale"), "x 0.98000");
    EXPECT_NE(scaled.cautions.front().find("too long"), std::string::npos);
    EXPECT_EQ(scaled.cautions.size(), plain.cautions.size() + 1);
    EXPECT_EQ(figures.at("Finished weight"),
              formatFixed(scaled.stones[0].appraisal.finished_ct, 3) + " ct");
}

TEST(LayoutHash, StaysWhenNothingThatDecidesChanges) {
    const Case plain;
    Case same;
    same.stone.name = "another name";
    same.stone.scale_ct = 5.0;
    same.layout.name = "Layout 7";
    same.request.date = "1999-12-31";
    same.main().placement.rotation.coeffs() *= -1.0;      // the same rotation
    same.main().placement.translation_mm = {-0.0, 0, 0};  // the same place
    same.main().proportions = {{"crown_deg", 34.5}};      // the standard, written out
    EXPECT_EQ(plain.hash(), same.hash());
    EXPECT_EQ(plain.hash(), plain.sheet().hash);
    EXPECT_EQ(plain.hash().size(), 64u);
}

TEST(PlanSheet, ChangedFacetsAreToldAndDecideTheIdentity) {
    const Case plain;
    Case changed;
    const FacetEdit edit{
        .what = FacetEdit::What::Tilt, .facet = "star", .wholeRow = true, .tilt_deg = 0.25};
    changed.main().edits = {edit};
    EXPECT_NE(plain.hash(), changed.hash());
    const PlanSheet sheet = changed.sheet();
    EXPECT_EQ(sheet.stones[0].proportions.back().second, "1, see cautions");
    EXPECT_THAT(sheet.cautions.front(), HasSubstr("Tilt every star by 0.25 deg"));
    EXPECT_NE(plain.sheet().stones[0].proportions.back().second, "1, see cautions");
    EXPECT_THAT(plain.sheet().cautions.front(), testing::Not(HasSubstr("by hand")));

    // The name of a works' own cut may come to mean another.
    const auto write = [&](double tilt_deg) {
        FacetEdit other = edit;
        other.tilt_deg = tilt_deg;
        return editedCutFile("round", "sheet_cut", "Cut of the works", {}, {other});
    };
    learnCuts({write(0.25)}, "test");
    Case works;
    works.main().cut = "sheet_cut";
    const std::string before = works.hash();
    EXPECT_EQ(works.sheet().stones[0].cutTitle, "Cut of the works");
    learnCuts({write(0.5)}, "test");
    works.main().cut = "sheet_cut";
    EXPECT_NE(works.hash(), before);
}

TEST(LayoutHash, OfOneStoneIsThatOfTheSheetsBeforeThereWereSeveral) {
    // Written down from the sheets of the time.
    EXPECT_EQ(Case().hash(), "f9a7509a8f84bb9b71d4214e398aff94fb41fa37821b97d158b7ab46b4e81acf");
}

TEST(LayoutHash, HoldsEverySawAndEveryStone) {
    Case two;
    two.layout.saws.resize(1);
    two.layout.saws[0].kerf_mm = 0.2;
    two.layout.saws[0].offset_mm = 2.0;
    two.layout.stones.push_back(two.main());
    two.layout.stones[1].piece = 1;
    std::set<std::string> seen = {Case().hash(), two.hash()};
    EXPECT_EQ(seen.size(), 2u);
    const auto differs = [&](const char* what, auto change) {
        Case changed = two;
        change(changed.layout);
        EXPECT_TRUE(seen.insert(layoutHash(changed.stone, changed.layout)).second) << what;
    };
    differs("no second stone", [](Layout& l) { l.stones.pop_back(); });
    differs("no saw", [](Layout& l) { l.saws.clear(); });
    differs("offset", [](Layout& l) { l.saws[0].offset_mm = 2.0000001; });
    differs("normal", [](Layout& l) { l.saws[0].normal = Eigen::Vector3d::UnitX(); });
    differs("kerf", [](Layout& l) { l.saws[0].kerf_mm = 0.21; });
    differs("V", [](Layout& l) { l.saws[0].v = VKerf{Eigen::Vector3d::UnitX(), 0.2}; });
    differs("V exit", [](Layout& l) { l.saws[0].v = VKerf{Eigen::Vector3d::UnitX(), 0.1}; });
    differs("V beam", [](Layout& l) { l.saws[0].v = VKerf{Eigen::Vector3d::UnitY(), 0.1}; });
    differs("another saw", [](Layout& l) { l.saws.push_back(l.saws[0]); });
    differs("piece", [](Layout& l) { l.stones[1].piece = 0; });
    differs("cut", [](Layout& l) { l.stones[1].cut = "single"; });
    differs("size", [](Layout& l) { l.stones[1].placement.size_mm = 1.0; });
    differs("order", [](Layout& l) {
        l.stones[0].placement.size_mm = 1.5;
        std::swap(l.stones[0], l.stones[1]);
    });
    Case named = two;
    named.layout.name = "another";
    EXPECT_EQ(named.hash(), two.hash());
}

TEST(PlanSheet, RefusesAPlacementThatMeansNothing) {
    Case c;
    c.main().placement.size_mm = 0.0;
    EXPECT_THROW(c.sheet(), Error);
    c = Case();
    c.main().placement.translation_mm.x() = std::numeric_limits<double>::quiet_NaN();
    EXPECT_THROW(c.sheet(), Error);
    c = Case();
    c.main().placement.rotation.coeffs() *= 2.0;
    EXPECT_THROW(c.sheet(), Error);
}

}  // namespace
}  // namespace macle
