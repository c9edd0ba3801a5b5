// The scene's own promises: what moves, what hides, where the viewer stands.
#include <vtkCamera.h>
#include <vtkRenderer.h>

#include <cmath>
#include <limits>
#include <numbers>

#include "core/base/error.h"
#include "core/stone/sample.h"
#include "stage.h"

namespace macle::render::test {
namespace {

bool nearWhite(const Rgb& colour) {
    return brightness(colour) > 0.90;
}

Eigen::Vector3d towardsViewer(const Scene& scene) {
    vtkCamera* camera = scene.renderer()->GetActiveCamera();
    return (Eigen::Vector3d(camera->GetPosition()) - Eigen::Vector3d(camera->GetFocalPoint()))
        .normalized();
}

TEST(Scene, LooksAlongTheAxesOfThePlacedDesign) {
    Scene scene;
    const Placement placement = placedAt({1.0, 2.0, 3.0}, 4.0, {0.3, -0.5, 0.8}, 77.0);
    scene.setDesign(roundSolids());
    scene.setPlacement(placement);
    const Eigen::Matrix3d axes = placement.rotation.toRotationMatrix();
    vtkCamera* camera = scene.renderer()->GetActiveCamera();
    const double distance_mm = camera->GetDistance();
    const auto up = [&] { return Eigen::Vector3d(camera->GetViewUp()); };
    scene.look(ViewFrom::Table);
    EXPECT_LT((towardsViewer(scene) - axes.col(2)).norm(), 1e-12);
    EXPECT_LT((up() - axes.col(1)).norm(), 1e-12);
    scene.look(ViewFrom::Culet);
    EXPECT_LT((towardsViewer(scene) + axes.col(2)).norm(), 1e-12);
    scene.look(ViewFrom::Side);
    EXPECT_LT((towardsViewer(scene) + axes.col(1)).norm(), 1e-12);
    EXPECT_LT((up() - axes.col(2)).norm(), 1e-12);
    scene.look(ViewFrom::End);
    EXPECT_LT((towardsViewer(scene) - axes.col(0)).norm(), 1e-12);
    EXPECT_LT((up() - axes.col(2)).norm(), 1e-12);
    scene.look(ViewFrom::Oblique);
    EXPECT_GT(towardsViewer(scene).dot(axes.col(2)), 0.2);  // from above, with the table in sight
    EXPECT_NEAR(camera->GetDistance(), distance_mm, 1e-9 * distance_mm);
}

TEST(Scene, ThePictureOfTheDesignFollowsItsPlacement) {
    MACLE_NEEDS_PICTURES();
    Scene scene;
    scene.setStone(bumpyBall());
    scene.setRoughVisible(false);
    scene.setDesign(roundSolids());
    scene.look(ViewFrom::Table);
    scene.setPlacement(placedAt({0.0, 0.0, 0.0}, 2.0));
    const Picture before = drawPicture(scene, 500, 500);
    scene.setPlacement(placedAt({1.5, -1.0, 0.4}, 2.0));
    const Picture moved = drawPicture(scene, 500, 500);
    scene.setPlacement(placedAt({0.0, 0.0, 0.0}, 4.0));
    const Picture grown = drawPicture(scene, 500, 500);
    const double scale = pixelsPerMm(scene, before);
    const Blob one = blob(before, nearWhite);
    const Blob two = blob(moved, nearWhite);
    ASSERT_GT(one.count, 500);
    EXPECT_NEAR(two.middle.x() - one.middle.x(), 1.5 * scale, 0.5);
    EXPECT_NEAR(two.middle.y() - one.middle.y(), 1.0 * scale, 0.5);
    // The outline grows with the square of the size: measured on everything that is drawn.
    const Rgb background = palette(Theme::Light).background;
    const auto drawn = [&](const Picture& picture) {
        long long count = 0;
        for (int y = 0; y < 440; ++y)  // above the scale bar
            for (int x = 0; x < 440; ++x)
                count += distance(colourAt(picture, x, y), background) > 0.02 ? 1 : 0;
        return static_cast<double>(count);
    };
    EXPECT_NEAR(drawn(grown) / drawn(before), 4.0, 0.2);
    // A 64-gon in a circle of 4 mm.
    EXPECT_NEAR(drawn(grown), 32.0 * 4.0 * std::sin(std::numbers::pi / 32.0) * scale * scale,
                0.04 * drawn(grown));
}

TEST(Scene, HidesWhatIsSwitchedOff) {
    MACLE_NEEDS_PICTURES();
    Scene scene;
    const Picture nothing = drawPicture(scene, 300, 300);
    Stone stone = bumpyBall();
    stone.defects.push_back(ball({1.0, 0.0, 0.0}, 0.5, 4));
    scene.setStone(stone);
    scene.setDesign(roundSolids());
    scene.setPlacement(placedAt({0.0, 0.0, 0.0}, 4.0));
    const Picture all = drawPicture(scene, 300, 300);
    scene.setRoughVisible(false);
    const Picture noRough = drawPicture(scene, 300, 300);
    scene.setDefectsVisible(false);
    const Picture noDefects = drawPicture(scene, 300, 300);
    scene.setDesignVisible(false);
    const Picture bare = drawPicture(scene, 300, 300);
    EXPECT_GT(meanDifference(all, noRough), 1.0);
    EXPECT_GT(meanDifference(noRough, noDefects), 0.2);
    EXPECT_GT(meanDifference(noDefects, bare), 1.0);
    // Only the scale bar and the cross are left, as in an empty scene.
    const Rgb background = palette(Theme::Light).background;
    for (int y = 0; y < 200; ++y)
        for (int x = 0; x < 300; ++x) {
            ASSERT_LT(distance(colourAt(bare, x, y), background), 0.003);
            ASSERT_LT(distance(colourAt(nothing, x, y), background), 0.003);
        }
    scene.setRoughVisible(true);
    scene.setDefectsVisible(true);
    scene.setDesignVisible(true);
    EXPECT_EQ(drawPicture(scene, 300, 300).rgb, all.rgb);
    scene.clearStone();
    scene.setRoughVisible(true);
    EXPECT_LT(meanDifference(drawPicture(scene, 300, 300), noDefects), 0.05);
}

TEST(Scene, ASectionHidesThePositiveSideAndFillsTheCut) {
    MACLE_NEEDS_PICTURES();
    Scene scene;
    scene.setStone(octahedronStone(10.0, 3));
    scene.setDesign(roundSolids());
    scene.setPlacement(placedAt({0.0, 0.0, 0.0}, 5.0));
    scene.look(ViewFrom::Side);  // x to the right, z up, seen from -y
    scene.frame();
    scene.setSection({1.0, 0.0, 0.0}, 0.5);
    const Picture half = drawPicture(scene, 300, 300);
    const Rgb background = palette(Theme::Light).background;
    for (const double x : {1.0, 2.0, 4.0})
        EXPECT_LT(distance(colourAt(half, project(scene, half, {x, 0.0, 0.0})), background), 0.003);
    EXPECT_GT(distance(colourAt(half, project(scene, half, {-4.0, 0.0, 0.0})), background), 0.02);
    // Cut open towards the viewer: the design's area is filled, unlit and bright.
    scene.setSection({0.0, -1.0, 0.0}, 0.0);
    const Picture open = drawPicture(scene, 300, 300);
    const Rgb inside = colourAt(open, project(scene, open, {0.2, 0.0, -0.3}));
    EXPECT_NEAR(brightness(inside), 0.9, 0.05);
    scene.setSection(Eigen::Vector3d::Zero(), 0.0);
    const Picture whole = drawPicture(scene, 300, 300);
    EXPECT_GT(distance(colourAt(whole, project(scene, whole, {2.0, 0.0, 0.0})), background), 0.02);
    const double nan = std::numeric_limits<double>::quiet_NaN();
    EXPECT_THROW(scene.setSection({nan, 0.0, 0.0}, 0.0), Error);
    EXPECT_THROW(scene.setSection({1.0, 0.0, 0.0}, nan), Error);
}

TEST(Scene, TheSectionFollowsTheDesign) {
    MACLE_NEEDS_PICTURES();
    Scene scene;
    scene.setStone(octahedronStone(10.0, 3));
    scene.setDesign(roundSolids());
    scene.look(ViewFrom::Side);
    scene.frame();
    scene.setSection({0.0, -1.0, 0.0}, 0.0);
    for (const double x : {-1.0, 1.5}) {
        scene.setPlacement(placedAt({x, 0.0, 0.0}, 3.0));
        const Picture picture = drawPicture(scene, 300, 300);
        const Rgb inside = colourAt(picture, project(scene, picture, {x + 0.1, 0.0, -0.3}));
        EXPECT_NEAR(brightness(inside), 0.9, 0.05);
    }
}

TEST(Scene, TheFinishedStoneTakesTheDesignsPlace) {
    MACLE_NEEDS_PICTURES();
    Scene scene;
    scene.setStone(bumpyBall());
    const std::vector<ConvexSolid> solids = roundSolids();
    const Placement placement = placedAt({0.2, 0.1, -0.3}, 5.0, {0.2, 1.0, 0.1}, 25.0);
    scene.setDesign(solids);
    scene.setPlacement(placement);
    const Picture design = drawPicture(scene, 300, 300);
    // The whole design as a finished mesh looks the same: facets flat, no line across a facet.
    scene.setFinishedMesh(triangulated(placed(solids.front(), placement)));
    const Picture finished = drawPicture(scene, 300, 300);
    EXPECT_LT(meanDifference(design, finished), 0.2);
    scene.setFinishedMesh({});
    EXPECT_EQ(drawPicture(scene, 300, 300).rgb, design.rgb);
}

TEST(Scene, FramesANewStoneAndKeepsTheViewOfTheSame) {
    Scene scene;
    Stone stone = octahedronStone(10.0, 1);
    scene.setStone(stone);
    vtkCamera* camera = scene.renderer()->GetActiveCamera();
    const double first = camera->GetParallelScale();
    camera->SetParallelScale(0.3 * first);
    stone.defects.push_back(ball({0.0, 0.0, 0.0}, 0.2, 3));
    scene.setStone(stone);
    EXPECT_DOUBLE_EQ(camera->GetParallelScale(), 0.3 * first);
    scene.setStone(octahedronStone(20.0, 1));
    EXPECT_NEAR(camera->GetParallelScale(), 2.0 * first, 1e-9 * first);
}

TEST(Scene, AnIndexThatIsNoDefectHighlightsNone) {
    MACLE_NEEDS_PICTURES();
    Stone stone = bumpyBall();
    stone.defects.push_back(ball({1.0, 0.0, 0.5}, 0.4, 4));
    Scene scene;
    scene.setStone(stone);
    const Picture plain = drawPicture(scene, 200, 200);
    for (const int index : {-1, 1, 1000}) {
        scene.setHighlightedDefect(index);
        EXPECT_EQ(drawPicture(scene, 200, 200).rgb, plain.rgb);
    }
    scene.setHighlightedDefect(0);
    EXPECT_GT(meanDifference(drawPicture(scene, 200, 200), plain), 0.2);
}

}  // namespace
}  // namespace macle::render::test
