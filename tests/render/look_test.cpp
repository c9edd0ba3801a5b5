// What a person sees: the cut brightest, defects in their colour, nothing cut off.
#include <algorithm>
#include <cmath>
#include <tuple>
#include <utility>

#include "core/stone/sample.h"
#include "render/overlay.h"
#include "stage.h"

namespace macle::render::test {
namespace {

constexpr Theme kThemes[] = {Theme::Light, Theme::Dark};

TEST(Look, TheCutIsTheBrightestThing) {
    MACLE_NEEDS_PICTURES();
    const std::vector<ConvexSolid> solids = roundSolids();
    const Placement placement = placedAt({0.3, -0.2, 0.1}, 5.0, {1.0, 0.3, 0.0}, 12.0);
    for (const Theme theme : kThemes) {
        for (const ViewFrom from :
             {ViewFrom::Table, ViewFrom::Culet, ViewFrom::Side, ViewFrom::Oblique}) {
            Scene scene;
            scene.setTheme(theme);
            scene.setStone(bumpyBall());
            scene.setDesign(solids);
            scene.setPlacement(placement);
            scene.look(from);
            const Picture picture = drawPicture(scene, 400, 300);
            // Facets are judged in their middle, away from the dark lines.
            std::vector<double> facets;
            const ConvexSolid there = placed(solids.front(), placement);
            double reach = 0.0;
            const Pixel middle = project(scene, picture, placement.translation_mm);
            for (const Eigen::Vector3d& vertex : there.vertices)
                reach = std::max(reach, (project(scene, picture, vertex) - middle).norm());
            std::vector<double> elsewhere;
            // Without the right and lower rims, where the cross and the scale bar are.
            for (int y = 0; y < picture.height_px - 50; ++y) {
                for (int x = 0; x < picture.width_px - 90; ++x) {
                    const double away = (Pixel(x + 0.5, y + 0.5) - middle).norm();
                    const double bright = brightness(colourAt(picture, x, y));
                    if (away > reach + 3.0) elsewhere.push_back(bright);
                    if (away < 0.2 * reach) facets.push_back(bright);
                }
            }
            ASSERT_FALSE(elsewhere.empty());
            std::sort(facets.begin(), facets.end());
            const double most = *std::max_element(elsewhere.begin(), elsewhere.end());
            // Above the median, because the lines between facets are meant to be dark.
            EXPECT_GT(facets[facets.size() / 2], most + 0.05);
            EXPECT_GT(facets[facets.size() / 2], 0.72);
        }
    }
}

TEST(Look, ADefectIsSeenThroughTheRoughInTheColourOfItsSeverity) {
    MACLE_NEEDS_PICTURES();
    Stone stone = bumpyBall();
    for (int severity = 1; severity <= 5; ++severity)
        stone.defects.push_back(ball({-3.6 + 1.2 * severity, 0.0, 0.0}, 0.5, severity));
    for (const Theme theme : kThemes) {
        for (const Quality quality : {Quality::Rest, Quality::Drag}) {
            Scene scene;
            scene.setTheme(theme);
            scene.setStone(stone);
            scene.look(ViewFrom::Side);
            const Picture picture = drawPicture(scene, 400, 300, quality);
            for (int severity = 1; severity <= 5; ++severity) {
                const Rgb seen =
                    colourAt(picture, project(scene, picture, {-3.6 + 1.2 * severity, 0.0, 0.0}));
                EXPECT_LT(distance(seen, severityColour(severity)), 0.16) << severity;
                for (int other = 1; other <= 5; ++other) {
                    if (other == severity) continue;
                    EXPECT_LT(distance(seen, severityColour(severity)),
                              distance(seen, severityColour(other)))
                        << severity << " against " << other;
                }
            }
        }
    }
}

TEST(Look, SeverityGrowsBrighterAndStaysBelowTheStone) {
    for (int severity = 1; severity < 5; ++severity)
        EXPECT_LT(brightness(severityColour(severity)) + 0.08,
                  brightness(severityColour(severity + 1)));
    for (const Theme theme : kThemes)
        EXPECT_LT(brightness(severityColour(5)) + 0.1, brightness(palette(theme).stone));
    EXPECT_EQ(severityColour(-3), severityColour(1));
    EXPECT_EQ(severityColour(99), severityColour(5));
}

TEST(Look, NothingIsCutOffAtTheBorder) {
    MACLE_NEEDS_PICTURES();
    for (const auto& [width, height] : {std::pair{360, 240}, std::pair{240, 360}}) {
        for (const ViewFrom from :
             {ViewFrom::Table, ViewFrom::Culet, ViewFrom::Side, ViewFrom::End, ViewFrom::Oblique}) {
            Scene scene;
            scene.setStone(octahedronStone(10.0, 2));
            scene.setDesign(roundSolids());
            scene.setPlacement(placedAt({0.0, 0.0, 0.0}, 5.0, {1.0, 1.0, 0.2}, 30.0));
            scene.look(from);
            scene.frame();
            const Picture picture = drawPicture(scene, width, height);
            const Rgb background = palette(Theme::Light).background;
            int off = 0;
            for (int x = 0; x < width; ++x)
                for (const int y : {0, height - 1})
                    off += distance(colourAt(picture, x, y), background) > 0.003 ? 1 : 0;
            for (int y = 0; y < height; ++y)
                for (const int x : {0, width - 1})
                    off += distance(colourAt(picture, x, y), background) > 0.003 ? 1 : 0;
            EXPECT_EQ(off, 0) << "view " << static_cast<int>(from);
            // And the stone fills a fair part of the picture.
            const Blob stone = blob(
                picture, [&](const Rgb& colour) { return distance(colour, background) > 0.01; });
            EXPECT_GT(static_cast<double>(stone.count), 0.15 * width * height);
        }
    }
}

TEST(Look, DraggingLooksLikeResting) {
    MACLE_NEEDS_PICTURES();
    for (const Theme theme : kThemes) {
        Scene scene;
        scene.setTheme(theme);
        Stone stone = sampleStone(20000);
        scene.setStone(stone);
        scene.setDesign(roundSolids());
        scene.setPlacement(placedAt({0.0, 0.0, -0.5}, 6.0));
        const Picture drag = drawPicture(scene, 400, 300, Quality::Drag);
        const Picture rest = drawPicture(scene, 400, 300, Quality::Rest);
        EXPECT_LT(meanDifference(drag, rest), 2.0);
        EXPECT_GT(meanDifference(drag, rest), 0.0);  // the two are drawn in different ways
    }
}

TEST(Look, ADefectInsideTheCutShinesThrough) {
    MACLE_NEEDS_PICTURES();
    Stone stone = bumpyBall();
    Scene scene;
    scene.setDesign(roundSolids());
    scene.setPlacement(placedAt({0.0, 0.0, 0.0}, 6.0));
    scene.setStone(stone);
    scene.look(ViewFrom::Table);
    const Picture without = drawPicture(scene, 300, 300);
    stone.defects.push_back(ball({0.1, 0.1, 0.0}, 0.4, 2));
    scene.setStone(stone);
    const Picture with = drawPicture(scene, 300, 300);
    const Pixel at = project(scene, with, {0.1, 0.1, 0.0});
    const Rgb before = colourAt(without, at);
    const Rgb after = colourAt(with, at);
    const Rgb own = severityColour(2);
    EXPECT_LT(distance(after, own), distance(before, own) - 0.1);
    EXPECT_GT(distance(after, own), 0.1);  // faintly: it lies inside, not in front
    scene.setDefectsVisible(false);
    EXPECT_EQ(drawPicture(scene, 300, 300).rgb, without.rgb);
}

TEST(Look, ATinyDefectHasADot) {
    MACLE_NEEDS_PICTURES();
    Stone stone = bumpyBall();
    Scene scene;
    scene.setStone(stone);
    scene.look(ViewFrom::Side);
    const Picture without = drawPicture(scene, 300, 300);
    const Eigen::Vector3d place(1.0, 0.0, 1.0);
    stone.defects.push_back(ball(place, 0.004, 5));
    scene.setStone(stone);
    const Picture with = drawPicture(scene, 300, 300);
    const Pixel at = project(scene, with, place);
    EXPECT_GT(distance(colourAt(with, at), colourAt(without, at)), 0.15);
}

TEST(Look, LimitMarksKeepTheirSizeOnTheScreen) {
    MACLE_NEEDS_PICTURES();
    const Rgb blue = palette(Theme::Light).limit;
    const auto isBlue = [&](const Rgb& colour) { return distance(colour, blue) < 0.12; };
    for (const double ratio : {1.0, 2.0}) {
        Scene scene;
        scene.setStone(bumpyBall());
        scene.look(ViewFrom::Side);
        // Behind the stone: the ring is on top all the same.
        const Eigen::Vector3d place(1.0, 4.0, 1.0);
        scene.setLimits({place});
        const int size = static_cast<int>(300 * ratio);
        const Picture picture = drawPicture(scene, size, size, Quality::Rest, ratio);
        const Pixel at = project(scene, picture, place);
        double reach = 0.0;
        for (int y = 0; y < size; ++y)
            for (int x = 0; x < size; ++x)
                if (isBlue(colourAt(picture, x, y)))
                    reach = std::max(reach, (Pixel(x + 0.5, y + 0.5) - at).norm());
        EXPECT_NEAR(reach, 10.1 * ratio, 1.0);  // its middle line and half its width
        scene.setLimits({});
        EXPECT_EQ(blob(drawPicture(scene, size, size, Quality::Rest, ratio), isBlue).count, 0);
    }
}

TEST(Look, TheScaleBarMeasuresTrue) {
    MACLE_NEEDS_PICTURES();
    for (const auto& [theme, width, height] :
         {std::tuple{Theme::Light, 400, 300}, std::tuple{Theme::Dark, 300, 420}}) {
        Scene scene;
        scene.setTheme(theme);
        scene.setStone(bumpyBall());
        const Picture picture = drawPicture(scene, width, height);
        const Rgb ink = palette(theme).text;
        const int y = height - 1 - 22;  // the bar's row, counted from the lower border
        int first = -1;
        int last = -1;
        for (int x = 0; x < width / 2 + 60; ++x) {
            if (distance(colourAt(picture, x, y), ink) > 0.25) continue;
            if (first < 0) first = x;
            if (first >= 0 && (last < 0 || x == last + 1)) last = x;
        }
        ASSERT_GE(first, 0);
        const double most_px = std::min(170.0, 0.4 * width);
        const double length_mm = roundLength_mm(most_px / pixelsPerMm(scene, picture));
        EXPECT_NEAR(last - first, length_mm * pixelsPerMm(scene, picture), 3.0);
    }
}

}  // namespace
}  // namespace macle::render::test
