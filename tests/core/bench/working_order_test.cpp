#include "core/bench/working_order.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <numbers>

#include "core/appraise/work_estimate.h"
#include "core/base/error.h"
#include "core/base/units.h"
#include "core/bench/facet_groups.h"
#include "core/bench/stage_body.h"
#include "core/cut/library.h"
#include "core/solid/corefine.h"
#include "core/stone/sample.h"
#include "tests/core/solid/test_bodies.h"

using namespace macle;
using namespace macle::bodies;
using ::testing::HasSubstr;

namespace {

constexpr double kDensity = 3.515;

Stone box(const Vector3d& half_mm) {
    Stone stone;
    stone.name = "block";
    stone.material.density_g_cm3 = kDensity;
    stone.rough = rough(boxMesh(-half_mm, half_mm));
    return stone;
}

Layout roundAlone(double size_mm) {
    Layout layout;
    layout.main().placement.size_mm = size_mm;
    return layout;
}

WorkingOrder order(const Stone& stone, const Layout& layout, const OrderRequest& request = {}) {
    const RoughCutter cutter(stone.rough);
    return orderWork(stone, cutter, layout, weighWhole(stone, cutter, layout), request);
}

const BenchStep& stepNamed(const WorkingOrder& order, const std::string& title, int stone = 0) {
    for (const BenchStep& step : order.steps)
        if (step.title == title && step.stone == stone) return step;
    throw std::runtime_error("no step " + title);
}

double losses(const WorkingOrder& order) {
    double sum = 0.0;
    for (const BenchStep& step : order.steps)
        sum += step.removed_ct;
    return sum;
}

// Two stones in a block sawn across, the third piece laid aside.
struct Sawn {
    Stone stone = box({8, 4, 4});
    Layout layout;
    Sawn() {
        Saw first, second;
        first.normal = second.normal = Vector3d::UnitX();
        first.kerf_mm = second.kerf_mm = 0.2;
        second.piece = 1;
        second.offset_mm = 6.0;
        layout.saws = {first, second};
        layout.stones.resize(2);
        layout.stones[0].placement.size_mm = 6.0;
        layout.stones[0].placement.translation_mm = {-4.0, 0.0, 0.5};
        layout.stones[1].piece = 1;
        layout.stones[1].cut = "single";
        layout.stones[1].placement.size_mm = 4.0;
        layout.stones[1].placement.translation_mm = {3.0, 0.0, 0.0};
    }
};

}  // namespace

TEST(FacetGroups, HoldEveryFacetOnceForEveryCut) {
    for (const CutInfo& cut : cutLibrary()) {
        const Design design = makeDesign(cut.name, {});
        std::map<std::string, int> seen;
        for (const FacetGroup& group : facetGroups(design)) {
            EXPECT_FALSE(group.facets.empty()) << group.title;
            for (const std::string& facet : group.facets)
                ++seen[facet];
        }
        for (const ConvexPart& part : design.parts)
            for (const Facet& facet : part.facets)
                EXPECT_EQ(seen[facet.name], 1) << cut.name << " " << facet.name;
    }
}

TEST(FacetGroups, FourMainsOfEachHalfComeFirstOppositeOnesTogether) {
    const auto groups = facetGroups(makeDesign("round", {}));
    std::vector<std::string> titles;
    for (const FacetGroup& group : groups)
        titles.push_back(group.title);
    // Common practice, no source.
    EXPECT_EQ(titles, (std::vector<std::string>{"Table", "Girdle", "First pavilion mains",
                                                "First crown mains", "Further pavilion mains",
                                                "Further crown mains", "Lower halves",
                                                "Upper halves", "Stars"}));
    EXPECT_EQ(groups[2].facets, (std::vector<std::string>{"pavilion main 1", "pavilion main 5",
                                                          "pavilion main 3", "pavilion main 7"}));
    EXPECT_EQ(facetGroups(makeDesign("rose", {})).front().title, "Base");
}

