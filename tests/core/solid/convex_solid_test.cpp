#include "core/solid/convex_solid.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>
#include <set>

#include "core/base/error.h"
#include "core/base/units.h"
#include "core/cut/round_brilliant.h"

using namespace macle;
using Eigen::Vector3d;
using ::testing::ElementsAre;
using ::testing::HasSubstr;

namespace {

Facet plane(const std::string& name, const Vector3d& direction, double distance) {
    return {name, FacetKind::Other, direction.normalized(), distance};
}

ConvexPart box(const Vector3d& low, const Vector3d& high) {
    ConvexPart part;
    for (int axis = 0; axis < 3; ++axis) {
        part.facets.push_back(
            plane("high " + std::to_string(axis), Vector3d::Unit(axis), high[axis]));
        part.facets.push_back(
            plane("low " + std::to_string(axis), -Vector3d::Unit(axis), -low[axis]));
    }
    return part;
}

ConvexPart cube(double half) {
    return box(Vector3d::Constant(-half), Vector3d::Constant(half));
}

ConvexPart octahedron(double distance) {
    ConvexPart part;
    for (const double x : {-1.0, 1.0})
        for (const double y : {-1.0, 1.0})
            for (const double z : {-1.0, 1.0})
                part.facets.push_back(plane("face " + std::to_string(part.facets.size() + 1),
                                            Vector3d(x, y, z), distance));
    return part;
}

// `sides` planes sloping down from one point on the axis, closed by a flat below.
ConvexPart pyramid(int sides, double inradius, double height, double below) {
    ConvexPart part;
    for (int k = 0; k < sides; ++k) {
        const double a = 2 * std::numbers::pi * k / sides;
        const Vector3d n(height * std::cos(a), height * std::sin(a), inradius);
        part.facets.push_back(
            plane("side " + std::to_string(k + 1), n, height * inradius / n.norm()));
    }
    part.facets.push_back(plane("floor", -Vector3d::UnitZ(), below));
    return part;
}

template <class Action>
std::string refusal(ErrorCode code, Action action) {
    try {
        action();
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), code) << error.what();
        EXPECT_FALSE(error.remedy().empty());
        return error.what();
    }
    ADD_FAILURE() << "nothing was refused";
    return "";
}

double surface(const ConvexSolid& solid) {
    double area = 0.0;
    for (const SolidFace& face : solid.faces)
        area += face.area;
    return area;
}

double meshVolume(const TriangleMesh& mesh) {
    double six = 0.0;
    for (const auto& t : mesh.triangles)
        six += mesh.vertices[t[0]].dot(mesh.vertices[t[1]].cross(mesh.vertices[t[2]]));
    return six / 6;
}

}  // namespace

TEST(ConvexSolid, ACubeHasItsClosedForm) {
    const ConvexSolid solid = makeSolid(cube(0.5));
    EXPECT_EQ(solid.vertices.size(), 8u);
    ASSERT_EQ(solid.faces.size(), 6u);
    EXPECT_NEAR(solid.volume, 1.0, 1e-15);
    for (std::size_t k = 0; k < 6; ++k) {
        EXPECT_EQ(solid.faces[k].facet, static_cast<int>(k));
        EXPECT_EQ(solid.faces[k].corners.size(), 4u);
        EXPECT_NEAR(solid.faces[k].area, 1.0, 1e-15);
    }
}

TEST(ConvexSolid, AnOctahedronHasItsClosedForm) {
    // Edge 1: distance of a face 1/sqrt 6, volume sqrt 2 / 3, surface 2 sqrt 3.
    const ConvexSolid solid = makeSolid(octahedron(1 / std::sqrt(6.0)));
    EXPECT_EQ(solid.vertices.size(), 6u);
    EXPECT_EQ(solid.faces.size(), 8u);
    EXPECT_NEAR(solid.volume, std::sqrt(2.0) / 3, 1e-15);
    EXPECT_NEAR(surface(solid), 2 * std::sqrt(3.0), 1e-14);
}

