#include "core/stone/skin.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <map>

#include "tests/core/stone/shapes.h"

namespace macle {
namespace {

using Eigen::Vector3d;

TEST(Skin, EdgesOfAClosedSurfaceObeyEuler) {
    const TriangleMesh mesh = shapes::bumpy(15, 3.0);
    const skin::Edges edges = skin::findEdges(mesh, nullptr);
    EXPECT_EQ(mesh.vertices.size() - edges.uses.size() + mesh.triangles.size(), 2u);
    EXPECT_EQ(std::count(edges.uses.begin(), edges.uses.end(), 2u),
              static_cast<long>(edges.uses.size()));
}

TEST(Skin, EdgesAgreeWithAPlainMap) {
    std::mt19937 random(1);
    TriangleMesh mesh;
    mesh.vertices.resize(30, Vector3d::Zero());
    for (int i = 0; i < 300; ++i) {
        std::array<std::uint32_t, 3> t{};
        do
            for (auto& v : t)
                v = static_cast<std::uint32_t>(random() % 30);
        while (t[0] == t[1] || t[1] == t[2] || t[2] == t[0]);
        mesh.triangles.push_back(t);
    }
    std::map<std::pair<std::uint32_t, std::uint32_t>, std::uint32_t> uses;
    for (std::uint32_t h = 0; h < 900; ++h)
        ++uses[std::minmax(skin::fromVertex(mesh, h), skin::toVertex(mesh, h))];
    const skin::Edges edges = skin::findEdges(mesh, nullptr);
    ASSERT_EQ(edges.uses.size(), uses.size());
    std::size_t next = 0;
    for (const auto& [ends, count] : uses)
        EXPECT_EQ(edges.uses[next++], count);
    for (std::uint32_t h = 0; h < 900; ++h)
        EXPECT_EQ(edges.uses[edges.edgeOf[h]],
                  uses[std::minmax(skin::fromVertex(mesh, h), skin::toVertex(mesh, h))]);
}

TEST(Skin, TwinsRunTheOtherWayAlongTheSameEdge) {
    const TriangleMesh mesh = shapes::bumpy(10, 3.0);
    const auto twins = skin::findTwins(skin::findEdges(mesh, nullptr));
    for (std::uint32_t h = 0; h < twins.size(); ++h) {
        EXPECT_EQ(twins[twins[h]], h);
        EXPECT_EQ(skin::fromVertex(mesh, h), skin::toVertex(mesh, twins[h]));
    }
}

TEST(Skin, WeldingFindsTheFirstPointWithinReachWhereverTheCellsLie) {
    // Against the plain quadratic search.
    std::mt19937 random(6);
    std::uniform_real_distribution<double> share(-1.0, 1.0);
    TriangleMesh raw;
    for (int i = 0; i < 3000; ++i)
        raw.vertices.emplace_back(share(random), share(random), share(random));
    raw.triangles = {{0, 1, 2}};
    const double reach = 0.06;
    std::vector<Vector3d> kept;
    for (const Vector3d& p : raw.vertices)
        if (std::none_of(kept.begin(), kept.end(),
                         [&](const Vector3d& q) { return (p - q).squaredNorm() <= reach * reach; }))
            kept.push_back(p);
    const skin::Welded welded = skin::weld(raw, std::vector<bool>(3000, true), reach, nullptr);
    EXPECT_EQ(welded.mesh.vertices, kept);
    EXPECT_EQ(welded.merged, static_cast<long long>(3000 - kept.size()));
}

TEST(Skin, AMoebiusBandHasNoSides) {
    // Doubled across its rim to a Klein bottle: closed, two triangles at each edge, one side.
    TriangleMesh mesh;
    const std::uint32_t n = 6, m = 5;
    mesh.vertices.resize(n * m, Vector3d::Zero());
    const auto at = [&](std::uint32_t i, std::uint32_t j) {
        return i == n ? (m - j % m) % m : i * m + j % m;
    };
    for (std::uint32_t i = 0; i < n; ++i)
        for (std::uint32_t j = 0; j < m; ++j) {
            mesh.triangles.push_back({at(i, j), at(i + 1, j), at(i + 1, j + 1)});
            mesh.triangles.push_back({at(i, j), at(i + 1, j + 1), at(i, j + 1)});
        }
    const skin::Edges edges = skin::findEdges(mesh, nullptr);
    for (const std::uint32_t uses : edges.uses)
        ASSERT_EQ(uses, 2u);
    const auto shells = skin::findShells(mesh, skin::findTwins(edges), nullptr);
    EXPECT_EQ(shells.count, 1);
    EXPECT_GE(shells.oneSided, 0);
}

TEST(Skin, ShellsAreNumberedByTheirFirstTriangle) {
    const TriangleMesh mesh =
        shapes::together(shapes::box({0, 0, 0}, {1, 1, 1}), shapes::box({4, 0, 0}, {5, 1, 1}));
    const auto shells =
        skin::findShells(mesh, skin::findTwins(skin::findEdges(mesh, nullptr)), nullptr);
    EXPECT_EQ(shells.count, 2);
    EXPECT_EQ(shells.oneSided, -1);
    for (std::size_t t = 0; t < 24; ++t) {
        EXPECT_EQ(shells.shellOf[t], t < 12 ? 0 : 1);
        EXPECT_FALSE(shells.turned[t]);
    }
}

TEST(Skin, APinchIsFoundAndABodyWithoutOneIsNot) {
    const TriangleMesh good = shapes::bumpy(10, 3.0);
    EXPECT_TRUE(
        skin::pinchedVertices(good, skin::findTwins(skin::findEdges(good, nullptr))).empty());
    TriangleMesh mesh =
        shapes::together(shapes::box({0, 0, 0}, {1, 1, 1}), shapes::box({1, 1, 1}, {2, 2, 2}));
    mesh = skin::weld(mesh, skin::usedVertices(mesh, nullptr), 1e-9, nullptr).mesh;
    const auto pinched =
        skin::pinchedVertices(mesh, skin::findTwins(skin::findEdges(mesh, nullptr)));
    ASSERT_EQ(pinched.size(), 1u);
    EXPECT_EQ(mesh.vertices[pinched[0]], Vector3d(1, 1, 1));
}

TEST(Skin, ManySliversOnOneEdgeDissolveWithoutMovingTheSurface) {
    for (unsigned seed = 0; seed < 50; ++seed) {
        std::mt19937 random(seed);
        TriangleMesh mesh = shapes::box({0, 0, 0}, {8, 8, 8});
        std::vector<std::uint32_t> waiting;
        // Split edges again and again, each time on one side only: the new vertex sits on the
        // edge, and a sliver on the new vertex fills the slit.
        for (int i = 0; i < 12; ++i) {
            const auto twins = skin::findTwins(skin::findEdges(mesh, nullptr));
            const auto h = static_cast<std::uint32_t>(random() % twins.size());
            const std::uint32_t t = h / 3, a = skin::fromVertex(mesh, h),
                                b = skin::toVertex(mesh, h),
                                c = skin::toVertex(mesh, skin::nextInTriangle(h));
            const auto v = static_cast<std::uint32_t>(mesh.vertices.size());
            const double share = std::uniform_real_distribution<double>(0.2, 0.8)(random);
            mesh.vertices.push_back(share * mesh.vertices[a] + (1.0 - share) * mesh.vertices[b]);
            mesh.triangles[t] = {a, v, c};
            mesh.triangles.push_back({v, b, c});
            mesh.triangles.push_back({a, b, v});
        }
        auto twins = skin::findTwins(skin::findEdges(mesh, nullptr));
        const double area = 6.0 * 64.0;
        ASSERT_NEAR(area_mm2(mesh), area, 1e-9);
        const auto stuck = skin::dissolveSlivers(mesh, twins, 1e-9, nullptr);
        EXPECT_TRUE(stuck.empty()) << "seed " << seed;
        for (std::uint32_t t = 0; t < mesh.triangles.size(); ++t)
            EXPECT_FALSE(skin::isSliver(mesh, t, 1e-9)) << "seed " << seed;
        EXPECT_NEAR(area_mm2(mesh), area, 1e-9);
        EXPECT_NEAR(signedVolume_mm3(mesh), 512.0, 1e-9);
        EXPECT_EQ(twins, skin::findTwins(skin::findEdges(mesh, nullptr)));
        EXPECT_EQ(skin::findTouching(mesh, nullptr).pairs, 0) << "seed " << seed;
    }
}

TEST(Skin, UnusedVerticesAreDroppedInOrder) {
    TriangleMesh mesh;
    mesh.vertices = {{9, 9, 9}, {1, 0, 0}, {8, 8, 8}, {0, 1, 0}, {0, 0, 1}};
    mesh.triangles = {{1, 3, 4}};
    EXPECT_EQ(skin::dropUnusedVertices(mesh), 2);
    const std::vector<Vector3d> left = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
    EXPECT_EQ(mesh.vertices, left);
    EXPECT_EQ(mesh.triangles[0], (std::array<std::uint32_t, 3>{0, 1, 2}));
}

}  // namespace
}  // namespace macle