TEST(WorkingOrder, OfABlockFollowsClosedForms) {
    const Stone stone = box({4, 4, 5});
    OrderRequest request;
    request.keepShapes = true;
    const WorkingOrder done = order(stone, roundAlone(6.5), request);
    const double tableHeight = 6.5 * (0.015 + 0.22 * std::tan(radians(34.5)));
    const BenchStep& table = stepNamed(done, "Table");
    EXPECT_NEAR(table.removed_ct, carats(64.0 * (5.0 - tableHeight), kDensity), 1e-9);
    ASSERT_EQ(table.facets.size(), 1u);
    EXPECT_NEAR(table.facets[0].depth_mm, 5.0 - tableHeight, 1e-9);

    // The girdle: a regular 64-gon inscribed in the circle; its flats stand r cos(pi/64) from the
    // axis. The flat that faces the block's corner the most squarely takes off the most.
    const double pi = std::numbers::pi;
    const double area = 64.0 * 0.5 * 3.25 * 3.25 * std::sin(2.0 * pi / 64.0);
    const BenchStep& girdle = stepNamed(done, "Girdle");
    EXPECT_NEAR(girdle.left_ct, carats(area * (5.0 + tableHeight), kDensity), 1e-9);
    ASSERT_EQ(girdle.facets.size(), 1u);
    EXPECT_EQ(girdle.facets[0].count, 64);
    double corner = 0.0;  // farthest reach of the square's corner over the flats' directions
    for (int k = 0; k < 64; ++k)
        corner = std::max(corner, 4.0 * (std::abs(std::cos((k + 0.5) * 2.0 * pi / 64.0)) +
                                         std::abs(std::sin((k + 0.5) * 2.0 * pi / 64.0))));
    EXPECT_NEAR(girdle.facets[0].depth_mm, corner - 3.25 * std::cos(pi / 64.0), 2e-3);

    // A pavilion main of the bruted block reaches to the lower rim: of radius 3.25 where a corner
    // of the 64-gon lies, 5 mm under the middle.
    const double a = radians(40.75);
    const double plane = 6.5 * (0.5 * std::sin(a) + 0.015 * std::cos(a));
    for (const FacetWork& facet : stepNamed(done, "First pavilion mains").facets)
        EXPECT_NEAR(facet.depth_mm, 3.25 * std::sin(a) + 5.0 * std::cos(a) - plane, 1e-9);
    EXPECT_NEAR(done.finished_ct,
                carats(std::pow(6.5, 3) * designVolume(makeDesign("round", {})), kDensity), 1e-9);
    EXPECT_NEAR(losses(done), done.rough_ct - done.finished_ct, 1e-9 * done.rough_ct);
    for (const BenchStep& step : done.steps) {
        EXPECT_GE(step.removed_ct, -1e-12) << step.title;
        if (step.shapes.empty()) continue;
        EXPECT_TRUE(closed(step.shapes[0])) << step.title;
        EXPECT_NEAR(carats(signedVolume_mm3(step.shapes[0]), kDensity), step.left_ct,
                    1e-8 * done.rough_ct)
            << step.title;
    }
    EXPECT_FALSE(done.minutes);
    EXPECT_THAT(done.minutesMissing, HasSubstr("rates"));
    EXPECT_THAT(done.grainMissing, HasSubstr("axes"));
}

TEST(WorkingOrder, TheTableOfAnOctahedronIsItsTipAndAFacetInItsFaceTakesNothing) {
    // Edge 8: corners at r = 8 / sqrt 2. Above height h the tip holds 2/3 (r - h)^3.
    const double r = 8.0 / std::numbers::sqrt2;
    const Stone stone = octahedronStone(8.0, 2);
    const WorkingOrder done = order(stone, roundAlone(4.0));
    const double h = 4.0 * (0.015 + 0.22 * std::tan(radians(34.5)));
    EXPECT_NEAR(stepNamed(done, "Table").removed_ct,
                carats(2.0 / 3.0 * std::pow(r - h, 3), stone.material.density_g_cm3), 1e-9);

    // Pavilion and crown facets laid into the faces of the octahedron are reached already.
    Design design = octahedronDesign();
    for (std::size_t k = 0; k < design.parts[0].facets.size(); ++k)
        design.parts[0].facets[k].name = "face " + std::to_string(k + 1);
    Placement placement;
    placement.size_mm = 2.0 * r;
    const RoughCutter cutter(stone.rough);
    const StageBodies bodies(stone.rough, cutter, design, placement);
    const StageBody all{stone.rough.volume_mm3, stone.rough.mesh};
    EXPECT_EQ(bodies.depth_mm("face 1", all, {}), 0.0);
    placement.size_mm = r;  // half as large: each face lies r / (2 sqrt 3) deeper
    const StageBodies smaller(stone.rough, cutter, design, placement);
    EXPECT_NEAR(smaller.depth_mm("face 1", all, {}), 0.5 * r / std::sqrt(3.0), 1e-9);
    EXPECT_NEAR(
        smaller.after({"face 1"}).volume_mm3,
        stone.rough.volume_mm3 -
            [&] {
                // A frustum between the face (edge 8) and the parallel section half-way to the
                // middle.
                const double side = 8.0 * 8.0 * std::sqrt(3.0) / 4.0;  // area of a face
                // Sections of an octahedron parallel to a face at share t of the way between
                // opposite faces: hexagons of area side (1 + 2t - 2t^2); from the face to a quarter
                // of the way.
                const double apart = 2.0 * r / std::sqrt(3.0);
                const double t = 0.25;
                return side * apart * (t + t * t - 2.0 / 3.0 * t * t * t);
            }(),
        1e-9);
}