TEST(ConvexSolid, ACuboctahedronIsTheCommonPartOfCubeAndOctahedron) {
    // Edge 1: volume 5 sqrt 2 / 3; 8 triangles and 6 squares, 12 vertices of four faces each.
    ConvexPart part = cube(std::sqrt(0.5));
    const auto faces = octahedron(std::sqrt(2.0 / 3.0)).facets;
    part.facets.insert(part.facets.end(), faces.begin(), faces.end());
    const ConvexSolid solid = makeSolid(part);
    EXPECT_EQ(solid.vertices.size(), 12u);
    EXPECT_EQ(solid.faces.size(), 14u);
    EXPECT_NEAR(solid.volume, 5 * std::sqrt(2.0) / 3, 1e-14);
}

TEST(ConvexSolid, CornersRunCounterClockwiseSeenFromOutside) {
    const ConvexPart part = roundBrilliant({}).parts.front();
    const ConvexSolid solid = makeSolid(part);
    for (const SolidFace& face : solid.faces) {
        const Vector3d& n = part.facets[static_cast<std::size_t>(face.facet)].normal;
        const std::size_t count = face.corners.size();
        const auto at = [&](std::size_t k) {
            return solid.vertices[static_cast<std::size_t>(face.corners[k % count])];
        };
        for (std::size_t k = 0; k < count; ++k)
            EXPECT_GT((at(k + 1) - at(k)).cross(at(k + 2) - at(k + 1)).dot(n), 0.0);
    }
}

TEST(ConvexSolid, ManyPlanesThroughOnePointMakeOneVertex) {
    for (const int sides : {8, 16, 17, 64, 128}) {
        const double below = 0.1;
        const ConvexSolid solid = makeSolid(pyramid(sides, 0.5, 0.4, below));
        EXPECT_EQ(solid.faces.size(), static_cast<std::size_t>(sides) + 1) << sides;
        EXPECT_EQ(solid.vertices.size(), static_cast<std::size_t>(sides) + 1) << sides;
        const double height = 0.4 + below;
        const double inradius = 0.5 * height / 0.4;
        const double base = sides * inradius * inradius * std::tan(std::numbers::pi / sides);
        EXPECT_NEAR(solid.volume, base * height / 3, 1e-12) << sides;
    }
}

TEST(ConvexSolid, EightPavilionMainsMeetInOneCuletPoint) {
    // Lower halves as long as allowed: their tips come near the culet and stay apart from it.
    const Design design = roundBrilliant({53, 34.5, 40.75, 0, 50, 95, 0});
    const ConvexSolid solid = makeSolid(design.parts.front());
    EXPECT_EQ(solid.faces.size(), 57u);
    EXPECT_EQ(solid.vertices.size(), 41u);  // 8 table, 8 star tips, 16 girdle, 8 lower tips, culet
    int atCulet = 0;
    for (const SolidFace& face : solid.faces)
        for (const int corner : face.corners) {
            const Vector3d& v = solid.vertices[static_cast<std::size_t>(corner)];
            if (std::hypot(v.x(), v.y()) < 1e-9) ++atCulet;
        }
    EXPECT_EQ(atCulet, 8);
}

TEST(ConvexSolid, AFacetThatOnlyTouchesOrRepeatsBoundsNothing) {
    Design design;
    design.parts.push_back(cube(0.5));
    auto& facets = design.parts.front().facets;
    facets.push_back(plane("through an edge", Vector3d(1, 1, 0), std::sqrt(0.5)));
    facets.push_back(plane("through a corner", Vector3d(1, 1, 1), std::sqrt(0.75)));
    facets.push_back(plane("again", Vector3d(1, 0, 0), 0.5));
    facets.push_back(plane("far away", Vector3d(0, 1, 3), 5.0));
    EXPECT_THAT(vanishedFacets(design),
                ElementsAre("through an edge", "through a corner", "again", "far away"));
    const ConvexSolid solid = makeSolid(design.parts.front());
    EXPECT_EQ(solid.vertices.size(), 8u);
    EXPECT_NEAR(solid.volume, 1.0, 1e-15);
}

