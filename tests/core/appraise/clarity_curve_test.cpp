#include "core/appraise/clarity_curve.h"

#include <gtest/gtest.h>

#include "core/base/error.h"
#include "core/base/units.h"
#include "tests/core/solid/test_bodies.h"

using namespace macle;
using namespace macle::bodies;

namespace {

Defect pinpoint(const std::string& name, const Vector3d& centre_mm, int severity) {
    Defect defect;
    defect.name = name;
    defect.shape = Ellipsoid{centre_mm, Vector3d::Constant(0.05)};
    defect.severity = severity;
    return defect;
}

Stone blockStone() {
    Stone stone;
    stone.name = "block";
    stone.material.density_g_cm3 = 3.5;
    stone.rough = rough(boxMesh(Vector3d(-2, -2, -2), Vector3d(2, 2, 2)));
    return stone;
}

FitOptions byPoses(long long poses) {
    FitOptions options;
    options.seconds = 0.0;
    options.poses = poses;
    return options;
}

}  // namespace

TEST(ClarityCurve, GrowsFromTheCleanStoneToTheHeaviest) {
    Stone stone = blockStone();
    stone.defects = {pinpoint("light", {1.5, 0, 0}, 1), pinpoint("heavy", {0, 0, 1.8}, 4)};
    const RoughCutter cutter(stone.rough);
    const auto curve = clarityCurve(stone, cutter, cubeDesign(), {}, byPoses(6000));
    ASSERT_GE(curve.size(), 3u);
    EXPECT_EQ(curve.front().worst_severity, 0);
    EXPECT_TRUE(curve.front().appraisal.defects.empty());
    EXPECT_EQ(curve[1].worst_severity, 1);
    EXPECT_EQ(curve.back().worst_severity, 4);
    EXPECT_EQ(curve.back().permitted, (std::vector<int>{0, 1}));
    for (std::size_t i = 1; i < curve.size(); ++i) {
        EXPECT_GT(curve[i].appraisal.finished_ct, curve[i - 1].appraisal.finished_ct);
        EXPECT_GE(curve[i].worst_severity, curve[i - 1].worst_severity);
    }
    // With both permitted the whole block is the stone.
    EXPECT_NEAR(curve.back().appraisal.finished_ct, carats(64.0, 3.5), 1e-4);
    for (const DefectInside& defect : curve.back().appraisal.defects)
        EXPECT_FALSE(defect.forbidden);
}

TEST(ClarityCurve, OfASoundStoneIsOnePoint) {
    const Stone stone = blockStone();
    const RoughCutter cutter(stone.rough);
    const auto curve = clarityCurve(stone, cutter, cubeDesign(), {}, byPoses(3000));
    ASSERT_EQ(curve.size(), 1u);
    EXPECT_TRUE(curve.front().permitted.empty());
}

TEST(ClarityCurve, StopsWhenCancelled) {
    Stone stone = blockStone();
    stone.defects = {pinpoint("light", {0, 0, 1.8}, 1)};
    const RoughCutter cutter(stone.rough);
    Progress progress;
    progress.cancel();
    EXPECT_THROW(clarityCurve(stone, cutter, cubeDesign(), {}, byPoses(1000), &progress), Error);
}
