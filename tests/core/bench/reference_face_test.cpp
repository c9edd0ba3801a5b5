// The reference face: angles and distances of an octahedron in closed form, found again from its
// points by other means, the same however the scan lies.
#include "core/bench/reference_face.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <Eigen/LU>
#include <Eigen/SVD>
#include <random>

#include "core/base/error.h"
#include "core/base/units.h"
#include "core/cut/library.h"
#include "tests/core/bench/mark_cases.h"

using namespace macle;
using namespace macle::bodies;
using namespace macle::marks_test;
using ::testing::HasSubstr;

namespace {

constexpr double kEdge = 8.0;
const double kCorner = kEdge / std::numbers::sqrt2;

Case octahedron(int refinement = 0) {
    return {octahedronStone(kEdge, refinement).rough, 3.0};
}

Eigen::Quaterniond anyTurn(std::mt19937_64& random) {
    std::normal_distribution<double> normal;
    return Eigen::Quaterniond(normal(random), normal(random), normal(random), normal(random))
        .normalized();
}

// Newton's way to n.x = d with all distances of all points, |n| = 1: knows nothing of the closed
// form it is to judge.
Plane foundAgain(const std::vector<ReferencePoint>& points, const Vector3d& start, double offset) {
    Eigen::Vector4d x(start.x(), start.y(), start.z(), offset);
    for (int round = 0; round < 60; ++round) {
        Eigen::MatrixXd rows(points.size() + 1, 4);
        Eigen::VectorXd miss(points.size() + 1);
        for (std::size_t i = 0; i < points.size(); ++i) {
            const auto r = static_cast<Eigen::Index>(i);
            const Vector3d& p = points[i].point.place_mm;
            rows.row(r) << p.x(), p.y(), p.z(), -1.0;
            miss[r] = x.head<3>().dot(p) + points[i].below_mm - x[3];
        }
        const auto last = static_cast<Eigen::Index>(points.size());
        rows.row(last) << 2.0 * x.head<3>().transpose(), 0.0;
        miss[last] = x.head<3>().squaredNorm() - 1.0;
        x -= rows.bdcSvd(Eigen::ComputeThinU | Eigen::ComputeThinV).solve(miss);
    }
    return {x.head<3>(), x[3]};
}

std::vector<ReferencePoint> deciding(const ReferenceFace& face) {
    std::vector<ReferencePoint> three;
    for (const ReferencePoint& point : face.points)
        if (point.decides) three.push_back(point);
    return three;
}

TEST(ReferenceFace, FourPointOctahedronHasTheKnownAnglesAndDistances) {
    for (const int refinement : {0, 3}) {
        const ReferenceFace face = octahedron(refinement).reference();
        const double table = 3.0 * roundTable();
        EXPECT_NEAR(face.plane.offset_mm, table, 1e-12);
        EXPECT_EQ(face.saw, -1);
        EXPECT_EQ(face.facet, "table");
        EXPECT_TRUE(face.meetsSkin);
        EXPECT_NEAR(face.toGrind_mm, kCorner - table, 1e-12);
        ASSERT_EQ(face.angles.size(), 8u);
        int sameWay = 0;
        for (const ReferenceAngle& angle : face.angles) {
            EXPECT_NEAR(angle.between_deg, 54.735610317245346, 1e-9);
            EXPECT_NEAR(angle.area_mm2, kEdge * kEdge * std::sqrt(3.0) / 4.0, 1e-9);
            EXPECT_NEAR(angle.unevenness_mm, 0.0, 1e-7);
            sameWay += angle.sameWay ? 1 : 0;
        }
        EXPECT_EQ(sameWay, 4);
        ASSERT_EQ(face.points.size(), 6u);
        int round = 0, above = 0;
        for (const ReferencePoint& point : face.points) {
            EXPECT_EQ(point.point.faces.size(), 4u);
            EXPECT_THAT(point.point.words(), HasSubstr("corner of natural faces"));
            EXPECT_NEAR(point.below_mm, table - point.point.place_mm.z(), 1e-12);
            round += std::abs(point.below_mm - table) < 1e-9 ? 1 : 0;
            above += point.groundAway() ? 1 : 0;
        }
        EXPECT_EQ(round, 4);
        EXPECT_EQ(above, 1);
        EXPECT_EQ(deciding(face).size(), 3u);
        for (const ReferencePoint& point : deciding(face))
            EXPECT_FALSE(point.groundAway());
    }
}

TEST(ReferenceFace, ThreePointOctahedronLeansBySeventyDegrees) {
    Case c = octahedron(2);
    c.layout.main().placement.rotation =
        Eigen::Quaterniond::FromTwoVectors(Vector3d::UnitZ(), Vector3d(1, 1, 1));
    const ReferenceFace face = c.reference();
    ASSERT_EQ(face.angles.size(), 8u);
    int parallel = 0, leaning = 0;
    for (const ReferenceAngle& angle : face.angles) {
        parallel += angle.between_deg < 1e-6 ? 1 : 0;
        leaning += std::abs(angle.between_deg - 70.528779365509308) < 1e-6 ? 1 : 0;
    }
    EXPECT_EQ(parallel, 2);
    EXPECT_EQ(leaning, 6);
    // Its corners lie in two planes, as far from the middle as the faces.
    const double inside = kCorner / std::sqrt(3.0), table = 3.0 * roundTable();
    for (const ReferencePoint& point : face.points)
        EXPECT_NEAR(std::abs(point.below_mm - table), inside, 1e-12);
}

TEST(ReferenceFace, IsFoundAgainFromItsPoints) {
    std::mt19937_64 random(5);
    std::vector<Case> cases = {octahedron(2), Case(rough(pebble(5)), 2.5),
                               Case(sampleStone(20000).rough, 5.0)};
    for (Case& c : cases)
        for (int i = 0; i < 8; ++i) {
            c.layout.main().placement.rotation = anyTurn(random);
            const ReferenceFace face = c.reference();
            ASSERT_TRUE(face.firmness) << face.remarks.size();
            const auto three = deciding(face);
            ASSERT_EQ(three.size(), 3u);
            const Plane closed = planeFromDistances(
                {three[0].point.place_mm, three[1].point.place_mm, three[2].point.place_mm},
                {three[0].below_mm, three[1].below_mm, three[2].below_mm}, face.plane.normal);
            // Started some degrees and a tenth of a millimetre off.
            const Vector3d start =
                (face.plane.normal + 0.05 * face.plane.normal.unitOrthogonal()).normalized();
            for (const Plane& plane :
                 {closed, foundAgain(face.points, start, face.plane.offset_mm + 0.1)}) {
                EXPECT_NEAR(plane.offset_mm, face.plane.offset_mm, 1e-9);
                EXPECT_LT((plane.normal - face.plane.normal).norm(), 1e-9);
            }
        }
}

TEST(ReferenceFace, FirmnessIsTheWorstOfAllWrongDistances) {
    std::mt19937_64 random(6);
    Case c = octahedron();
    for (int i = 0; i < 10; ++i) {
        c.layout.main().placement.rotation = anyTurn(random);
        const ReferenceFace face = c.reference();
        ASSERT_TRUE(face.firmness);
        const auto three = deciding(face);
        double tilt = 0.0, shift = 0.0;
        for (int sign = 0; sign < 8; ++sign) {
            std::array<Vector3d, 3> places;
            std::array<double, 3> below{};
            for (std::size_t k = 0; k < 3; ++k) {
                places[k] = three[k].point.place_mm;
                below[k] = three[k].below_mm + ((sign >> k & 1) != 0 ? 0.02 : -0.02);
            }
            const Plane plane = planeFromDistances(places, below, face.plane.normal);
            tilt = std::max(tilt,
                            degrees(std::acos(std::min(1.0, plane.normal.dot(face.plane.normal)))));
            shift = std::max(shift, std::abs(plane.heightOf(face.middle_mm)) /
                                        plane.normal.dot(face.plane.normal));
        }
        EXPECT_NEAR(face.firmness->tilt_deg, tilt, 0.02 * tilt);
        EXPECT_NEAR(face.firmness->shift_mm, shift, 0.02 * shift);
        EXPECT_GE(face.firmness->edge_mm, face.firmness->shift_mm - 1e-12);
        EXPECT_GE(face.firmness->shift_mm, 0.02 * (1.0 - 1e-12));
        EXPECT_LT(face.firmness->edge_mm, 0.06);  // corners 8 mm apart hold it well
    }
}

TEST(ReferenceFace, StaysTheSameHoweverTheScanLies) {
    std::mt19937_64 random(8);
    const auto figures = [](const ReferenceFace& face) {
        std::vector<double> list;
        for (const ReferenceAngle& angle : face.angles)
            list.push_back(angle.between_deg);
        for (const ReferencePoint& point : face.points)
            list.push_back(point.below_mm);
        list.push_back(face.firmness ? face.firmness->tilt_deg : -1.0);
        list.push_back(face.firmness ? face.firmness->edge_mm : -1.0);
        list.push_back(face.toGrind_mm);
        return list;
    };
    for (const Case& still : {Case(rough(pebble(5)), 2.5), Case(sampleStone(20000).rough, 5.0)}) {
        Case first = still;
        first.layout.main().placement.rotation = anyTurn(random);
        const auto before = figures(first.reference());
        for (int i = 0; i < 5; ++i) {
            Case turned = first;
            turned.turn(anyTurn(random), Vector3d(3.0, -20.0, 7.0));
            const auto after = figures(turned.reference());
            ASSERT_EQ(after.size(), before.size());
            for (std::size_t k = 0; k < before.size(); ++k)
                EXPECT_NEAR(after[k], before[k], 1e-9) << k;
        }
    }
}

TEST(ReferenceFace, ASawnFaceParallelToTheTableIsIt) {
    Case c = octahedron(2);
    c.layout.saws = {saw(Vector3d::UnitZ(), 1.0, 0.1), saw(Vector3d::UnitX(), 2.0, 0.0)};
    const ReferenceFace face = c.reference();
    EXPECT_EQ(face.saw, 0);
    EXPECT_NEAR(face.plane.offset_mm, 0.95, 1e-12);
    EXPECT_NEAR(face.toTable_mm, 0.95 - 3.0 * roundTable(), 1e-12);
    EXPECT_NEAR(face.toTable_deg, 0.0, 1e-9);
    EXPECT_TRUE(face.meetsSkin);
    // Corners sawn off are no help; the face of the second saw stands square to it.
    for (const ReferencePoint& point : face.points) {
        EXPECT_LE(point.point.place_mm.x(), 2.0 + 1e-12);
        EXPECT_FALSE(point.groundAway());
    }
    ASSERT_FALSE(face.angles.empty());
    EXPECT_EQ(face.angles.back().face, "face of saw 2");
    EXPECT_NEAR(face.angles.back().between_deg, 90.0, 1e-9);
    // A stone that looks away from the saw is begun from its own table.
    c.layout.main().placement.rotation = Eigen::AngleAxisd(std::numbers::pi, Vector3d::UnitX());
    EXPECT_EQ(c.reference().saw, -1);
    // A saw that leans by more than a V's flank is none either.
    c = octahedron(2);
    c.layout.saws = {saw(Vector3d(0.05, 0.0, 1.0), 1.0, 0.1)};
    EXPECT_EQ(c.reference().saw, -1);
}

// A pyramid sawn from a corner of the octahedron: its own tip, and the four corners of its sawn
// face, each where that face crosses the edge between two natural ones.
TEST(ReferenceFace, CornersOfSawnFacesAreRecognisable) {
    Case c = octahedron(2);
    c.layout.saws = {saw(Vector3d::UnitX(), 3.0, 0.0)};
    c.layout.main().piece = 1;
    c.layout.main().placement.translation_mm.x() = 4.0;
    c.layout.main().placement.size_mm = 1.0;
    const ReferenceFace face = c.reference();
    ASSERT_EQ(face.points.size(), 5u);
    int sawn = 0;
    for (const ReferencePoint& point : face.points) {
        const Vector3d& p = point.point.place_mm;
        EXPECT_NEAR(p.cwiseAbs().sum(), kCorner, 1e-12);
        if (point.point.saws.empty()) {
            EXPECT_NEAR(p.x(), kCorner, 1e-12);
            continue;
        }
        ++sawn;
        EXPECT_EQ(point.point.faces.size(), 2u);
        EXPECT_THAT(point.point.words(), HasSubstr("face of saw 1 and natural faces"));
        EXPECT_NEAR(p.x(), 3.0, 1e-12);
        EXPECT_NEAR(std::max(std::abs(p.y()), std::abs(p.z())), kCorner - 3.0, 1e-12);
    }
    EXPECT_EQ(sawn, 4);
    // Four of the octahedron's faces end there, each in a triangle with this tip.
    ASSERT_EQ(face.angles.size(), 5u);
    for (std::size_t f = 0; f < 4; ++f)
        EXPECT_NEAR(face.angles[f].area_mm2,
                    std::sqrt(3.0) / 2.0 * (kCorner - 3.0) * (kCorner - 3.0), 1e-9);
    EXPECT_EQ(face.angles[4].face, "face of saw 1");
    // With a second saw square to it, two corners where both come out on the skin.
    c.layout.saws.push_back(saw(Vector3d::UnitY(), 1.0, 0.0, 1));
    int both = 0;
    for (const ReferencePoint& point : c.reference().points) {
        if (point.point.saws.size() < 2) continue;
        ++both;
        EXPECT_EQ(point.point.words(), "corner of the faces of saws 1, 2 on the skin");
        EXPECT_NEAR((point.point.place_mm.cwiseAbs() - Vector3d(3.0, 1.0, kCorner - 4.0)).norm(),
                    0.0, 1e-12);
    }
    EXPECT_EQ(both, 2);
}

TEST(ReferenceFace, SaysWhatIsMissing) {
    Case above = octahedron();
    above.layout.main().placement.translation_mm.z() = 2.0 * kCorner;
    const ReferenceFace missed = above.reference();
    EXPECT_FALSE(missed.meetsSkin);
    ASSERT_FALSE(missed.remarks.empty());
    EXPECT_THAT(missed.remarks[0], HasSubstr("does not meet the piece: it lies"));

    // An egg has two tips and nothing else.
    TriangleMesh egg = octahedronMesh(1.0);
    for (int i = 0; i < 4; ++i)
        egg = refined(egg);
    for (Vector3d& v : egg.vertices)
        v = v.normalized().cwiseProduct(Vector3d(5.0, 3.0, 3.2));
    const ReferenceFace few = Case(rough(egg), 2.0).reference();
    EXPECT_EQ(few.points.size(), 2u);
    EXPECT_FALSE(few.firmness);
    EXPECT_THAT(few.remarks, ::testing::Contains(HasSubstr("three are needed")));
    EXPECT_THAT(referenceFaceWords(few), ::testing::Contains(HasSubstr("three are needed")));

    TriangleMesh ball = octahedronMesh(1.0);
    for (int i = 0; i < 5; ++i)
        ball = refined(ball);
    for (Vector3d& v : ball.vertices)
        v = 4.0 * v.normalized();
    EXPECT_THAT(Case(rough(ball), 2.0).reference().remarks,
                ::testing::Contains(HasSubstr("no large flat faces")));

    EXPECT_THROW(octahedron().reference(3), Error);
    Case nowhere = octahedron();
    nowhere.layout.main().piece = 2;
    EXPECT_THROW(nowhere.reference(), Error);
    Case bad = octahedron();
    bad.layout.main().placement.size_mm = 0.0;
    EXPECT_THROW(bad.reference(), Error);
    EXPECT_THROW(planeFromDistances({Vector3d(0, 0, 0), Vector3d(1, 0, 0), Vector3d(2, 0, 0)},
                                    {0.0, 0.0, 0.0}, Vector3d::UnitZ()),
                 Error);
    EXPECT_THROW(planeFromDistances({Vector3d(0, 0, 0), Vector3d(1, 0, 0), Vector3d(0, 1, 0)},
                                    {0.0, 5.0, 0.0}, Vector3d::UnitZ()),
                 Error);
}

TEST(ReferenceFace, ACutWithoutTableIsBegunFromItsBase) {
    Case c = octahedron();
    c.layout.main().cut = "rose";
    const ReferenceFace face = c.reference();
    EXPECT_EQ(face.facet, "base");
    EXPECT_NEAR(face.plane.normal.z(), -1.0, 1e-12);
}

}  // namespace