TEST(WorkingOrder, EveryCutShrinksStepByStepToItsFinishedStone) {
    const Stone stone = box({6, 6, 6});
    const RoughCutter cutter(stone.rough);
    for (const CutInfo& cut : cutLibrary()) {
        Layout layout = roundAlone(4.0);
        layout.main().cut = cut.name;
        layout.main().placement.rotation = Eigen::AngleAxisd(0.4, Vector3d(1, 2, 3).normalized());
        const WholeLayout whole = weighWhole(stone, cutter, layout);
        int shapes = 0;
        OrderRequest request;
        request.onStep = [&](const BenchStep& step, const std::vector<const TriangleMesh*>& before,
                             const std::vector<const TriangleMesh*>& after) {
            ++shapes;
            ASSERT_EQ(after.size(), 1u);
            EXPECT_TRUE(closed(*after[0])) << cut.name << " " << step.title;
            EXPECT_LE(signedVolume_mm3(*after[0]), signedVolume_mm3(*before[0]) + 1e-6);
        };
        const WorkingOrder done = orderWork(stone, cutter, layout, whole, request);
        EXPECT_GE(shapes, 4) << cut.name;
        double last = done.rough_ct;
        for (const BenchStep& step : done.steps) {
            EXPECT_GE(step.removed_ct, -1e-12) << cut.name << " " << step.title;
            EXPECT_NEAR(step.entering_ct, last, 1e-12) << cut.name << " " << step.title;
            last = step.left_ct;
            for (const FacetWork& facet : step.facets)
                EXPECT_GE(facet.depth_mm, 0.0);
        }
        EXPECT_NEAR(last, whole.finished_ct, 1e-9 * done.rough_ct) << cut.name;
        EXPECT_NEAR(losses(done), done.rough_ct - whole.finished_ct, 1e-9 * done.rough_ct);
    }
}

TEST(WorkingOrder, EveryStepAgreesWithCorefinementInAPebble) {
    Stone stone;
    stone.material.density_g_cm3 = kDensity;
    stone.rough = rough(pebble(4));
    const RoughCutter cutter(stone.rough);
    for (const std::string cut : {"round", "heart", "emerald"}) {
        Design design = makeDesign(cut, {});
        Placement placement;
        placement.size_mm = 4.6;  // pokes out here and there
        placement.rotation = Eigen::AngleAxisd(0.7, Vector3d(3, 1, 2).normalized());
        const StageBodies bodies(stone.rough, cutter, design, placement);
        std::set<std::string> worked;
        for (const FacetGroup& group : facetGroups(design)) {
            worked.insert(group.facets.begin(), group.facets.end());
            const StageBody body = bodies.after(worked);
            EXPECT_TRUE(closed(body.mesh)) << cut << " " << group.title;
            // Each part on its own by corefinement, joined by inclusion and exclusion.
            double judged = 0.0;
            std::vector<ConvexPart> parts;
            for (const ConvexPart& part : design.parts) {
                ConvexPart kept;
                for (const Facet& facet : part.facets)
                    if (worked.contains(facet.name)) kept.facets.push_back(facet);
                for (const Facet& far :
                     boxPart(Vector3d::Constant(-5), Vector3d::Constant(5)).facets)
                    kept.facets.push_back(far);
                parts.push_back(kept);
            }
            const auto volumeOf = [&](const ConvexPart& part) {
                return signedVolume_mm3(intersectByCorefinement(
                    stone.rough.mesh, triangulated(placed(makeSolid(part), placement))));
            };
            for (const ConvexPart& part : parts)
                judged += volumeOf(part);
            if (parts.size() == 2) {
                ConvexPart both = parts[0];
                both.facets.insert(both.facets.end(), parts[1].facets.begin(),
                                   parts[1].facets.end());
                judged -= volumeOf(both);
            }
            EXPECT_NEAR(body.volume_mm3, judged, 1e-8 * stone.rough.volume_mm3)
                << cut << " " << group.title;
        }
    }
}

