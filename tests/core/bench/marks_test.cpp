// Marks on the skin: which there are, how long they are in closed form, what runs on skin and what
// on a sawn face.
#include "core/bench/marks.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>

#include "core/base/error.h"
#include "core/cut/library.h"
#include "tests/core/bench/mark_cases.h"

using namespace macle;
using namespace macle::bodies;
using namespace macle::marks_test;
using ::testing::HasSubstr;

namespace {

const MarkCurve& named(const Marks& marks, const std::string& name) {
    for (const MarkCurve& curve : marks.curves)
        if (curve.name == name) return curve;
    static const MarkCurve kNone;
    ADD_FAILURE() << "no curve " << name;
    return kNone;
}

TEST(Marks, OfAnOctahedronHaveTheKnownLengths) {
    const double edge = 8.0, corner = edge / std::numbers::sqrt2;
    Case c(octahedronStone(edge, 2).rough, 3.0);
    c.layout.saws = {saw(Vector3d::UnitZ(), -1.0, 0.2), saw(Vector3d::UnitX(), 0.5, 0.0)};
    MarkRequest request;
    request.girdles = true;
    const Marks marks = c.marks(request);
    std::vector<std::string> names;
    for (const MarkCurve& curve : marks.curves)
        names.push_back(curve.name);
    // The first saw keeps the table's side as piece 2; the stone sits in piece 1, below.
    EXPECT_EQ(names, (std::vector<std::string>{"saw 1 middle", "saw 1 edge below",
                                               "saw 1 edge above", "saw 2 middle"}));
    EXPECT_EQ(marks.remarks.size(), 2u);

    const auto square = [&](double height) {
        return 4.0 * edge * (1.0 - std::abs(height) / corner);
    };
    EXPECT_NEAR(named(marks, "saw 1 middle").length_mm, square(1.0), 1e-12);
    EXPECT_NEAR(named(marks, "saw 1 edge below").length_mm, square(1.1), 1e-12);
    EXPECT_NEAR(named(marks, "saw 1 edge above").length_mm, square(0.9), 1e-12);
    // The second saw divides piece 1, which the first left below z = -1.1.
    const MarkCurve& second = named(marks, "saw 2 middle");
    ASSERT_EQ(second.loops.size(), 1u);
    const double half = corner - 0.5;  // of the square's diagonal
    EXPECT_NEAR(second.skin_mm, 2.0 * std::numbers::sqrt2 * (half - 1.1), 1e-12);
    EXPECT_NEAR(second.length_mm - second.skin_mm, 2.0 * (half - 1.1), 1e-12);
    const auto stretches = stretchesOf(second, second.loops[0]);
    ASSERT_EQ(stretches.size(), 2u);
    for (const MarkStretch& stretch : stretches)
        EXPECT_NEAR(stretch.length_mm,
                    stretch.saw == 0 ? second.length_mm - second.skin_mm : second.skin_mm, 1e-12);
    EXPECT_LE(marks.offSkin_mm, 1e-12);
    EXPECT_LE(marks.offPlane_mm, 1e-12);
}

TEST(Marks, ReferenceFaceAndGirdleOfAnOctahedron) {
    const double edge = 8.0, corner = edge / std::numbers::sqrt2;
    Case c(octahedronStone(edge, 1).rough, 3.0);
    MarkRequest request;
    request.girdles = true;
    const Marks marks = c.marks(request);
    ASSERT_EQ(marks.curves.size(), 2u);
    EXPECT_NEAR(named(marks, "reference face").length_mm,
                4.0 * edge * (1.0 - 3.0 * roundTable() / corner), 1e-12);
    EXPECT_NEAR(named(marks, "girdle").length_mm, 4.0 * edge, 1e-12);
    EXPECT_TRUE(marks.remarks.empty());
    std::string cautions;
    for (const std::string& caution : marks.cautions)
        cautions += caution;
    for (const char* word : {"Laser: class 4", "eye protection", "Dust", "Heat", "local codes"})
        EXPECT_THAT(cautions, HasSubstr(word));
}

TEST(Marks, AReferenceFaceThatIsSawnFollowsTheEdgeOfTheSaw) {
    Case c(octahedronStone(8.0, 1).rough, 3.0);
    c.layout.saws = {saw(Vector3d::UnitZ(), 1.0, 0.1), saw(Vector3d::UnitX(), 2.0, 0.0)};
    const Marks marks = c.marks();
    const MarkCurve& reference = named(marks, "reference face");
    const MarkCurve& edge = named(marks, "saw 1 edge below");
    // The second saw took a corner of it; what is left closes along that saw's face.
    EXPECT_LT(reference.skin_mm, edge.skin_mm);
    const auto stretches = stretchesOf(reference, reference.loops.at(0));
    ASSERT_EQ(stretches.size(), 2u);
    EXPECT_TRUE(stretches[0].saw == 1 || stretches[1].saw == 1);
}

TEST(Marks, OfEachStoneWhereThereAreSeveral) {
    Case c(octahedronStone(8.0, 1).rough, 2.0);
    c.layout.saws = {saw(Vector3d::UnitZ(), 0.8, 0.05)};
    c.layout.stones.resize(2, c.layout.main());
    c.layout.stones[1].piece = 1;
    c.layout.stones[1].placement.translation_mm.z() = 2.0;
    c.layout.stones[1].placement.size_mm = 1.0;
    MarkRequest request;
    request.stones = {0, 1};
    request.girdles = true;
    const Marks marks = c.marks(request);
    EXPECT_EQ(marks.references.size(), 2u);
    EXPECT_EQ(named(marks, "stone 2 girdle").piece, 1);
    EXPECT_EQ(named(marks, "stone 1 reference face").stone, 0);
}

TEST(Marks, OfAVKerfLeanTowardsEachOther) {
    Case c(octahedronStone(8.0, 2).rough, 3.0);
    c.layout.main().placement.translation_mm.z() = -2.0;
    Saw v = saw(Vector3d::UnitZ(), 1.0, 0.3);
    v.v = VKerf{Vector3d::UnitX(), 0.02};
    c.layout.saws = {v};
    const Marks marks = c.marks();
    for (const auto& [name, sign] :
         {std::pair{"saw 1 edge below", -1.0}, std::pair{"saw 1 edge above", 1.0}}) {
        const MarkCurve& curve = named(marks, name);
        EXPECT_GT(curve.plane.normal.z(), 0.9);
        for (const SectionLoop& loop : curve.loops)
            for (const Vector3d& p : loop.points) {
                // Half the width falls evenly from 0.15 to 0.01 over the way of the beam.
                const double corner = 8.0 / std::numbers::sqrt2;
                const double width = 0.15 - 0.14 * (p.x() + corner) / (2.0 * corner);
                EXPECT_NEAR(p.z(), 1.0 + sign * width, 1e-12);
            }
    }
}

TEST(Marks, OnStonesOfAllKindsLieOnSkinAndPlane) {
    std::mt19937_64 random(19);
    std::normal_distribution<double> normal;
    const auto direction = [&] {
        return Vector3d(normal(random), normal(random), normal(random)).normalized();
    };
    double offSkin = 0.0, offPlane = 0.0;
    int curves = 0;
    for (Case& c : std::vector<Case>{Case(rough(pebble(5)), 1.0), Case(sampleStone().rough, 3.0)})
        for (int i = 0; i < 6; ++i) {
            c.layout.saws = {saw(direction(), 0.3, 0.1), saw(direction(), -0.2, 0.05)};
            c.layout.saws[1].piece = i % 2;
            c.layout.main().placement.rotation =
                Eigen::Quaterniond::FromTwoVectors(Vector3d::UnitZ(), direction());
            Marks marks;
            try {
                marks = c.marks();
            } catch (const Error& error) {
                EXPECT_EQ(error.code(), ErrorCode::BadUsage) << error.message();
                continue;
            }
            curves += static_cast<int>(marks.curves.size());
            offSkin = std::max(offSkin, marks.offSkin_mm);
            offPlane = std::max(offPlane, marks.offPlane_mm);
        }
    std::cout << curves << " curves: off skin " << offSkin << " mm, off plane " << offPlane
              << " mm\n";
    EXPECT_GT(curves, 40);
    EXPECT_LE(offSkin, 1e-12);
    EXPECT_LE(offPlane, 1e-12);
}

}  // namespace