TEST(ConvexSolid, FacetsThatDifferByRoundingDoNotChangeTheVolume) {
    // The same cube twice, once turned by angles down to nothing and back.
    for (double angle = 1e-17; angle < 1e-6; angle *= 3.7) {
        ConvexPart part = cube(0.5);
        const Eigen::AngleAxisd turn(angle, Vector3d(1, 2, 3).normalized());
        for (const Facet& f : cube(0.5).facets)
            part.facets.push_back(plane(f.name + " again", turn * f.normal, f.distance));
        EXPECT_NEAR(makeSolid(part).volume, 1.0, 1e-15 + 10 * angle) << angle;
    }
}

TEST(ConvexSolid, ACornerCutOffByLessThanTheToleranceIsStillACornerOfOneVertex) {
    for (const double cut : {1e-16, 1e-13, 1e-10, 2e-8}) {
        ConvexPart part = cube(0.5);
        part.facets.push_back(plane("corner", Vector3d(1, 1, 1), std::sqrt(0.75) - cut));
        const ConvexSolid solid = makeSolid(part);
        EXPECT_EQ(solid.vertices.size(), 8u) << cut;
        EXPECT_EQ(solid.faces.size(), 6u) << cut;
        EXPECT_NEAR(solid.volume, 1.0, 1e-15) << cut;
    }
    ConvexPart part = cube(0.5);
    part.facets.push_back(plane("corner", Vector3d(1, 1, 1), std::sqrt(0.75) - 1e-5));
    const ConvexSolid solid = makeSolid(part);
    EXPECT_EQ(solid.vertices.size(), 10u);
    // The corner taken off is a regular tetrahedron's tip of height h: volume h^3 sqrt 3 / 2.
    EXPECT_NEAR(1.0 - solid.volume, std::sqrt(3.0) / 2 * 1e-15, 1e-15);
}

TEST(ConvexSolid, AnUnboundedIntersectionIsRefused) {
    const auto unbounded = [](const ConvexPart& part) {
        EXPECT_THAT(refusal(ErrorCode::NoSolution, [&] { makeSolid(part); }),
                    HasSubstr("runs to infinity"));
    };
    unbounded({});
    ConvexPart halfSpace;
    halfSpace.facets.push_back(plane("table", Vector3d::UnitZ(), 0.5));
    unbounded(halfSpace);
    for (std::size_t missing = 0; missing < 6; ++missing) {
        ConvexPart part = cube(0.5);
        part.facets.erase(part.facets.begin() + static_cast<std::ptrdiff_t>(missing));
        unbounded(part);
    }
    ConvexPart prism;  // 16 sides, no ends
    for (int k = 0; k < 16; ++k) {
        const double a = std::numbers::pi * k / 8;
        prism.facets.push_back(plane("side", Vector3d(std::cos(a), std::sin(a), 0), 0.5));
    }
    unbounded(prism);
    ConvexPart cone = prism;  // closed above, open below
    cone.facets.push_back(plane("table", Vector3d::UnitZ(), 0.5));
    unbounded(cone);
    ConvexPart same;
    for (int k = 0; k < 10; ++k)
        same.facets.push_back(plane("same", Vector3d(1, 2, 3), 1.0));
    unbounded(same);
    ConvexPart almost = cube(0.5);  // parallel walls up to rounding
    almost.facets[4] = plane("high", Vector3d(1, 0, 1e-15), 0.5);
    almost.facets[5] = plane("low", Vector3d(-1, 0, -1e-15), 0.5);
    unbounded(almost);
}

TEST(ConvexSolid, ADesignWithoutItsTableOrPavilionIsRefused) {
    Design design = roundBrilliant({});
    auto& facets = design.parts.front().facets;
    std::erase_if(facets, [](const Facet& f) {
        return f.kind == FacetKind::LowerHalf || f.kind == FacetKind::PavilionMain;
    });
    refusal(ErrorCode::NoSolution, [&] { makeSolid(design.parts.front()); });
    refusal(ErrorCode::NoSolution, [&] { vanishedFacets(design); });
}

