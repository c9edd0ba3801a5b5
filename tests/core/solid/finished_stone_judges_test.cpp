// The fast intersection against CGAL corefinement, which shares no code with it.
#include <gtest/gtest.h>

#include <filesystem>
#include <random>

#include "core/base/tolerance.h"
#include "core/base/units.h"
#include "core/cut/round_brilliant.h"
#include "core/solid/corefine.h"
#include "core/solid/cut_mesh.h"
#include "core/solid/finished_stone.h"
#include "core/solid/part_cut.h"
#include "core/stone/intake.h"
#include "tests/core/solid/test_bodies.h"

using namespace macle;
using namespace macle::bodies;

namespace {

struct Judged {
    double volume = 0.0;
    double judge = 0.0;
    double design = 0.0;
};

// The fast way alone, without the fallback behind it.
Judged judge(const TriangleMesh& skin, const Design& design, const Placement& placement) {
    const SkinTree tree(skin);
    const auto prepared = prepareDesign(design);
    PartCut cut = clipSkin(tree, prepared->parts[0], placement);
    closeFaces(tree, cut);
    EXPECT_EQ(cut.doubt, "");
    // Less than this is nothing: design and rough touch.
    const double slack = tolerance::kVolumeRelative * cut.body.volume;
    if (cut.doubt.empty() && cut.volume > slack) {
        const auto mesh = cutMesh(tree, cut);
        EXPECT_TRUE(mesh.has_value());
        if (mesh) {
            EXPECT_TRUE(closed(*mesh));
            EXPECT_NEAR(signedVolume_mm3(*mesh), cut.volume, 2.0 * slack);
        }
    }
    const TriangleMesh other =
        intersectByCorefinement(skin, triangulated(placed(prepared->parts[0].solid, placement)));
    return {cut.volume, other.empty() ? 0.0 : signedVolume_mm3(other), cut.body.volume};
}

}  // namespace

TEST(FinishedStoneJudged, RandomPlacementsInAPebbleAgreeWithCorefinement) {
    const TriangleMesh skin = pebble(5);  // 8192 triangles
    const Design design = roundBrilliant(RoundProportions{});
    std::mt19937_64 random(23);
    std::normal_distribution<double> normal;
    for (int i = 0; i < 40; ++i) {
        Placement placement;
        placement.translation_mm = Vector3d(normal(random), normal(random), normal(random));
        placement.rotation =
            Eigen::Quaterniond(normal(random), normal(random), normal(random), normal(random))
                .normalized();
        placement.size_mm = 3.0 + 0.15 * i;
        const Judged judged = judge(skin, design, placement);
        EXPECT_NEAR(judged.volume, judged.judge, tolerance::kVolumeRelative * judged.design);
    }
}

TEST(FinishedStoneJudged, SharedPlanesEdgesAndCornersAgreeWithCorefinement) {
    const std::vector<TriangleMesh> skins = {
        boxMesh(Vector3d::Constant(-2.0), Vector3d::Constant(2.0)),
        refined(boxMesh(Vector3d::Constant(-2.0), Vector3d::Constant(2.0))), octahedronMesh(2.0),
        refined(refined(octahedronMesh(2.0)))};
    const std::vector<Design> designs = {cubeDesign(), octahedronDesign(),
                                         roundBrilliant(RoundProportions{})};
    for (std::size_t s = 0; s < skins.size(); ++s)
        for (std::size_t d = 0; d < designs.size(); ++d)
            for (const double size : {1.0, 4.0 / 3.0, 2.0, 4.0, 6.0})
                for (const Vector3d& place :
                     {Vector3d(0, 0, 0), Vector3d(1, 0, 0), Vector3d(1, 0, 1), Vector3d(2, 0, 2)})
                    for (const double turn_deg : {0.0, 45.0}) {
                        SCOPED_TRACE(testing::Message()
                                     << "skin " << s << " design " << d << " size " << size
                                     << " at " << place.transpose() << " turned " << turn_deg);
                        Placement placement;
                        placement.translation_mm = place;
                        placement.size_mm = size;
                        placement.rotation =
                            Eigen::AngleAxisd(radians(turn_deg), Vector3d::UnitZ());
                        const Judged judged = judge(skins[s], designs[d], placement);
                        EXPECT_NEAR(judged.volume, judged.judge,
                                    tolerance::kVolumeRelative * judged.design);
                    }
}

TEST(FinishedStoneJudged, ScannedBodiesAgreeWithCorefinement) {
    for (const char* name : {"castalia.obj", "eros.obj"}) {
        const auto file = std::filesystem::path(MACLE_SHARED) / "real_stones" / name;
        if (!std::filesystem::exists(file)) GTEST_SKIP() << "needs " << file;
        const Rough scan = takeInFile(file);
        const Box box = bounds(scan.mesh);
        const Design design = roundBrilliant(RoundProportions{});
        std::mt19937_64 random(31);
        std::normal_distribution<double> normal;
        for (int i = 0; i < 10; ++i) {
            Placement placement;
            placement.size_mm = box.extent().minCoeff() * (0.5 + 0.05 * i);
            placement.translation_mm =
                box.centre() + 0.15 * box.extent().cwiseProduct(
                                          Vector3d(normal(random), normal(random), normal(random)));
            placement.rotation =
                Eigen::Quaterniond(normal(random), normal(random), normal(random), normal(random))
                    .normalized();
            const Judged judged = judge(scan.mesh, design, placement);
            EXPECT_NEAR(judged.volume, judged.judge, tolerance::kVolumeRelative * judged.design);
        }
    }
}
