// The section of a skin with a plane: closed forms, planes through vertices, and CGAL's slicer as
// an independent judge.
#include "core/bench/plane_section.h"

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_slicer.h>
#include <CGAL/Surface_mesh.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <numbers>
#include <random>

#include "core/base/error.h"
#include "core/divide/division.h"
#include "core/stone/intake.h"
#include "core/stone/sample.h"
#include "tests/core/solid/test_bodies.h"

using namespace macle;
using namespace macle::bodies;

namespace {

double uniform(std::mt19937_64& random, double low, double high) {
    return low + (high - low) * static_cast<double>(random() >> 11) * 0x1.0p-53;
}

Vector3d anyDirection(std::mt19937_64& random) {
    for (;;) {
        const Vector3d v(uniform(random, -1, 1), uniform(random, -1, 1), uniform(random, -1, 1));
        if (v.norm() > 0.1 && v.norm() < 1.0) return v.normalized();
    }
}

struct Sum {
    std::size_t loops = 0;
    double length = 0.0, skin = 0.0, area = 0.0;
};

Sum sumOf(const std::vector<SectionLoop>& loops, const Plane& plane) {
    Sum sum;
    sum.loops = loops.size();
    for (const SectionLoop& loop : loops) {
        sum.length += loop.length_mm();
        sum.skin += loop.skin_mm();
        sum.area += loop.area_mm2(plane.normal);
    }
    return sum;
}

// The worst distances of all points to their plane and to the triangles of their steps.
void expectOnBoth(const TriangleMesh& skin, const Plane& plane,
                  const std::vector<SectionLoop>& loops, double within_mm) {
    double offPlane = 0.0, offSkin = 0.0;
    for (const SectionLoop& loop : loops)
        for (std::size_t i = 0; i < loop.points.size(); ++i) {
            offPlane = std::max(offPlane, std::abs(plane.heightOf(loop.points[i])));
            if (!loop.steps[i].onSkin()) continue;
            for (const std::size_t end : {i, (i + 1) % loop.points.size()})
                offSkin = std::max(
                    offSkin, distanceToTriangle(skin, loop.steps[i].triangle, loop.points[end]));
        }
    EXPECT_LE(offPlane, within_mm);
    EXPECT_LE(offSkin, within_mm);
}

TEST(PlaneSection, OfAnOctahedronIsASquareOfKnownSize) {
    const double edge = 5.0, corner = edge / std::numbers::sqrt2;
    for (const int refinement : {0, 3}) {
        const TriangleMesh skin = octahedronStone(edge, refinement).rough.mesh;
        for (const double height : {0.0, 0.3, 0.5 * corner, -1.1}) {
            const Plane plane{Vector3d::UnitZ(), height};
            const auto loops = sectionOf(skin, plane);
            const Sum sum = sumOf(loops, plane);
            const double side = edge * (1.0 - std::abs(height) / corner);
            EXPECT_EQ(sum.loops, 1u) << height;
            EXPECT_NEAR(sum.length, 4.0 * side, 1e-12);
            EXPECT_NEAR(sum.area, side * side, 1e-12);
            EXPECT_DOUBLE_EQ(sum.skin, sum.length);
            expectOnBoth(skin, plane, loops, 1e-14);
        }
        // Square to a three-fold axis through the middle: a regular hexagon of half the edge.
        const Plane hexagon{Vector3d(1, 1, 1).normalized(), 0.0};
        EXPECT_NEAR(sumOf(sectionOf(skin, hexagon), hexagon).length, 3.0 * edge, 1e-12);
        // The tip touched, the body missed.
        EXPECT_TRUE(sectionOf(skin, {Vector3d::UnitZ(), corner}).empty());
        EXPECT_TRUE(sectionOf(skin, {Vector3d::UnitZ(), 2.0 * corner}).empty());
        EXPECT_TRUE(sectionOf(skin, {Vector3d::UnitZ(), -corner}).empty());
    }
}

TEST(PlaneSection, FacesAndEdgesInThePlaneMakeNoGap) {
    const TriangleMesh box = boxMesh({0, 0, 0}, {2, 3, 4});
    const Plane top{Vector3d::UnitZ(), 4.0};
    EXPECT_NEAR(sumOf(sectionOf(box, top), top).length, 10.0, 1e-15);
    EXPECT_NEAR(sumOf(sectionOf(box, top), top).area, 6.0, 1e-15);
    EXPECT_TRUE(sectionOf(box, {Vector3d::UnitZ(), 0.0}).empty());
    // Through two opposite edges, along a diagonal of two faces.
    const Plane diagonal{Vector3d(3, -2, 0).normalized(), 0.0};
    const Sum sum = sumOf(sectionOf(box, diagonal), diagonal);
    EXPECT_EQ(sum.loops, 1u);
    EXPECT_NEAR(sum.length, 2.0 * (4.0 + std::sqrt(13.0)), 1e-12);
    // Every plane of a fine grid through its vertices.
    TriangleMesh fine = octahedronMesh(1.0);
    for (int i = 0; i < 5; ++i)
        fine = refined(fine);
    for (int k = -31; k <= 31; ++k) {
        const Plane plane{Vector3d::UnitY(), k / 32.0};
        const Sum level = sumOf(sectionOf(fine, plane), plane);
        EXPECT_EQ(level.loops, 1u) << k;
        const double side = std::numbers::sqrt2 * (1.0 - std::abs(k) / 32.0);
        EXPECT_NEAR(level.length, 4.0 * side, 1e-13) << k;
    }
}

TEST(PlaneSection, HollowsTurnTheOtherWay) {
    const TriangleMesh shell = together(octahedronMesh(3.0), reversed(octahedronMesh(1.0)));
    const Plane plane{Vector3d::UnitX(), 0.25};
    const auto loops = sectionOf(shell, plane);
    ASSERT_EQ(loops.size(), 2u);
    EXPECT_NEAR(loops[0].area_mm2(plane.normal), 2.0 * 2.75 * 2.75, 1e-12);
    EXPECT_NEAR(loops[1].area_mm2(plane.normal), -2.0 * 0.75 * 0.75, 1e-12);
}

TEST(PlaneSection, OfABallIsACircleAsNearAsItsTrianglesAre) {
    TriangleMesh ball = octahedronMesh(1.0);
    for (int i = 0; i < 6; ++i)
        ball = refined(ball);
    for (Vector3d& v : ball.vertices)
        v = 4.0 * v.normalized();
    std::mt19937_64 random(7);
    for (int i = 0; i < 20; ++i) {
        const Plane plane{anyDirection(random), uniform(random, -3.0, 3.0)};
        const double radius = std::sqrt(16.0 - plane.offset_mm * plane.offset_mm);
        const Sum sum = sumOf(sectionOf(ball, plane), plane);
        // Sides of up to 0.16 mm: an arc's chord is shorter by (side / radius)^2 / 24.
        EXPECT_LT(sum.length, 2.0 * std::numbers::pi * radius);
        EXPECT_GT(sum.length, 2.0 * std::numbers::pi * radius * (1.0 - 3e-3));
        EXPECT_NEAR(sum.area, std::numbers::pi * radius * radius, 6e-3 * radius * radius);
    }
}

TEST(PlaneSection, AnOpenSurfaceIsRefused) {
    TriangleMesh open = octahedronMesh(1.0);
    open.triangles.pop_back();
    EXPECT_THROW(sectionOf(open, {Vector3d::UnitX(), 0.5}), Error);
}

// Clipped by the sides of a piece, and closed along them, the section of the rough is that of the
// piece itself, which another part of the program makes.
TEST(PlaneSection, ClippedIsTheSectionOfThePiece) {
    const Rough body = rough(pebble(5));
    const RoughCutter cutter(body);
    std::mt19937_64 random(11);
    int pieces = 0;
    for (int round = 0; round < 12; ++round) {
        std::vector<Saw> saws(3);
        for (int s = 0; s < 3; ++s) {
            Saw& saw = saws[static_cast<std::size_t>(s)];
            saw.normal = anyDirection(random);
            saw.offset_mm = uniform(random, -0.6, 0.6);
            saw.kerf_mm = 0.1 * s;
            saw.piece = s == 2 ? 1 : 0;
            if (s == 1) saw.v = VKerf{saw.normal.unitOrthogonal(), 0.02};
        }
        Division division;
        try {
            division = divide(body, cutter, saws);
        } catch (const Error&) {
            continue;  // a saw that misses its piece
        }
        for (const Piece& piece : division.pieces) {
            const Plane plane{anyDirection(random), uniform(random, -1.0, 1.0)};
            const auto loops = clipSection(sectionOf(body.mesh, plane), plane, piece.sides);
            const Sum clipped = sumOf(loops, plane);
            const Sum own = sumOf(sectionOf(piece.mesh, plane), plane);
            // A piece's corners are where its planes meet the skin to some 1e-9 mm.
            EXPECT_NEAR(clipped.length, own.length, 1e-8);
            EXPECT_NEAR(clipped.area, own.area, 1e-8);
            EXPECT_EQ(clipped.loops, own.loops);
            EXPECT_LE(clipped.skin, clipped.length);
            expectOnBoth(body.mesh, plane, loops, 1e-12);
            for (const SectionLoop& loop : loops)
                for (std::size_t i = 0; i < loop.points.size(); ++i)
                    for (std::size_t s = 0; s < piece.sides.size(); ++s) {
                        const double out =
                            piece.sides[s].normal.dot(loop.points[i]) - piece.sides[s].offset_mm;
                        EXPECT_LE(out, 1e-12);
                        if (loop.steps[i].side == static_cast<int>(s)) {
                            EXPECT_NEAR(out, 0.0, 1e-12);
                        }
                    }
            pieces += own.loops > 0 ? 1 : 0;
        }
    }
    EXPECT_GT(pieces, 20);
}

TEST(PlaneSection, OpenArcsCloseAlongTheSideInClosedForm) {
    // The square |x| + |y| <= 2 keeps x <= 1 and loses its corner there.
    const TriangleMesh skin = octahedronMesh(2.0);
    const Plane plane{Vector3d::UnitZ(), 0.0};
    const auto loops = clipSection(sectionOf(skin, plane), plane, {{Vector3d::UnitX(), 1.0}});
    ASSERT_EQ(loops.size(), 1u);
    EXPECT_NEAR(loops[0].skin_mm(), 6.0 * std::numbers::sqrt2, 1e-14);
    EXPECT_NEAR(loops[0].length_mm() - loops[0].skin_mm(), 2.0, 1e-14);
    EXPECT_NEAR(loops[0].area_mm2(plane.normal), 7.0, 1e-14);
}

namespace judge {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Mesh = CGAL::Surface_mesh<Kernel::Point_3>;

Mesh meshOf(const TriangleMesh& skin) {
    Mesh mesh;
    std::vector<Mesh::Vertex_index> names;
    for (const Vector3d& v : skin.vertices)
        names.push_back(mesh.add_vertex({v.x(), v.y(), v.z()}));
    for (const auto& t : skin.triangles)
        mesh.add_face(names[t[0]], names[t[1]], names[t[2]]);
    return mesh;
}

void compare(const TriangleMesh& skin, const char* name, int planes) {
    SCOPED_TRACE(name);
    const Mesh mesh = meshOf(skin);
    const CGAL::Polygon_mesh_slicer<Mesh, Kernel> slicer(mesh);
    const Box box = bounds(skin);
    std::mt19937_64 random(3);
    double worst = 0.0;
    for (int i = 0; i < planes; ++i) {
        Plane plane;
        plane.normal = anyDirection(random);
        plane.offset_mm =
            plane.normal.dot(box.centre()) + uniform(random, -0.35, 0.35) * box.extent().minCoeff();
        std::vector<std::vector<Kernel::Point_3>> lines;
        slicer(
            Kernel::Plane_3(plane.normal.x(), plane.normal.y(), plane.normal.z(), -plane.offset_mm),
            std::back_inserter(lines));
        double length = 0.0;
        for (const auto& line : lines) {
            EXPECT_EQ(line.front(), line.back());
            for (std::size_t k = 1; k < line.size(); ++k)
                length += std::sqrt(CGAL::squared_distance(line[k - 1], line[k]));
        }
        const auto loops = sectionOf(skin, plane);
        const Sum own = sumOf(loops, plane);
        EXPECT_EQ(own.loops, lines.size());
        worst = std::max(worst, std::abs(own.length - length) / length);
        expectOnBoth(
            skin, plane, loops,
            1e-14 * std::max(1.0, box.extent().norm()) + 1e-15 * box.high.cwiseAbs().maxCoeff());
    }
    std::cout << name << ": " << skin.triangles.size() << " triangles, " << planes
              << " planes, length within " << worst << " of CGAL's\n";
    EXPECT_LT(worst, 1e-10);
}

TEST(PlaneSectionJudge, AgreesWithCgalOnDemoStones) {
    compare(pebble(5), "pebble", 20);
    compare(sampleStone().rough.mesh, "sample stone", 20);
}

TEST(PlaneSectionJudge, AgreesWithCgalOnRealStones) {
    int found = 0;
    for (const char* name : {"castalia.obj", "eros.obj"}) {
        const auto file = std::filesystem::path(MACLE_SHARED) / "real_stones" / name;
        if (!std::filesystem::exists(file)) continue;
        ++found;
        compare(takeInFile(file).mesh, name, 20);
    }
    if (found == 0) GTEST_SKIP() << "no real stones here";
}

}  // namespace judge

}  // namespace
