// What is done at intake only when it is asked for: units, holes, the choice of a shell.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "core/base/error.h"
#include "core/stone/intake.h"
#include "core/stone/sample.h"
#include "tests/core/stone/shapes.h"

namespace macle {
namespace {

using Eigen::Vector3d;
using testing::HasSubstr;

const Finding* lineOf(const Rough& rough, const std::string& what) {
    for (const Finding& line : rough.report.findings)
        if (line.what == what) return &line;
    return nullptr;
}

TriangleMesh scaled(TriangleMesh mesh, double factor, const Vector3d& shift = Vector3d::Zero()) {
    for (Vector3d& v : mesh.vertices)
        v = factor * v + shift;
    return mesh;
}

TriangleMesh joined(TriangleMesh a, const TriangleMesh& b) {
    const auto first = static_cast<std::uint32_t>(a.vertices.size());
    a.vertices.insert(a.vertices.end(), b.vertices.begin(), b.vertices.end());
    for (auto t : b.triangles)
        a.triangles.push_back({t[0] + first, t[1] + first, t[2] + first});
    return a;
}

TEST(Units, AreOfferedWithBothSizesAndWeights) {
    // A stone of 8 mm edge whose file is in micrometres, inches or metres.
    const TriangleMesh stone = octahedronStone(8.0, 1).rough.mesh;
    const double weight = 8.0 * 8.0 * 8.0 * std::sqrt(2.0) / 3.0 * 3.52 / 200.0;
    const std::tuple<double, const char*, double> cases[] = {
        {1e3, "um", 1e-3}, {1.0 / 25.4, "inch", 25.4}, {1e-3, "m", 1000.0}, {0.1, "cm", 10.0}};
    for (const auto& [factor, name, mm] : cases) {
        const TriangleMesh file = scaled(stone, factor);
        EXPECT_TRUE(unitIsDoubtful(file)) << name;
        const auto choices = unitChoices(file, 3.52);
        EXPECT_EQ(choices.at(0).name, "mm") << "as it stands is always offered";
        const auto right = std::find_if(choices.begin(), choices.end(),
                                        [&](const UnitChoice& c) { return c.name == name; });
        ASSERT_NE(right, choices.end()) << name;
        EXPECT_NEAR(right->weight_ct / weight, 1.0, 1e-12);
        EXPECT_NEAR(right->extent_mm.x(), 8.0 * std::sqrt(2.0), 1e-9);
        IntakeRequest request;
        request.unit_mm = mm;
        request.unitName = name;
        const Rough rough = takeInAsked(file, request);
        EXPECT_NEAR(rough.volume_mm3 / (512.0 * std::sqrt(2.0) / 3.0), 1.0, 1e-12);
        ASSERT_NE(lineOf(rough, "unit of the file"), nullptr) << "never silent";
        EXPECT_THAT(lineOf(rough, "unit of the file")->action, HasSubstr(name));
    }
    EXPECT_FALSE(unitIsDoubtful(stone));
    IntakeRequest none;
    none.unit_mm = 0.0;
    EXPECT_THROW(takeInAsked(stone, none), Error);
}

TEST(Holes, AreClosedOnlyWhenAsked) {
    TriangleMesh open = octahedronStone(8.0, 3).rough.mesh;
    const double whole = octahedronStone(8.0, 3).rough.volume_mm3;
    // Two holes in flat faces: what closes them is flat, so the volume comes back exactly.
    const auto middle = [&](const std::array<std::uint32_t, 3>& t) {
        return Vector3d((open.vertices[t[0]] + open.vertices[t[1]] + open.vertices[t[2]]) / 3.0);
    };
    std::erase_if(open.triangles, [&](const auto& t) {
        return (middle(t) - Vector3d(2, 2, 1.6)).norm() < 1.2 ||
               (middle(t) - Vector3d(-2, -2, -1.6)).norm() < 0.8;
    });
    EXPECT_THROW(takeIn(open), Error);
    const ScanChoices choices = choicesFor(open);
    ASSERT_EQ(choices.holes_mm.size(), 2u);
    EXPECT_TRUE(choices.shells.empty());
    IntakeRequest request;
    request.closeHoles = true;
    const Rough rough = takeInAsked(open, request);
    EXPECT_NEAR(rough.volume_mm3 / whole, 1.0, 1e-9);
    const Finding* line = lineOf(rough, "holes");
    ASSERT_NE(line, nullptr);
    EXPECT_EQ(line->count, 2);
    EXPECT_THAT(line->action, HasSubstr("as asked"));
    EXPECT_EQ(line->places.size(), 2u);
    // A closed scan has none, and no line about them.
    EXPECT_EQ(lineOf(takeInAsked(octahedronStone(8.0).rough.mesh, request), "holes"), nullptr);
    EXPECT_TRUE(choicesFor(octahedronStone(8.0).rough.mesh).holes_mm.empty());
}

TEST(Holes, ThatTouchAreLeftToTheScanner) {
    // Two faces that have one corner in common.
    TriangleMesh open = shapes::octahedron(8.0);
    open.triangles.erase(open.triangles.begin() + 2);
    open.triangles.erase(open.triangles.begin());
    IntakeRequest request;
    request.closeHoles = true;
    try {
        takeInAsked(open, request);
        FAIL() << "holes that touch were closed";
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), ErrorCode::BadInput);
        EXPECT_THAT(error.message(), HasSubstr("touch"));
    }
    EXPECT_TRUE(choicesFor(open).holes_mm.empty()) << "nothing is offered that would fail";
}

TEST(Shells, OneIsTakenWhenChosen) {
    const TriangleMesh small = octahedronStone(1.0).rough.mesh;
    const TriangleMesh file =
        joined(scaled(small, 1.0, {9, 0, 0}), joined(octahedronStone(8.0).rough.mesh, small));
    EXPECT_THROW(takeIn(file), Error);
    const ScanChoices choices = choicesFor(file);
    ASSERT_EQ(choices.shells.size(), 3u);
    EXPECT_NEAR(choices.shells[1].volume_mm3, 512.0 * std::sqrt(2.0) / 3.0, 1e-9);
    EXPECT_EQ(choices.shells[1].triangles, 8);
    IntakeRequest request;
    request.shell = 1;
    const Rough rough = takeInAsked(file, request);
    EXPECT_NEAR(rough.volume_mm3, choices.shells[1].volume_mm3, 1e-9);
    ASSERT_NE(lineOf(rough, "other shells"), nullptr);
    EXPECT_EQ(lineOf(rough, "other shells")->count, 2);
    request.shell = 3;
    EXPECT_THROW(takeInAsked(file, request), Error);
}

}  // namespace
}  // namespace macle
