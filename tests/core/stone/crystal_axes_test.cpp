#include "core/stone/crystal_axes.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "core/base/error.h"
#include "core/base/units.h"
#include "core/stone/colour.h"

namespace macle {
namespace {

using Eigen::Quaterniond;
using Eigen::Vector3d;

Quaterniond randomRotation(std::mt19937& random) {
    std::normal_distribution<double> normal;
    return Quaterniond(normal(random), normal(random), normal(random), normal(random)).normalized();
}

// Equal up to the 24 turns of the cube (and the inversion, which lines cannot show): every
// <100> direction of one lies along a <100> direction of the other.
double disagreement_deg(const Quaterniond& a, const Quaterniond& b) {
    double worst = 0.0;
    for (const Vector3d& axis :
         {Vector3d::UnitX().eval(), Vector3d::UnitY().eval(), Vector3d::UnitZ().eval()}) {
        const Vector3d there = b.conjugate() * (a * axis);
        worst = std::max(worst, degrees(std::acos(std::min(1.0, there.cwiseAbs().maxCoeff()))));
    }
    return worst;
}

NaturalFace face(FaceForm form, const Quaterniond& rotation, const Vector3d& inCrystal) {
    return {form, rotation * inCrystal.normalized()};
}

TEST(CrystalAxes, ComeBackFromTwoOrThreeFacesOfAnyForms) {
    std::mt19937 random(1);
    const std::vector<std::pair<FaceForm, Vector3d>> kinds = {
        {FaceForm::Octahedron, {1, 1, 1}},   {FaceForm::Octahedron, {-1, 1, 1}},
        {FaceForm::Octahedron, {1, -1, 1}},  {FaceForm::Cube, {0, 0, 1}},
        {FaceForm::Cube, {0, -1, 0}},        {FaceForm::Dodecahedron, {1, 0, 1}},
        {FaceForm::Dodecahedron, {0, 1, -1}}};
    int pairs = 0, ambiguous = 0;
    for (std::size_t i = 0; i < kinds.size(); ++i)
        for (std::size_t j = 0; j < i; ++j)
            for (std::size_t k = 0; k <= j; ++k) {
                const Quaterniond truth = randomRotation(random);
                std::vector<NaturalFace> faces = {face(kinds[i].first, truth, kinds[i].second),
                                                  face(kinds[j].first, truth, kinds[j].second)};
                if (k < j) faces.push_back(face(kinds[k].first, truth, kinds[k].second));
                const AxesFromFaces found = axesFromFaces(faces);
                EXPECT_LT(found.worst_deg, 1e-6);
                EXPECT_FALSE(found.flagged);
                ++pairs;
                if (found.ambiguous) {
                    // Faces that a mirror across a plane through them leaves where they are: an
                    // octahedron and a dodecahedron at 90 degrees, dodecahedra at 60 or 120.
                    ++ambiguous;
                    EXPECT_EQ(faces[0].form, FaceForm::Dodecahedron);
                    EXPECT_NEAR(std::abs(found.pairs[0].ideal_deg - 105.0), 15.0, 1e-9);
                    continue;
                }
                EXPECT_LT(disagreement_deg(found.axes.rotation, truth), 1e-4) << i << j << k;
            }
    EXPECT_GT(pairs, 40);
    EXPECT_EQ(ambiguous, 5);
}

// Angles between faces of the cubic system (check values: exact identities).
TEST(CrystalAxes, MeasureTheAnglesAgainstTheIdealOnes) {
    const double t = degrees(std::acos(1.0 / 3.0));  // 70.53
    const auto ideal = [](FaceForm a, const Vector3d& u, FaceForm b, const Vector3d& v) {
        const AxesFromFaces found = axesFromFaces(
            {face(a, Quaterniond::Identity(), u), face(b, Quaterniond::Identity(), v)});
        EXPECT_NEAR(found.pairs.at(0).measured_deg, found.pairs.at(0).ideal_deg, 1e-9);
        return found.pairs.at(0).ideal_deg;
    };
    const FaceForm o = FaceForm::Octahedron, c = FaceForm::Cube, d = FaceForm::Dodecahedron;
    EXPECT_NEAR(ideal(o, {1, 1, 1}, o, {-1, 1, 1}), t, 1e-9);
    EXPECT_NEAR(ideal(o, {1, 1, 1}, o, {-1, -1, 1}), 180.0 - t, 1e-9);
    EXPECT_NEAR(ideal(o, {1, 1, 1}, o, {-1, -1, 1}), 109.4712, 5e-5);
    EXPECT_NEAR(ideal(o, {1, 1, 1}, c, {0, 0, 1}), 54.7356, 5e-5);
    EXPECT_NEAR(ideal(o, {1, 1, 1}, d, {0, 1, 1}), 35.2644, 5e-5);
    EXPECT_NEAR(ideal(o, {1, 1, 1}, d, {0, 1, -1}), 90.0, 1e-9);
    EXPECT_NEAR(ideal(c, {0, 0, 1}, d, {0, 1, 1}), 45.0, 1e-9);
    EXPECT_NEAR(ideal(c, {0, 0, 1}, c, {0, 1, 0}), 90.0, 1e-9);
    EXPECT_NEAR(ideal(d, {1, 1, 0}, d, {0, 1, 1}), 60.0, 1e-9);
}

TEST(CrystalAxes, TellTheMisfitAndFlagFacesThatAreNotWhatTheyAreCalled) {
    // Two octahedron faces at 72 degrees: 1.47 off, which is still a worn face.
    const auto at = [](double deg) {
        return std::vector<NaturalFace>{
            {FaceForm::Octahedron, Vector3d::UnitX()},
            {FaceForm::Octahedron, {std::cos(radians(deg)), std::sin(radians(deg)), 0.0}}};
    };
    const AxesFromFaces worn = axesFromFaces(at(72.0));
    EXPECT_NEAR(worn.worst_deg, 72.0 - 70.528779, 1e-5);
    EXPECT_NEAR(worn.pairs[0].misfit_deg, 72.0 - 70.528779, 1e-5);
    EXPECT_FALSE(worn.flagged);
    EXPECT_NEAR(worn.off_deg[0], worn.off_deg[1], 1e-9);  // shared between the two
    EXPECT_NEAR(worn.off_deg[0] + worn.off_deg[1], worn.worst_deg, 1e-9);
    EXPECT_TRUE(axesFromFaces(at(90.0)).flagged);
    EXPECT_NEAR(axesFromFaces(at(90.0)).worst_deg, 19.471, 1e-3);
}

TEST(CrystalAxes, StayWithinTheNoiseOfThePickedFaces) {
    std::mt19937 random(4);
    std::normal_distribution<double> noise(0.0, radians(0.3));
    for (int round = 0; round < 50; ++round) {
        const Quaterniond truth = randomRotation(random);
        std::vector<NaturalFace> faces;
        for (const Vector3d& n : {Vector3d(1, 1, 1), Vector3d(-1, 1, 1), Vector3d(1, -1, 1)}) {
            NaturalFace f = face(FaceForm::Octahedron, truth, n);
            f.normal += Vector3d(noise(random), noise(random), noise(random));
            faces.push_back(f);  // of any length
        }
        EXPECT_LT(disagreement_deg(axesFromFaces(faces).axes.rotation, truth), 1.5);
    }
}

TEST(CrystalAxes, RefuseWhatDoesNotFixThem) {
    const NaturalFace up{FaceForm::Cube, Vector3d::UnitZ()};
    const NaturalFace down{FaceForm::Cube, -Vector3d::UnitZ()};
    const NaturalFace none{FaceForm::Cube, Vector3d::Zero()};
    const NaturalFace side{FaceForm::Cube, Vector3d::UnitX()};
    EXPECT_THROW(axesFromFaces({up}), Error);
    EXPECT_THROW(axesFromFaces({up, down}), Error);
    EXPECT_THROW(axesFromFaces({up, none}), Error);
    EXPECT_THROW(axesFromFaces({up, side, up, side}), Error);
    EXPECT_NO_THROW(axesFromFaces({up, down, side}));
    EXPECT_THROW(axesFromDirections(Vector3d::UnitZ(), Vector3d(0, 0.01, -1)), Error);
    EXPECT_THROW(axesFromDirections({0, 0, 0}, Vector3d::UnitX()), Error);
    EXPECT_THROW(axesFromDirections({NAN, 0, 0}, Vector3d::UnitX()), Error);
}

TEST(CrystalAxes, AreTakenAsTyped) {
    const CrystalAxes axes = axesFromDirections({0, 3, 0}, {5, 2, 0});
    EXPECT_LT((axes.rotation * Vector3d::UnitZ() - Vector3d::UnitY()).norm(), 1e-12);
    EXPECT_LT((axes.rotation * Vector3d::UnitX() - Vector3d::UnitX()).norm(), 1e-12);
    EXPECT_TRUE(axes.faces.empty());
}

// McCarthy, Fire in the Earth, p. 85: four-point parallel to the cube face, three-point to the
// octahedron face, two-point to the dodecahedron face.
TEST(CrystalAxes, NameTheTableAsTheTradeDoes) {
    std::mt19937 random(9);
    const CrystalAxes axes{randomRotation(random), {}};
    const auto named = [&](const Vector3d& inCrystal) {
        return tableInCrystal(axes, axes.rotation * inCrystal);
    };
    EXPECT_EQ(named({0, 0, -2}).nearest, PointNaming::FourPoint);
    EXPECT_NEAR(named({0, 0, -2}).off_deg, 0.0, 1e-6);
    EXPECT_EQ(named({1, -1, 1}).nearest, PointNaming::ThreePoint);
    EXPECT_EQ(named({0, 1, 1}).nearest, PointNaming::TwoPoint);
    const TableInCrystal tilted = named({0.1, 0, 1});
    EXPECT_EQ(tilted.nearest, PointNaming::FourPoint);
    EXPECT_NEAR(tilted.off_deg, degrees(std::atan(0.1)), 1e-9);
    EXPECT_NEAR(tilted.toDodecahedron_deg, 45.0 - degrees(std::atan(0.1)), 1e-9);
    EXPECT_STREQ(pointName(PointNaming::TwoPoint), "two-point");
    EXPECT_EQ(formFromName("cube"), FaceForm::Cube);
    EXPECT_THROW(formFromName("sphere"), Error);
}

TEST(ColourRecord, IsCheckedAndNamed) {
    ColourRecord record;
    EXPECT_NO_THROW(check(record));
    for (const char* letter : {"C", "d", "DE", "["}) {
        record.body.letter = letter;
        EXPECT_THROW(check(record), Error) << letter;
    }
    record.body.letter = "Z";
    record.zones = {{"rim", Ellipsoid{{0, 0, 0}, {1, 1, 1}}, "yellow", 6}};
    EXPECT_THROW(check(record), Error);
    record.zones[0].strength = 5;
    EXPECT_NO_THROW(check(record));
    record.zones[0].shape = TriangleMesh{};
    EXPECT_THROW(check(record), Error);
    for (const char* name : {"not seen", "none", "slight", "medium", "strong", "very strong"})
        EXPECT_STREQ(fluorescenceName(fluorescenceFromName(name)), name);
    EXPECT_THROW(fluorescenceFromName("dazzling"), Error);
}

}  // namespace
}  // namespace macle
