// The geometry behind the picture: lines between facets, sections, the scale bar's length.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/base/units.h"
#include "core/cut/library.h"
#include "core/solid/finished_stone.h"
#include "core/stone/sample.h"
#include "render/facet_edges.h"
#include "render/overlay.h"
#include "render/section_shapes.h"
#include "stage.h"

namespace macle::render::test {
namespace {

double length(const std::vector<Segment>& segments) {
    double sum = 0.0;
    for (const Segment& segment : segments)
        sum += (segment.to - segment.from).norm();
    return sum;
}

double length(const std::vector<FacetEdge>& edges) {
    double sum = 0.0;
    for (const FacetEdge& edge : edges)
        sum += (edge.line.to - edge.line.from).norm();
    return sum;
}

TEST(FacetEdges, AConvexSolidHasTheEdgesOfEuler) {
    const ConvexSolid solid = roundSolids().front();
    const std::vector<FacetEdge> edges = facetEdges({solid});
    EXPECT_EQ(edges.size(), solid.vertices.size() + solid.faces.size() - 2);
    // The 64 upright edges between girdle flats are no lines; all others are.
    const auto quiet = std::count_if(edges.begin(), edges.end(),
                                     [](const FacetEdge& edge) { return !edge.drawnInside; });
    EXPECT_EQ(quiet, 64);
    for (const FacetEdge& edge : edges)
        EXPECT_LT(edge.normal.dot(edge.otherNormal), 1.0 - 1e-6);
}

TEST(FacetEdges, AStraightSidedGirdleKeepsItsCorners) {
    const std::vector<FacetEdge> edges = facetEdges({boxSolid({-1, -1, -1}, {1, 1, 1})});
    EXPECT_EQ(edges.size(), 12U);
    for (const FacetEdge& edge : edges)
        EXPECT_TRUE(edge.drawnInside);
}

TEST(FacetEdges, OfTwoCrossingBoxesAreTheEdgesOfTheirUnion) {
    // Two bars of 4 x 2 x 2 crossed at right angles: the union is a plus of height 2. Its outline
    // above and below is 12 edges of length 1 or 2 (4 ends of 2, 8 sides of 1), its upright edges
    // are 8 convex and 4 inner ones of length 2.
    const std::vector<ConvexSolid> bars = {boxSolid({-2, -1, -1}, {2, 1, 1}),
                                           boxSolid({-1, -2, -1}, {1, 2, 1})};
    EXPECT_NEAR(length(facetEdges(bars)), 2 * (4 * 2.0 + 8 * 1.0) + 12 * 2.0, 1e-4);
    // A box within the other adds nothing.
    const std::vector<ConvexSolid> nested = {boxSolid({-2, -2, -2}, {2, 2, 2}),
                                             boxSolid({-1, -1, -1}, {1, 1, 1})};
    EXPECT_NEAR(length(facetEdges(nested)), 48.0, 1e-4);
}

TEST(FinishedSurface, OfAWholeDesignIsAllFacets) {
    const std::vector<ConvexSolid> solids = roundSolids();
    const Placement placement = placedAt({3.0, -7.0, 2.0}, 6.5, {0.4, 0.2, -0.7}, 131.0);
    const TriangleMesh mesh = triangulated(placed(solids.front(), placement));
    const FinishedSurface surface = splitFinished(mesh, solids, placement);
    EXPECT_TRUE(surface.skin.empty());
    EXPECT_EQ(surface.facets.triangles.size(), mesh.triangles.size());
    const std::vector<FacetEdge> edges = facetEdges(solids);
    EXPECT_EQ(surface.edges.size(), edges.size());  // no line across a facet
    EXPECT_NEAR(length(surface.edges), 6.5 * length(edges), 1e-6);
    EXPECT_EQ(std::count_if(surface.edges.begin(), surface.edges.end(),
                            [](const FacetEdge& edge) { return !edge.drawnInside; }),
              64);
}

TEST(FinishedSurface, TellsSkinFromFacets) {
    // A cube whose top is a ridge of skin instead.
    const ConvexSolid cube = boxSolid({-0.5, -0.5, -0.5}, {0.5, 0.5, 0.5});
    TriangleMesh mesh = triangulated(cube);
    const auto middle = static_cast<std::uint32_t>(mesh.vertices.size());
    mesh.vertices.emplace_back(0.05, 0.0, 0.45);
    std::vector<std::array<std::uint32_t, 3>> kept;
    for (const auto& triangle : mesh.triangles) {
        const bool top = std::all_of(triangle.begin(), triangle.end(), [&](std::uint32_t corner) {
            return mesh.vertices[corner].z() > 0.4;
        });
        if (!top) kept.push_back(triangle);
    }
    for (const auto& [a, b] : {std::pair{4U, 5U}, {5U, 7U}, {7U, 6U}, {6U, 4U}})
        kept.push_back({a, b, middle});
    mesh.triangles = kept;
    const FinishedSurface surface = splitFinished(mesh, {cube}, Placement{});
    EXPECT_EQ(surface.skin.triangles.size(), 4U);
    EXPECT_EQ(surface.facets.triangles.size(), 10U);
    EXPECT_EQ(surface.skin.vertices.size(), 5U);  // shared, for smooth shading
    EXPECT_EQ(surface.edges.size(), 12U);         // the cube's; none within the skin
}

TEST(FinishedSurface, HasTheNaturalsThatAreReported) {
    const Stone stone = bumpyBall();
    const Design design = makeDesign("round", {});
    const Placement placement = placedAt({0.1, 0.2, 0.3}, 10.2, {0.3, 1.0, 0.2}, 40.0);
    const FinishedStone finished = RoughCutter(stone.rough).finish(design, placement, true);
    ASSERT_FALSE(finished.naturals.empty());
    double reported_mm2 = 0.0;
    for (const Natural& natural : finished.naturals)
        reported_mm2 += natural.area_mm2;
    const FinishedSurface surface = splitFinished(finished.mesh, roundSolids(), placement);
    EXPECT_NEAR(area_mm2(surface.skin), reported_mm2, 1e-6 * reported_mm2);
    EXPECT_NEAR(area_mm2(surface.skin) + area_mm2(surface.facets), area_mm2(finished.mesh), 1e-6);
}

TEST(Section, OfAnOctahedronThroughItsCornersIsASquare) {
    // The four corners in the plane count as above it, which must not tear the outline.
    for (const int refinement : {0, 3}) {
        const TriangleMesh mesh = octahedronStone(6.0, refinement).rough.mesh;
        const SectionShape shape = cutMesh(mesh, {Eigen::Vector3d::UnitZ(), 0.0});
        EXPECT_NEAR(area_mm2(shape.area), 36.0, 1e-9);
        EXPECT_NEAR(length(shape.outline), 24.0, 1e-9);
    }
}

TEST(Section, OfAnOctahedronAcrossAFaceIsAHexagon) {
    // Halfway between two opposite faces: a regular hexagon of side a/2.
    const TriangleMesh mesh = octahedronStone(6.0, 2).rough.mesh;
    const SectionShape shape = cutMesh(mesh, {Eigen::Vector3d::Ones().normalized(), 0.0});
    EXPECT_NEAR(area_mm2(shape.area), 1.5 * std::sqrt(3.0) * 9.0, 1e-9);
    EXPECT_NEAR(length(shape.outline), 18.0, 1e-9);
}

TEST(Section, OfAHollowIsARing) {
    TriangleMesh mesh = triangulated(boxSolid({-3, -3, -3}, {3, 3, 3}));
    const TriangleMesh hollow = triangulated(boxSolid({-1, -1, -1}, {1, 1, 1}));
    const auto first = static_cast<std::uint32_t>(mesh.vertices.size());
    mesh.vertices.insert(mesh.vertices.end(), hollow.vertices.begin(), hollow.vertices.end());
    for (const auto& triangle : hollow.triangles)  // inside out
        mesh.triangles.push_back({triangle[0] + first, triangle[2] + first, triangle[1] + first});
    const SectionShape shape = cutMesh(mesh, {Eigen::Vector3d::UnitX(), 0.25});
    EXPECT_NEAR(area_mm2(shape.area), 36.0 - 4.0, 1e-9);
    EXPECT_NEAR(length(shape.outline), 24.0 + 8.0, 1e-9);
}

TEST(Section, OfAnOpenSheetIsALineAndBesideIsNothing) {
    TriangleMesh sheet;
    sheet.vertices = {{0, 0, 0}, {2, 0, 0}, {2, 0, 2}, {0, 0, 2}};
    sheet.triangles = {{0, 1, 2}, {0, 2, 3}};
    const SectionShape shape = cutMesh(sheet, {Eigen::Vector3d::UnitZ(), 0.5});
    EXPECT_TRUE(shape.area.empty());
    EXPECT_NEAR(length(shape.outline), 2.0, 1e-12);
    const SectionShape beside = cutMesh(sheet, {Eigen::Vector3d::UnitZ(), 9.0});
    EXPECT_TRUE(beside.area.empty());
    EXPECT_TRUE(beside.outline.empty());
}

TEST(Section, OfCrossingPartsHasTheOutlineOfTheirUnion) {
    const std::vector<ConvexSolid> bars = {boxSolid({-2, -1, -1}, {2, 1, 1}),
                                           boxSolid({-1, -2, -1}, {1, 2, 1})};
    const SectionShape shape = cutParts(bars, {Eigen::Vector3d::UnitZ(), 0.3});
    EXPECT_NEAR(length(shape.outline), 16.0, 1e-4);
}

TEST(ScaleBar, IsOneTwoOrFiveTimesAPowerOfTen) {
    EXPECT_DOUBLE_EQ(roundLength_mm(1.0), 1.0);
    EXPECT_DOUBLE_EQ(roundLength_mm(1.99), 1.0);
    EXPECT_DOUBLE_EQ(roundLength_mm(2.0), 2.0);
    EXPECT_DOUBLE_EQ(roundLength_mm(4.9), 2.0);
    EXPECT_DOUBLE_EQ(roundLength_mm(7.3), 5.0);
    EXPECT_DOUBLE_EQ(roundLength_mm(0.07), 0.05);
    EXPECT_DOUBLE_EQ(roundLength_mm(431.0), 200.0);
    EXPECT_EQ(roundLength_mm(0.0), 0.0);
    EXPECT_EQ(roundLength_mm(-1.0), 0.0);
    EXPECT_EQ(roundLength_mm(std::nan("")), 0.0);
}

}  // namespace
}  // namespace macle::render::test