TEST(ConvexSolid, AFacetThatDoesNotLeaveTheCentreInsideIsRefusedByName) {
    for (const double distance : {0.0, -1e-12, -0.7}) {
        ConvexPart part = cube(0.5);
        part.facets.push_back(plane("pavilion main 3", Vector3d(1, 1, -1), distance));
        EXPECT_THAT(refusal(ErrorCode::NoSolution, [&] { makeSolid(part); }),
                    HasSubstr("pavilion main 3"));
    }
}

TEST(ConvexSolid, ANumberThatIsNoneOrANormalNotOfLengthOneIsRefusedByName) {
    const double nan = std::numeric_limits<double>::quiet_NaN();
    const double infinite = std::numeric_limits<double>::infinity();
    for (const Facet& bad : {Facet{"star 2", FacetKind::Star, Vector3d(nan, 0, 1), 0.5},
                             Facet{"star 2", FacetKind::Star, Vector3d(0, 0, 1), nan},
                             Facet{"star 2", FacetKind::Star, Vector3d(0, 0, 1), infinite},
                             Facet{"star 2", FacetKind::Star, Vector3d(0, 0, 0), 0.5},
                             Facet{"star 2", FacetKind::Star, Vector3d(0, 0, 1.001), 0.5}}) {
        ConvexPart part = cube(0.5);
        part.facets.push_back(bad);
        EXPECT_THAT(refusal(ErrorCode::BadInput, [&] { makeSolid(part); }), HasSubstr("star 2"));
    }
}

TEST(ConvexSolid, ASliverThinnerThanTheToleranceIsRefusedAndNotWeighed) {
    const ConvexPart thin = box(Vector3d(-0.5, -0.5, -1e-8), Vector3d(0.5, 0.5, 1e-8));
    refusal(ErrorCode::NoSolution, [&] { makeSolid(thin); });
    const ConvexPart flat = box(Vector3d(-0.5, -0.5, -1e-6), Vector3d(0.5, 0.5, 1e-6));
    EXPECT_NEAR(makeSolid(flat).volume, 2e-6, 1e-18);
}

TEST(ConvexSolid, LargeAndElongatedSolidsAreRight) {
    EXPECT_NEAR(makeSolid(cube(250.0)).volume, 500.0 * 500.0 * 500.0, 1e-6);
    const ConvexPart needle = box(Vector3d(-1e-3, -1e-3, -100), Vector3d(1e-3, 2e-3, 300));
    EXPECT_NEAR(makeSolid(needle).volume, 2e-3 * 3e-3 * 400, 1e-15);
}

TEST(ConvexSolid, PlacingTurnsShiftsAndScalesIt) {
    const ConvexSolid solid = makeSolid(roundBrilliant({}).parts.front());
    Placement placement;
    placement.rotation =
        Eigen::Quaterniond(Eigen::AngleAxisd(0.7, Vector3d(1, -2, 0.5).normalized()));
    placement.translation_mm = Vector3d(3, -1, 2);
    placement.size_mm = 6.5;
    const ConvexSolid stone = placed(solid, placement);
    EXPECT_NEAR(stone.volume, solid.volume * 6.5 * 6.5 * 6.5, 1e-12);
    EXPECT_NEAR(surface(stone), surface(solid) * 6.5 * 6.5, 1e-12);
    EXPECT_EQ(stone.faces.size(), solid.faces.size());
    for (std::size_t k = 0; k < solid.vertices.size(); ++k) {
        const Vector3d back =
            placement.rotation.conjugate() * (stone.vertices[k] - placement.translation_mm) / 6.5;
        EXPECT_LT((back - solid.vertices[k]).norm(), 1e-14);
    }
    EXPECT_NEAR(meshVolume(triangulated(stone)), stone.volume, 1e-10);
}

