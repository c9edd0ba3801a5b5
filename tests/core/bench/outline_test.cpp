#include "core/bench/outline.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "core/stone/sample.h"

namespace macle {
namespace {

constexpr double kPromised_mm = 0.02;

const ViewAxes kFromAbove = {Eigen::Vector3d::UnitX(), Eigen::Vector3d::UnitY()};

double areaOf(const OutlineLoop& loop) {
    double sum = 0.0;
    for (std::size_t i = 0; i < loop.size(); ++i) {
        const auto& a = loop[i];
        const auto& b = loop[(i + 1) % loop.size()];
        sum += 0.5 * (a.x() * b.y() - a.y() * b.x());
    }
    return sum;
}

double distanceTo(const OutlineLoop& loop, const Eigen::Vector2d& p) {
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < loop.size(); ++i) {
        const Eigen::Vector2d a = loop[i], along = loop[(i + 1) % loop.size()] - a;
        const double t = std::clamp((p - a).dot(along) / along.squaredNorm(), 0.0, 1.0);
        least = std::min(least, (p - a - t * along).norm());
    }
    return least;
}

// Both ways, at points every 0.01 mm: the Hausdorff distance of two contours.
double farApart(const OutlineLoop& a, const OutlineLoop& b) {
    double worst = 0.0;
    for (const auto* pair : {&a, &b}) {
        const OutlineLoop& from = *pair;
        const OutlineLoop& to = pair == &a ? b : a;
        for (std::size_t i = 0; i < from.size(); ++i) {
            const Eigen::Vector2d start = from[i], end = from[(i + 1) % from.size()];
            const int steps = 1 + int((end - start).norm() / 0.01);
            for (int s = 0; s < steps; ++s)
                worst = std::max(worst, distanceTo(to, start + (end - start) * s / steps));
        }
    }
    return worst;
}

TriangleMesh turned(TriangleMesh mesh, const Eigen::Matrix3d& by) {
    for (auto& v : mesh.vertices)
        v = by * v;
    return mesh;
}

TEST(Outline, OfAnOctahedronAlongItsAxisIsASquare) {
    const double edge = 6.0, corner = edge / std::numbers::sqrt2;
    const auto loops = outlineOf(octahedronStone(edge, 2).rough.mesh, kFromAbove);
    ASSERT_EQ(loops.size(), 1u);
    const OutlineLoop square = {{corner, 0}, {0, corner}, {-corner, 0}, {0, -corner}};
    EXPECT_LT(farApart(loops[0], square), kPromised_mm);
    EXPECT_NEAR(areaOf(loops[0]), edge * edge, 0.01);
    EXPECT_LT(loops[0].size(), 60u) << "a square needs few points";
}

TEST(Outline, OfAnOctahedronAlongAFaceNormalIsARegularHexagon) {
    const double edge = 6.0;
    // A face of the octahedron, seen square on; its circumradius in the shadow is edge / sqrt 3.
    const Eigen::Vector3d view = Eigen::Vector3d(1, 1, 1).normalized();
    const Eigen::Vector3d right = Eigen::Vector3d(1, -1, 0).normalized();
    const auto loops =
        outlineOf(octahedronStone(edge, 0).rough.mesh, {right, view.cross(right).normalized()});
    ASSERT_EQ(loops.size(), 1u);
    OutlineLoop hexagon;
    for (int k = 0; k < 6; ++k) {
        const double a = (k + 0.5) * std::numbers::pi / 3.0;
        hexagon.push_back(edge / std::sqrt(3.0) * Eigen::Vector2d(std::cos(a), std::sin(a)));
    }
    EXPECT_LT(farApart(loops[0], hexagon), kPromised_mm);
}

TEST(Outline, KeepsItsPromiseAtAnyTurnAndSize) {
    for (const double edge : {0.05, 1.3, 12.0, 50.0})
        for (int k = 0; k < 6; ++k) {
            const Eigen::Matrix3d turn = (Eigen::AngleAxisd(0.37 * k, Eigen::Vector3d::UnitZ()) *
                                          Eigen::AngleAxisd(0.83 * k, Eigen::Vector3d::UnitX()))
                                             .toRotationMatrix();
            const TriangleMesh mesh = turned(octahedronStone(edge, 1).rough.mesh, turn);
            const auto loops = outlineOf(mesh, kFromAbove);
            ASSERT_EQ(loops.size(), 1u);
            // Independent: the shadow of a convex body is the hull of its corners' shadows, so no
            // corner lies outside and the area is half the sum of the shadows of all faces.
            double shadow = 0.0;
            for (const auto& t : mesh.triangles) {
                const Eigen::Vector3d n = (mesh.vertices[t[1]] - mesh.vertices[t[0]])
                                              .cross(mesh.vertices[t[2]] - mesh.vertices[t[0]]);
                shadow += 0.25 * std::abs(n.z());
            }
            const double around = 4.0 * edge;
            EXPECT_NEAR(areaOf(loops[0]), shadow, around * std::min(kPromised_mm, edge / 100.0));
            for (const auto& p : loops[0])
                EXPECT_LT(p.norm(), edge / std::numbers::sqrt2 + 1e-9);
        }
}

TEST(Outline, ShowsAHoleThatGoesThrough) {
    // A square ring: outer 4 x 4, inner 2 x 2, 1 high, from eight wall quads and eight flats.
    TriangleMesh ring;
    const auto corner = [&](double half, int k, double z) {
        const double sx[] = {1, -1, -1, 1}, sy[] = {1, 1, -1, -1};
        return Eigen::Vector3d(half * sx[k], half * sy[k], z);
    };
    for (const double z : {0.0, 1.0})
        for (const double half : {2.0, 1.0})
            for (int k = 0; k < 4; ++k)
                ring.vertices.push_back(corner(half, k, z));
    const auto quad = [&](std::uint32_t a, std::uint32_t b, std::uint32_t c, std::uint32_t d) {
        ring.triangles.push_back({a, b, c});
        ring.triangles.push_back({a, c, d});
    };
    for (std::uint32_t k = 0; k < 4; ++k) {
        const std::uint32_t n = (k + 1) % 4;
        quad(k, n, 8 + n, 8 + k);            // outer wall
        quad(4 + n, 4 + k, 12 + k, 12 + n);  // inner wall
        quad(8 + k, 8 + n, 12 + n, 12 + k);  // top
        quad(n, k, 4 + k, 4 + n);            // bottom
    }
    const auto loops = outlineOf(ring, kFromAbove);
    ASSERT_EQ(loops.size(), 2u);
    EXPECT_NEAR(areaOf(loops[0]), 16.0, 16.0 * kPromised_mm);
    EXPECT_NEAR(areaOf(loops[1]), -4.0, 8.0 * kPromised_mm) << "holes run clockwise";
}

TEST(Outline, OfACrackSeenEdgeOnIsItsTrace) {
    TriangleMesh crack;
    crack.vertices = {{0, 0, 0}, {3, 1, 0}, {3, 1, 2}, {0, 0, 2}};
    crack.triangles = {{0, 1, 2}, {0, 2, 3}};
    const auto loops = outlineOf(crack, kFromAbove);
    ASSERT_EQ(loops.size(), 1u);
    ASSERT_EQ(loops[0].size(), 2u);
    EXPECT_NEAR((loops[0][1] - loops[0][0]).norm(), std::sqrt(10.0), 1e-12);
}

TEST(Outline, OfNothingIsNothing) {
    EXPECT_TRUE(outlineOf({}, kFromAbove).empty());
}

}  // namespace
}  // namespace macle
