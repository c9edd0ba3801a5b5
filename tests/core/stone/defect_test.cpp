#include "core/stone/defect.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "core/base/error.h"
#include "core/stone/intake.h"
#include "tests/core/stone/shapes.h"

namespace macle {
namespace {

using Eigen::Vector3d;
using testing::ElementsAre;
using testing::HasSubstr;

Defect with(std::variant<TriangleMesh, Ellipsoid, Sheet> shape) {
    Defect defect;
    defect.name = "test";
    defect.shape = std::move(shape);
    return defect;
}

const Ellipsoid kTilted{
    {1.5, -2.0, 0.25},
    {2.0, 0.5, 0.01},
    Eigen::Quaterniond(Eigen::AngleAxisd(1.1, Vector3d(1, -2, 0.5).normalized()))};

TEST(Defect, AnEllipsoidHasTheVolumeOfItsHalfAxes) {
    EXPECT_NEAR(defectVolume_mm3(with(kTilted)), 4.0 / 3.0 * std::numbers::pi * 0.01, 1e-15);
}

TEST(Defect, EveryFacePlaneOfAnEllipsoidLiesOnOrOutsideIt) {
    const TriangleMesh mesh = defectSurface(with(kTilted));
    EXPECT_EQ(mesh.triangles.size(), 320u);
    const Eigen::Matrix3d stretch =
        kTilted.rotation.toRotationMatrix() * Eigen::Matrix3d(kTilted.halfAxes_mm.asDiagonal());
    double tightest = 1e300;
    for (const auto& [a, b, c] : mesh.triangles) {
        const Vector3d n =
            (mesh.vertices[b] - mesh.vertices[a]).cross(mesh.vertices[c] - mesh.vertices[a]);
        const double plane = n.dot(mesh.vertices[a] - kTilted.centre_mm);
        // The support function: the ellipsoid reaches this far along n.
        const double reach = (stretch.transpose() * n).norm();
        EXPECT_GE(plane, reach);
        tightest = std::min(tightest, plane / reach);
    }
    // Not larger than needed: the nearest face touches, and the volume is within 5 %.
    EXPECT_NEAR(tightest, 1.0, 1e-8);
    const double share = signedVolume_mm3(mesh) / defectVolume_mm3(with(kTilted));
    EXPECT_GT(share, 1.0);
    EXPECT_LT(share, 1.05);
    EXPECT_NO_THROW(takeIn(mesh));
}

TEST(Defect, PointsOfAnEllipsoidAreInsideItsSurfaceAndItsBounds) {
    const TriangleMesh mesh = defectSurface(with(kTilted));
    const Box box = defectBounds(with(kTilted));
    std::mt19937 random(9);
    std::normal_distribution<double> normal;
    Vector3d high = Vector3d::Constant(-1e300);
    for (int i = 0; i < 4000; ++i) {
        const Vector3d unit = Vector3d(normal(random), normal(random), normal(random)).normalized();
        const Vector3d p =
            kTilted.centre_mm + kTilted.rotation * unit.cwiseProduct(kTilted.halfAxes_mm);
        if (i < 400) {
            EXPECT_TRUE(contains(mesh, p));
        }
        EXPECT_TRUE((p.array() >= box.low.array() - 1e-12).all());
        EXPECT_TRUE((p.array() <= box.high.array() + 1e-12).all());
        high = high.cwiseMax(p);
    }
    // The bounds are tight: some point comes near each side.
    EXPECT_LT((box.high - high).maxCoeff(), 0.05);
}

TEST(Defect, AMeshIsItsOwnSurface) {
    const TriangleMesh box = shapes::box({1, 1, 1}, {2, 3, 4});
    EXPECT_EQ(defectSurface(with(box)).triangles, box.triangles);
    EXPECT_NEAR(defectVolume_mm3(with(box)), 6.0, 1e-14);
    EXPECT_EQ(defectBounds(with(box)).high, Vector3d(2, 3, 4));
}

// Shoelace formula in the plane z = 0.
double shoelace(const std::vector<Vector3d>& corners) {
    double twice = 0.0;
    for (std::size_t i = 0; i < corners.size(); ++i) {
        const Vector3d &a = corners[i], &b = corners[(i + 1) % corners.size()];
        twice += a.x() * b.y() - a.y() * b.x();
    }
    return std::abs(twice) / 2.0;
}

TEST(Defect, ASheetOfAnyOutlineIsCoveredExactlyOnce) {
    for (unsigned seed = 0; seed < 60; ++seed) {
        std::mt19937 random(seed);
        std::uniform_real_distribution<double> share(0.2, 1.0);
        const int corners = 3 + static_cast<int>(seed);
        Sheet flat;
        // A star outline of random radii is simple and mostly not convex.
        for (int i = 0; i < corners; ++i) {
            const double angle = 2.0 * std::numbers::pi * i / corners;
            const double radius = 3.0 * share(random);
            flat.corners_mm.emplace_back(radius * std::cos(angle), radius * std::sin(angle), 0.0);
        }
        if (seed % 2) std::reverse(flat.corners_mm.begin(), flat.corners_mm.end());
        const double area = shoelace(flat.corners_mm);
        const Eigen::Quaterniond turn(
            Eigen::AngleAxisd(0.1 * seed, Vector3d(1, 0.3, -2).normalized()));
        for (Vector3d& corner : flat.corners_mm)
            corner = turn * corner + Vector3d(4, 5, 6);
        const TriangleMesh mesh = defectSurface(with(flat));
        EXPECT_EQ(mesh.triangles.size(), static_cast<std::size_t>(corners) - 2);
        // As many triangles as needed and the right total area: no gap and no overlap.
        EXPECT_NEAR(area_mm2(mesh), area, 1e-10) << "seed " << seed;
        EXPECT_EQ(defectVolume_mm3(with(flat)), 0.0);
    }
}

TEST(Defect, ASheetMayHaveStraightCorners) {
    const Sheet flat{{{0, 0, 1}, {1, 0, 1}, {2, 0, 1}, {2, 1, 1}, {2, 2, 1}, {1, 2, 1}, {0, 2, 1}}};
    EXPECT_NEAR(area_mm2(defectSurface(with(flat))), 4.0, 1e-12);
}

std::string refusalOf(const Defect& defect) {
    try {
        defectSurface(defect);
    } catch (const Error& fault) {
        EXPECT_EQ(fault.code(), ErrorCode::BadInput);
        return fault.what();
    }
    return "no error";
}

TEST(Defect, ASheetThatIsNoneIsRefused) {
    const double nan = std::nan("");
    EXPECT_THAT(refusalOf(with(Sheet{})), HasSubstr("at least 3 corners, but has 0"));
    EXPECT_THAT(refusalOf(with(Sheet{{{0, 0, 0}, {1, 0, 0}}})), HasSubstr("but has 2"));
    EXPECT_THAT(refusalOf(with(Sheet{{{0, 0, 0}, {1, 0, 0}, {2, 0, 0}}})), HasSubstr("no area"));
    EXPECT_THAT(refusalOf(with(Sheet{{{0, 0, 0}, {1, 0, 0}, {1, 0, 0}, {0, 1, 0}}})),
                HasSubstr("corners 2 and 3 are the same"));
    EXPECT_THAT(refusalOf(with(Sheet{{{0, 0, 0}, {3, 0, 0}, {3, 3, 1}, {0, 3, 0}}})),
                HasSubstr("off the plane of the sheet"));
    EXPECT_THAT(refusalOf(with(Sheet{{{0, 0, 0}, {3, 2, 0}, {3, 0, 0}, {0, 3, 0}}})),
                HasSubstr("the sides after corners 1 and 3 cross or touch"));
    EXPECT_THAT(refusalOf(with(Sheet{{{0, 0, 0}, {2, 0, 0}, {2, 2, 0}, {1, 0, 0}, {0, 2, 0}}})),
                HasSubstr("cross or touch"));
    EXPECT_THAT(refusalOf(with(Sheet{{{0, 0, 0}, {3, 0, 0}, {1, 0, 0}, {1, 2, 0}}})),
                HasSubstr("cross or touch"));
    EXPECT_THAT(refusalOf(with(Sheet{{{0, 0, 0}, {nan, 0, 0}, {0, 1, 0}}})),
                HasSubstr("not finite"));
    EXPECT_THAT(refusalOf(with(Sheet{std::vector<Vector3d>(1001, Vector3d::Zero())})),
                HasSubstr("at most 1000 corners"));
}

TEST(Defect, AnEllipsoidThatIsNoneIsRefused) {
    EXPECT_THAT(refusalOf(with(Ellipsoid{{0, 0, 0}, {1, 0, 1}})),
                HasSubstr("half-axes above zero"));
    EXPECT_THAT(refusalOf(with(Ellipsoid{{0, 0, 0}, {1, std::nan(""), 1}})),
                HasSubstr("half-axes above zero"));
    EXPECT_THAT(refusalOf(with(Ellipsoid{{0, 0, 0}, {1, 1, 1}, Eigen::Quaterniond(2, 0, 0, 0)})),
                HasSubstr("unit rotation"));
}

Defect cubeAt(double x) {
    return with(shapes::box({x, 0, 0}, {x + 1, 1, 1}));
}

TEST(Clusters, JoinWhateverAChainOfShortStepsConnects) {
    // Gaps of 1 between 0, 2 and 4, which come as first, third and last.
    std::vector<Defect> defects = {cubeAt(0), cubeAt(20), cubeAt(2), cubeAt(22.5), cubeAt(4)};
    const auto clusters = clusterByDistance(defects, 1.0);
    ASSERT_EQ(clusters.size(), 3u);
    EXPECT_THAT(clusters[0].members, ElementsAre(0, 2, 4));
    EXPECT_THAT(clusters[1].members, ElementsAre(1));
    EXPECT_THAT(clusters[2].members, ElementsAre(3));
    EXPECT_EQ(clusterByDistance(defects, 1.5).size(), 2u);
    EXPECT_THAT(clusterByDistance(defects, 1.5)[1].members, ElementsAre(1, 3));
}

TEST(Clusters, NameAndNumberTheirMembers) {
    std::vector<Defect> defects = {cubeAt(0), cubeAt(10), cubeAt(0.5)};
    const auto clusters = clusterByDistance(defects, 0.0);
    ASSERT_EQ(clusters.size(), 2u);
    EXPECT_EQ(clusters[0].name, "cluster 1");
    EXPECT_EQ(clusters[1].name, "cluster 2");
    EXPECT_EQ(defects[0].cluster, 0);
    EXPECT_EQ(defects[1].cluster, 1);
    EXPECT_EQ(defects[2].cluster, 0);
}

TEST(Clusters, MeasureAcrossCorners) {
    const double root3 = std::sqrt(3.0);
    std::vector<Defect> defects = {with(shapes::box({0, 0, 0}, {1, 1, 1})),
                                   with(shapes::box({2, 2, 2}, {3, 3, 3}))};
    EXPECT_EQ(clusterByDistance(defects, root3 + 1e-9).size(), 1u);
    EXPECT_EQ(clusterByDistance(defects, root3 - 1e-9).size(), 2u);
}

TEST(Clusters, OfNothingAreNoneAndADistanceMustBeOne) {
    std::vector<Defect> none;
    EXPECT_TRUE(clusterByDistance(none, 1.0).empty());
    EXPECT_THROW(clusterByDistance(none, -1.0), Error);
    EXPECT_THROW(clusterByDistance(none, std::nan("")), Error);
}

TEST(DefectNames, GoThereAndBack) {
    for (const DefectKind kind :
         {DefectKind::Crystal, DefectKind::Feather, DefectKind::Cloud, DefectKind::Pinpoint,
          DefectKind::Crack, DefectKind::GrainLine, DefectKind::Other})
        EXPECT_EQ(kindFromName(kindName(kind)), kind);
    for (const DefectPolicy policy :
         {DefectPolicy::MustBeCutAway, DefectPolicy::MayStay, DefectPolicy::MayStayAtEdge})
        EXPECT_EQ(policyFromName(policyName(policy)), policy);
    EXPECT_STREQ(kindName(DefectKind::GrainLine), "grain line");
    EXPECT_STREQ(policyName(DefectPolicy::MustBeCutAway), "must be cut away");
    EXPECT_THROW(kindFromName("knot"), Error);
    EXPECT_THROW(policyFromName(""), Error);
}

}  // namespace
}  // namespace macle