TEST(WorkingOrder, SawsKerfsAndPiecesLaidAsideAreInTheSum) {
    const Sawn sawn;
    OrderRequest request;
    request.keepShapes = true;
    const WorkingOrder done = order(sawn.stone, sawn.layout, request);
    EXPECT_EQ(done.steps[0].kind, BenchStepKind::ReferenceFace);
    ASSERT_EQ(done.steps[1].kind, BenchStepKind::Saw);
    ASSERT_EQ(done.steps[2].kind, BenchStepKind::Saw);
    EXPECT_EQ(done.steps[3].kind, BenchStepKind::LeftOver);
    EXPECT_NEAR(done.steps[1].removed_ct, carats(0.2 * 64.0, kDensity), 1e-9);
    EXPECT_NEAR(done.steps[2].entering_ct, carats(7.9 * 64.0, kDensity), 1e-9);
    EXPECT_NEAR(done.steps[3].removed_ct, carats(1.9 * 64.0, kDensity), 1e-9);
    EXPECT_EQ(done.steps[1].shapes.size(), 2u);
    EXPECT_NEAR(done.kerf_ct, carats(0.4 * 64.0, kDensity), 1e-9);
    const BenchStep& second = stepNamed(done, "Table", 1);
    EXPECT_NEAR(second.entering_ct, carats(5.8 * 64.0, kDensity), 1e-9);
    EXPECT_NEAR(losses(done), done.rough_ct - done.finished_ct, 1e-9 * done.rough_ct);
    EXPECT_NEAR(done.rough_ct,
                done.finished_ct + done.kerf_ct + done.leftOver_ct + done.offPieces_ct,
                1e-9 * done.rough_ct);
    int number = 0;
    for (const BenchStep& step : done.steps)
        EXPECT_EQ(step.number, ++number);

    Layout unsawn = sawn.layout;
    unsawn.saws.clear();
    unsawn.stones[1].piece = 0;
    try {
        order(sawn.stone, unsawn);
        FAIL() << "no error";
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), ErrorCode::BadUsage);
        EXPECT_THAT(error.message(), HasSubstr("Stone 1 and Stone 2"));
    }
}

TEST(WorkingOrder, MinutesAddUpToTheEstimateOfEachStone) {
    const Sawn sawn;
    const ShopRates rates = readShopRates(defaultShopRates());
    OrderRequest request;
    request.rates = &rates;
    const RoughCutter cutter(sawn.stone.rough);
    const WholeLayout whole = weighWhole(sawn.stone, cutter, sawn.layout);
    const WorkingOrder done = orderWork(sawn.stone, cutter, sawn.layout, whole, request);
    double estimated = 0.0, own = 0.0, saws = 0.0;
    for (std::size_t i = 0; i < 2; ++i) {
        const PlannedStone& planned = sawn.layout.stones[i];
        estimated += estimateWork(workStages(*whole.stones[i].stone, *whole.stones[i].cutter,
                                             designOf(planned), planned.placement),
                                  rates)
                         .minutes;
    }
    for (const BenchStep& step : done.steps) {
        if (step.kind == BenchStepKind::LeftOver) {
            EXPECT_FALSE(step.minutes);
            continue;
        }
        ASSERT_TRUE(step.minutes) << step.title;
        (step.saw >= 0 ? saws : own) += *step.minutes;
    }
    EXPECT_NEAR(own, estimated, 1e-6);
    EXPECT_NEAR(saws,
                sawingStep(rates, done.steps[1].entering_ct, done.steps[1].removed_ct)->minutes +
                    sawingStep(rates, done.steps[2].entering_ct, done.steps[2].removed_ct)->minutes,
                1e-9);
    EXPECT_NEAR(*done.minutes, own + saws, 1e-9);
    // Each operation by itself: blocking of the first stone is shared by facets and weight.
    const WorkStages stages =
        workStages(*whole.stones[0].stone, *whole.stones[0].cutter, designOf(sawn.layout.main()),
                   sawn.layout.main().placement);
    EXPECT_NEAR(stepNamed(done, "Girdle").removed_ct, stages.belowTable_ct - stages.bruted_ct,
                1e-9);
    EXPECT_NEAR(stepNamed(done, "Further crown mains").left_ct, stages.blocked_ct, 1e-9);
    EXPECT_NEAR(*stepNamed(done, "Stars").minutes,
                480.0 * stepNamed(done, "Stars").removed_ct + 20.0 * 8.0, 1e-9);
}