TEST(ConvexSolid, APlacementThatIsNoPlacementIsRefused) {
    const ConvexSolid solid = makeSolid(cube(0.5));
    const double nan = std::numeric_limits<double>::quiet_NaN();
    Placement placement;
    for (const double size : {0.0, -1.0, nan, std::numeric_limits<double>::infinity()}) {
        placement.size_mm = size;
        refusal(ErrorCode::BadUsage, [&] { placed(solid, placement); });
    }
    placement.size_mm = 1.0;
    placement.rotation = Eigen::Quaterniond(1.0, 0.1, 0, 0);
    refusal(ErrorCode::BadUsage, [&] { placed(solid, placement); });
    placement.rotation = Eigen::Quaterniond(nan, 0, 0, 0);
    refusal(ErrorCode::BadUsage, [&] { placed(solid, placement); });
    placement.rotation = Eigen::Quaterniond::Identity();
    placement.translation_mm.y() = nan;
    refusal(ErrorCode::BadUsage, [&] { placed(solid, placement); });
}

TEST(ConvexSolid, ItsTriangulationIsClosedAndHoldsTheSameVolume) {
    const ConvexSolid solid =
        makeSolid(roundBrilliant({56, 34.5, 40.75, 1.0, 50, 77, 1}).parts.front());
    const TriangleMesh mesh = triangulated(solid);
    EXPECT_EQ(mesh.triangles.size(), 2 * solid.vertices.size() - 4);  // Euler
    std::map<std::pair<unsigned, unsigned>, int> edges;
    for (const auto& t : mesh.triangles)
        for (std::size_t c = 0; c < 3; ++c)
            ++edges[{t[c], t[(c + 1) % 3]}];
    for (const auto& [edge, count] : edges) {
        EXPECT_EQ(count, 1);
        EXPECT_TRUE(edges.contains({edge.second, edge.first}));
    }
    EXPECT_NEAR(meshVolume(mesh), solid.volume, 1e-14);
}

TEST(DesignVolume, OfTwoOverlappingBoxesIsTheirUnion) {
    Design design;
    design.parts = {box(Vector3d(-1, -0.5, -0.5), Vector3d(0.25, 0.5, 0.5)),
                    box(Vector3d(-0.25, -0.5, -0.25), Vector3d(1, 0.75, 0.5))};
    // 1.25 + 1.25 * 1.25 * 0.75 - 0.5 * 1 * 0.75
    EXPECT_NEAR(designVolume(design), 1.25 + 1.25 * 1.25 * 0.75 - 0.375, 1e-14);
}

TEST(DesignVolume, OfThreeBarsThatCrossIsTheirUnion) {
    Design design;
    design.parts = {box(Vector3d(-1, -0.1, -0.1), Vector3d(1, 0.1, 0.1)),
                    box(Vector3d(-0.1, -1, -0.1), Vector3d(0.1, 1, 0.1)),
                    box(Vector3d(-0.1, -0.1, -1), Vector3d(0.1, 0.1, 1))};
    EXPECT_NEAR(designVolume(design), 3 * 0.08 - 2 * 0.008, 1e-15);
}

TEST(DesignVolume, OfAPartGivenTwiceOrHeldInAnotherIsThatOfTheLarger) {
    Design design = roundBrilliant({});
    const double once = designVolume(design);
    design.parts.push_back(design.parts.front());
    EXPECT_NEAR(designVolume(design), once, 1e-15);
    design.parts.push_back(cube(0.05));
    EXPECT_NEAR(designVolume(design), once, 1e-14);
}

TEST(DesignVolume, NeedsOneToTenParts) {
    Design design;
    refusal(ErrorCode::BadUsage, [&] { designVolume(design); });
    design.parts.assign(11, cube(0.5));
    EXPECT_THAT(refusal(ErrorCode::BadUsage, [&] { designVolume(design); }), HasSubstr("11 parts"));
}
