// Saw planes: their outlines within the pieces they divide, and how they are drawn and picked.
#include <vtkCamera.h>
#include <vtkRenderer.h>

#include <array>
#include <cmath>
#include <numbers>
#include <random>

#include "core/base/error.h"
#include "core/solid/finished_stone.h"
#include "core/stone/sample.h"
#include "reference.h"
#include "render/plane_area.h"
#include "render/saw_outline.h"
#include "stage.h"

namespace macle::render::test {
namespace {

using Eigen::Vector3d;

double length(const std::vector<Segment>& segments) {
    double sum = 0.0;
    for (const Segment& segment : segments)
        sum += (segment.to - segment.from).norm();
    return sum;
}

// Each corner is met by as many segments that come as leave, whichever way they run.
bool closes(const std::vector<Segment>& outline) {
    std::vector<Vector3d> ends;
    for (const Segment& segment : outline)
        ends.insert(ends.end(), {segment.from, segment.to});
    for (const Vector3d& end : ends) {
        int here = 0;
        for (const Vector3d& other : ends)
            here += (end - other).norm() < 1e-9 ? 1 : 0;
        if (here % 2 != 0) return false;
    }
    return !ends.empty();
}

Saw sawAt(const Vector3d& normal, double offset_mm, double kerf_mm, int piece = 0) {
    Saw saw;
    saw.piece = piece;
    saw.normal = normal.normalized();
    saw.offset_mm = offset_mm;
    saw.kerf_mm = kerf_mm;
    return saw;
}

struct Divided {
    Stone stone;
    std::vector<Saw> saws;
    Division division;
    std::vector<SawOutline> outlines;
};

Divided divided(const Stone& stone, const std::vector<Saw>& saws) {
    Divided all{stone, saws, {}, {}};
    const RoughCutter cutter(stone.rough);
    all.division = divide(stone.rough, cutter, saws);
    all.outlines = sawOutlines(stone.rough.mesh, saws, all.division);
    return all;
}

TEST(PlaneArea, KeepsWhatHalfSpacesLeaveOfASquare) {
    const CutPlane plane{Vector3d::UnitZ(), 0.25};
    const TriangleMesh box = triangulated(boxSolid({-1.0, -1.0, -1.0}, {1.0, 1.0, 1.0}));
    const PlaneArea square(meshOutline(box, plane), plane);
    EXPECT_NEAR(length(square.outline()), 8.0, 1e-12);
    const PlaneArea half = square.within({{Vector3d::UnitX(), 0.0}});
    EXPECT_NEAR(length(half.outline()), 6.0, 1e-12);
    EXPECT_TRUE(half.contains({-0.5, 0.3, 0.25}));
    EXPECT_FALSE(half.contains({0.5, 0.3, 0.25}));
    // A side along the outline's own edge, from within and from without.
    EXPECT_NEAR(length(square.within({{Vector3d::UnitX(), 1.0}}).outline()), 8.0, 1e-12);
    EXPECT_TRUE(square.within({{-Vector3d::UnitX(), -1.0}}).empty());
    // Along the plane: all or nothing.
    EXPECT_NEAR(length(square.within({{Vector3d::UnitZ(), 0.3}}).outline()), 8.0, 1e-12);
    EXPECT_TRUE(square.within({{Vector3d::UnitZ(), 0.2}}).empty());
    EXPECT_NEAR(length(square.along({Vector3d(1.0, 1.0, 0.0).normalized(), 0.0})),
                2.0 * std::numbers::sqrt2, 1e-12);
    EXPECT_TRUE(square.along({Vector3d::UnitZ(), 0.25}).empty());
}

TEST(PlaneArea, AHatchCoversTheAreaEvenly) {
    // The length of evenly spaced lines times their spacing is the area.
    const CutPlane plane{Vector3d(0.3, -0.5, 0.7).normalized(), 0.1};
    const Stone ball = bumpyBall();
    const PlaneArea area(meshOutline(ball.rough.mesh, plane), plane);
    double exact = 0.0;
    const SectionShape shape = cutMesh(ball.rough.mesh, plane);
    exact = area_mm2(shape.area);
    EXPECT_NEAR(length(area.hatch(0.01)) * 0.01, exact, 1e-3 * exact);
    for (const Segment& line : area.hatch(0.5)) {
        EXPECT_NEAR(plane.normal.dot(line.from), plane.offset_mm, 1e-9);
        const Vector3d along = (line.to - line.from).normalized();
        EXPECT_NEAR(std::abs(along.z()) / plane.normal.cross(Vector3d::UnitZ()).norm(),
                    std::sqrt(0.5), 1e-9);
    }
    EXPECT_TRUE(area.hatch(0.0).empty());
    EXPECT_TRUE(area.hatch(1e-9).empty());
    EXPECT_TRUE(PlaneArea().hatch(1.0).empty());
}

TEST(PlaneArea, ContainsWhatTheSolidContains) {
    const Stone ball = bumpyBall();
    const CutPlane plane{Vector3d(1.0, 2.0, -0.4).normalized(), 0.8};
    const HalfSpace side{Vector3d(0.1, -0.2, 1.0).normalized(), 1.1};
    const PlaneArea area = PlaneArea(meshOutline(ball.rough.mesh, plane), plane).within({side});
    std::mt19937_64 random(5);
    const auto uniform = [&] {
        return -6.0 + 12.0 * static_cast<double>(random() >> 11) * 0x1p-53;
    };
    int inside = 0;
    for (int k = 0; k < 300; ++k) {
        Vector3d point(uniform(), uniform(), uniform());
        point -= (plane.normal.dot(point) - plane.offset_mm) * plane.normal;
        const bool wanted =
            contains(ball.rough.mesh, point) && side.normal.dot(point) <= side.offset_mm;
        EXPECT_EQ(area.contains(point), wanted) << point.transpose();
        inside += wanted ? 1 : 0;
    }
    EXPECT_GT(inside, 50);
}

TEST(SawOutlines, OfAnOctahedronThroughItsSquare) {
    const double edge = 6.0;
    const Divided sawn = divided(octahedronStone(edge, 2), {sawAt({0, 0, 1}, 0.0, 0.2)});
    ASSERT_EQ(sawn.outlines.size(), 1u);
    const SawOutline& saw = sawn.outlines[0];
    EXPECT_NEAR(length(saw.middle), 4.0 * edge, 1e-9);
    // Half a kerf away the square's half diagonal is shorter by as much.
    EXPECT_NEAR(length(saw.faces), 2.0 * 4.0 * (edge - 0.1 * std::numbers::sqrt2), 1e-9);
    EXPECT_TRUE(closes(saw.middle));
    EXPECT_TRUE(saw.within.empty());
    EXPECT_DOUBLE_EQ(saw.below.offset_mm, -0.1);
    EXPECT_DOUBLE_EQ(saw.above.offset_mm, -0.1);
}

TEST(SawOutlines, StayWithinThePieceTheyDivide) {
    // Second saw: the upper half only; third: what the second leaves of it; fourth: the lower half.
    const Divided sawn =
        divided(bumpyBall(), {sawAt({0.1, 0, 1}, 0.2, 0.2), sawAt({1, 0.2, 0}, -0.4, 0.1, 1),
                              sawAt({0, 1, 0.3}, 0.5, 0.0, 1), sawAt({-0.5, 1, 0}, -0.3, 0.15, 0)});
    ASSERT_EQ(sawn.outlines.size(), 4u);
    const std::vector<std::size_t> depth = {0, 1, 2, 1};
    for (std::size_t s = 0; s < sawn.outlines.size(); ++s) {
        const SawOutline& saw = sawn.outlines[s];
        EXPECT_EQ(saw.within.size(), depth[s]);
        EXPECT_TRUE(closes(saw.middle)) << s;
        EXPECT_EQ(saw.faces.empty(), sawn.saws[s].kerf_mm == 0.0);
        // The same from the piece itself, as it was before this saw.
        const std::vector<Saw> before(sawn.saws.begin(),
                                      sawn.saws.begin() + static_cast<std::ptrdiff_t>(s));
        const Division earlier = divide(sawn.stone.rough, RoughCutter(sawn.stone.rough), before);
        const TriangleMesh& piece =
            earlier.pieces[static_cast<std::size_t>(sawn.saws[s].piece)].mesh;
        EXPECT_NEAR(length(saw.middle), length(meshOutline(piece, {saw.normal, saw.offset_mm})),
                    1e-6)
            << s;
    }
    Division other = sawn.division;
    other.pieces.pop_back();
    EXPECT_THROW(sawOutlines(sawn.stone.rough.mesh, sawn.saws, other), Error);
}

TEST(SawOutlines, AVKerfHasItsTwoSlantedFaces) {
    Saw saw = sawAt({0, 0, 1}, 0.0, 0.4);
    saw.v = VKerf{Vector3d::UnitX(), 0.1};
    const Divided sawn = divided(octahedronStone(8.0, 1), {saw});
    const SawOutline& outline = sawn.outlines.at(0);
    EXPECT_TRUE(closes(outline.faces));
    const double r = 8.0 / std::numbers::sqrt2;
    double entry = 0.0;
    double exit = 0.0;
    for (const Segment& line : outline.faces) {
        entry = std::max(entry, line.from.x() < -0.9 * r ? std::abs(line.from.z()) : 0.0);
        exit = std::max(exit, line.from.x() > 0.9 * r ? std::abs(line.from.z()) : 0.0);
    }
    EXPECT_NEAR(entry, 0.2, 0.02);
    EXPECT_NEAR(exit, 0.05, 0.02);
}

TEST(SawOutlines, MovedAlongAreThoseOfTheMovedSaw) {
    const Stone ball = bumpyBall();
    std::vector<Saw> saws = {sawAt({0.1, 0, 1}, 0.2, 0.2), sawAt({1, 0.2, 0}, -0.4, 0.1, 1)};
    const Divided before = divided(ball, saws);
    saws[1].offset_mm += 0.7;
    const Divided after = divided(ball, saws);
    const SawOutline moved = movedAlong(before.outlines[1], ball.rough.mesh, 0.7);
    EXPECT_NEAR(length(moved.middle), length(after.outlines[1].middle), 1e-9);
    EXPECT_NEAR(length(moved.faces), length(after.outlines[1].faces), 1e-9);
    EXPECT_NEAR(moved.above.offset_mm, after.outlines[1].above.offset_mm, 1e-12);
}

TEST(SawPicking, TakesTheNearestUnderTheRay) {
    const Divided sawn = divided(octahedronStone(10.0, 2),
                                 {sawAt({0, 0, 1}, -1.0, 0.1), sawAt({0, 0, 1}, 1.0, 0.1, 1),
                                  sawAt({1, 0, 0}, 0.0, 0.1, 0)});
    const SawRay down{{0.4, 0.2, 20.0}, -Vector3d::UnitZ(), 0.0, std::nullopt};
    const auto first = pickSaw(sawn.outlines, down);
    ASSERT_TRUE(first);
    EXPECT_EQ(first->saw, 1);
    EXPECT_LT((first->place_mm - Vector3d(0.4, 0.2, 1.0)).norm(), 1e-12);
    EXPECT_NEAR(first->distance_mm, 19.0, 1e-12);
    // A section that takes the upper part away leaves the lower saw.
    SawRay opened = down;
    opened.open = HalfSpace{Vector3d::UnitZ(), 0.0};
    ASSERT_TRUE(pickSaw(sawn.outlines, opened));
    EXPECT_EQ(pickSaw(sawn.outlines, opened)->saw, 0);
    // Beside the stone, and away from it.
    EXPECT_FALSE(pickSaw(sawn.outlines, {{20, 0, 20}, -Vector3d::UnitZ(), 0.1, std::nullopt}));
    EXPECT_FALSE(pickSaw(sawn.outlines, {{0.4, 0.2, 20}, Vector3d::UnitZ(), 0.1, std::nullopt}));
    // The third saw stands edge-on in this view: only its outline can be met, within reach; and it
    // is in the lowest piece alone.
    const Vector3d beside(0.05, 20.0, -3.0);
    EXPECT_FALSE(pickSaw(sawn.outlines, {beside, -Vector3d::UnitY(), 0.01, std::nullopt}));
    const auto edge = pickSaw(sawn.outlines, {beside, -Vector3d::UnitY(), 0.1, std::nullopt});
    ASSERT_TRUE(edge);
    EXPECT_EQ(edge->saw, 2);
    EXPECT_FALSE(
        pickSaw(sawn.outlines, {{0.05, 20.0, 0.4}, -Vector3d::UnitY(), 0.1, std::nullopt}));
    EXPECT_FALSE(pickSaw({}, down));
}

TEST(SawPicking, APointerSlidesASawAlongItsNormal) {
    const Vector3d place(1.0, 2.0, 3.0);
    const Vector3d axis = Vector3d(0.2, -0.3, 0.9).normalized();
    const Vector3d origin(9.0, -7.0, 12.0);
    const Vector3d wanted = place + 1.75 * axis;
    const auto by = slidAlong(place, axis, origin, (wanted - origin).normalized());
    ASSERT_TRUE(by);
    EXPECT_NEAR(*by, 1.75, 1e-9);
    EXPECT_FALSE(slidAlong(place, axis, origin, axis));
}

// ----- drawn --------------------------------------------------------------------------------

Divided sample() {
    return divided(sampleStone(12000),
                   {sawAt({1.0, 0.15, 0.1}, 0.9, 0.25), sawAt({0.1, 0.1, 1.0}, -0.3, 0.12, 1)});
}

std::vector<OtherStone> sampleOthers() {
    const auto solids = roundSolids();
    return {{solids, placedAt({2.5, 0.1, 1.1}, 2.6, {0.1, 1.0, 0.0}, 30.0)},
            {solids, placedAt({2.3, -0.1, -1.5}, 2.2, {1.0, 0.2, 0.0}, 160.0)}};
}

void stage(Scene& scene, Theme theme) {
    const Divided all = sample();
    scene.setTheme(theme);
    scene.setStone(all.stone);
    scene.setDesign(roundSolids());
    scene.setPlacement(placedAt({-1.9, -0.2, -0.2}, 4.6, {1.0, 0.4, 0.0}, 17.0));
    scene.setOtherStones(sampleOthers());
    scene.setSaws(all.outlines, 0);
}

bool violet(const Rgb& colour) {
    return colour[2] > colour[1] + 0.10 && colour[0] > colour[1] + 0.02 &&
           colour[2] > colour[0] + 0.04;
}

TEST(DrawnSaws, AreVioletAndTheChosenOneStronger) {
    MACLE_NEEDS_PICTURES();
    const Divided sawn = divided(octahedronStone(10.0, 2), {sawAt({0, 1, 0}, 0.0, 0.1)});
    for (const Theme theme : {Theme::Light, Theme::Dark}) {
        Scene scene;
        scene.setTheme(theme);
        scene.setStone(sawn.stone);
        scene.look(ViewFrom::Side);
        scene.frame();
        EXPECT_EQ(blob(drawPicture(scene, 400, 400), violet).count, 0);
        scene.setSaws(sawn.outlines);
        const Picture quiet = drawPicture(scene, 400, 400);
        scene.setSaws(sawn.outlines, 0);
        const Picture chosen = drawPicture(scene, 400, 400);
        const Rgb ground = palette(theme).background;
        const auto ink = [&](const Picture& picture) {
            double sum = 0.0;
            for (int y = 0; y < 400; ++y)
                for (int x = 0; x < 400; ++x)
                    if (violet(colourAt(picture, x, y)))
                        sum += distance(colourAt(picture, x, y), ground);
            return sum;
        };
        EXPECT_GT(ink(quiet), 100.0);
        EXPECT_GT(ink(chosen), 1.5 * ink(quiet));
        // The middle of the outline is where the square's is.
        const Pixel middle = project(scene, chosen, Vector3d::Zero());
        EXPECT_LT((blob(chosen, violet).middle - middle).norm(), 6.0);
        scene.setSawsVisible(false);
        EXPECT_EQ(blob(drawPicture(scene, 400, 400), violet).count, 0);
        EXPECT_FALSE(scene.pickSaw({0.5, -20.0, 0.5}, Vector3d::UnitY(), 0.1));
        scene.setSawsVisible(true);
        ASSERT_TRUE(scene.pickSaw({0.5, -20.0, 0.5}, Vector3d::UnitY(), 0.1));
        scene.setSection({0.0, -1.0, 0.0}, -1.0);  // keeps y >= 1: takes the saw away
        EXPECT_FALSE(scene.pickSaw({0.5, -20.0, 0.5}, Vector3d::UnitY(), 0.1));
        scene.clearStone();
        EXPECT_TRUE(scene.saws().empty());
    }
}

TEST(DrawnSaws, AStoneInFrontHidesThem) {
    MACLE_NEEDS_PICTURES();
    const Divided sawn = divided(octahedronStone(10.0, 2), {sawAt({0, 1, 0}, 0.0, 0.1)});
    Scene scene;
    scene.setStone(sawn.stone);
    scene.setSaws(sawn.outlines, 0);
    scene.setDesign(roundSolids());
    scene.setPlacement(placedAt({0.0, -2.2, 0.0}, 3.0));
    scene.look(ViewFrom::Side);
    scene.frame();
    const Picture picture = drawPicture(scene, 400, 400);
    const Pixel middle = project(scene, picture, {0.0, -2.2, 0.0});
    const double reach = 1.2 * pixelsPerMm(scene, picture);
    for (int x = -static_cast<int>(reach); x <= reach; ++x)
        EXPECT_FALSE(violet(colourAt(picture, middle + Pixel(x, 0.0))));
    EXPECT_GT(blob(picture, violet).count, 500);
}

TEST(OtherStones, AreDarkerThanTheCutAndBrighterThanTheRough) {
    MACLE_NEEDS_PICTURES();
    for (const Theme theme : {Theme::Light, Theme::Dark}) {
        Scene scene;
        scene.setTheme(theme);
        scene.setStone(octahedronStone(12.0, 3));
        scene.setDesign(roundSolids());
        scene.setPlacement(placedAt({-1.8, 0.0, 0.0}, 3.0));
        scene.setOtherStones({{roundSolids(), placedAt({1.8, 0.0, 0.0}, 3.0)},
                              {roundSolids(), placedAt({0.0, 0.0, 0.0}, 0.0)}});
        scene.look(ViewFrom::Table);
        scene.frame();
        const auto check = [&](const Picture& picture, double height) {
            const double own =
                brightness(colourAt(picture, project(scene, picture, {-1.8, 0.02, height})));
            const double other =
                brightness(colourAt(picture, project(scene, picture, {1.8, 0.02, height})));
            const double rough =
                brightness(colourAt(picture, project(scene, picture, {0.0, 1.5, height})));
            EXPECT_GT(own, other + 0.06);
            EXPECT_GT(other, rough + 0.06);
        };
        check(drawPicture(scene, 300, 300), 0.0);
        scene.setSection({0.0, 0.0, 1.0}, 0.0);  // both are cut open
        check(drawPicture(scene, 300, 300), 0.0);
        scene.setSection(Vector3d::Zero(), 0.0);
        scene.setDesignVisible(false);
        const Picture none = drawPicture(scene, 300, 300);
        scene.setOtherStones({});
        scene.setDesignVisible(true);
        const Picture alone = drawPicture(scene, 300, 300);
        EXPECT_NEAR(brightness(colourAt(none, project(scene, none, {1.8, 0.02, 0.0}))),
                    brightness(colourAt(alone, project(scene, alone, {1.8, 0.02, 0.0}))), 0.01);
    }
}

TEST(Reference, ADividedRough) {
    MACLE_NEEDS_PICTURES();
    for (const bool dark : {false, true}) {
        Scene scene;
        stage(scene, dark ? Theme::Dark : Theme::Light);
        scene.look(ViewFrom::Oblique);
        compare(scene, dark ? "divided_dark" : "divided_light", 360, 270);
    }
}

TEST(Reference, ADividedRoughInSection) {
    MACLE_NEEDS_PICTURES();
    for (const bool dark : {false, true}) {
        Scene scene;
        stage(scene, dark ? Theme::Dark : Theme::Light);
        scene.look(ViewFrom::Oblique);
        scene.setSection({0.1, -1.0, 0.1}, 0.1);
        compare(scene, dark ? "divided_section_dark" : "divided_section_light", 360, 270);
    }
}

}  // namespace
}  // namespace macle::render::test