TEST(WorkingOrder, MinutesAddUpForEveryCutWhateverTheRates) {
    const Stone stone = box({5, 5, 5});
    const RoughCutter cutter(stone.rough);
    ShopRates rates = readShopRates(defaultShopRates());
    for (OperationRates& one : rates.operations)
        one.minutes.push_back({"stone", 7.0});
    OrderRequest request;
    request.rates = &rates;
    for (const CutInfo& cut : cutLibrary()) {
        Layout layout = roundAlone(4.0);
        layout.main().cut = cut.name;
        const WorkingOrder done =
            orderWork(stone, cutter, layout, weighWhole(stone, cutter, layout), request);
        EXPECT_NEAR(
            *done.minutes,
            estimateWork(
                workStages(stone, cutter, designOf(layout.main()), layout.main().placement), rates)
                .minutes,
            1e-6)
            << cut.name;
    }
}

TEST(WorkingOrder, GrainTellsTheEasyDirectionOfEachFacet) {
    Stone stone = octahedronStone(8.0, 1);
    stone.axes = CrystalAxes{};  // corners along the axes: the table is a cube face
    const WorkingOrder done = order(stone, roundAlone(4.0));
    EXPECT_EQ(done.grainMissing, "");
    const FacetWork& table = stepNamed(done, "Table").facets.front();
    ASSERT_TRUE(table.grain);
    // A cube face polishes along both of its own cube axes: [100], which is index 0, or [010].
    ASSERT_TRUE(table.easy_deg);
    EXPECT_NEAR(std::fmod(*table.easy_deg, 90.0), 0.0, 1e-9);
    EXPECT_TRUE(table.grain->easy.front().bothWays);
    EXPECT_NEAR(table.grain->toCube_deg, 0.0, 1e-9);
    // The main facing [100]: 40.75 deg under it, so that [010] lies in it, along its level line.
    const FacetWork& main = stepNamed(done, "First pavilion mains").facets.front();
    ASSERT_TRUE(main.easy_deg);
    EXPECT_EQ(main.grain->easy.front().axis, "[010]");
    EXPECT_NEAR(std::fmod(*main.easy_deg, 180.0), 0.0, 1e-9);
    EXPECT_FALSE(stepNamed(done, "Girdle").facets.front().grain);

    // Turned so that the mains of index 0 lie in an octahedral plane: 54.74 - 40.75 deg about y.
    Layout turned = roundAlone(3.0);
    turned.main().placement.rotation =
        Eigen::AngleAxisd(radians(45.0), Vector3d::UnitZ()) *
        Eigen::AngleAxisd(std::acos(1.0 / std::sqrt(3.0)) - radians(40.75), -Vector3d::UnitY());
    const WorkingOrder warned = order(stone, turned);
    const BenchStep& mains = stepNamed(warned, "First pavilion mains");
    EXPECT_TRUE(mains.facets.front().grain->warned) << mains.facets.front().grain->text;
    EXPECT_FALSE(mains.facets.front().easy_deg);
    EXPECT_THAT(mains.cautions.front(), HasSubstr("hardly any polish"));
}

TEST(WorkingOrder, SaysWhenADefectIsGone) {
    Stone stone = box({4, 4, 5});
    const auto pinpoint = [](const std::string& name, const Vector3d& at) {
        Defect d;
        d.name = name;
        d.shape = Ellipsoid{at, Vector3d::Constant(0.1), Eigen::Quaterniond::Identity()};
        return d;
    };
    stone.defects = {pinpoint("above", {0, 0, 4}), pinpoint("beside", {3.7, 0, 0}),
                     pinpoint("inside", {0.3, 0, 0})};
    const WorkingOrder done = order(stone, roundAlone(6.5));
    EXPECT_THAT(stepNamed(done, "Table").defectsOff, ::testing::ElementsAre("above"));
    EXPECT_THAT(stepNamed(done, "Girdle").defectsOff, ::testing::ElementsAre("beside"));
    for (const BenchStep& step : done.steps)
        EXPECT_THAT(step.defectsOff, ::testing::Not(::testing::Contains("inside")));
}
