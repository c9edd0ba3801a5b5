#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "core/base/error.h"
#include "core/stone/defect.h"
#include "core/stone/mesh_file.h"
#include "tests/core/stone/shapes.h"

namespace macle {
namespace {

using Eigen::Vector3d;
using shapes::ScratchFolder;
using testing::HasSubstr;

std::vector<Defect> someDefects() {
    Defect crystal;
    crystal.name = "dark crystal \"A\" \xC3\xA9";
    crystal.kind = DefectKind::Crystal;
    crystal.severity = 5;
    crystal.shape = Ellipsoid{{1.0 / 3.0, 2, -3},
                              {0.1, 0.2, 0.3},
                              Eigen::Quaterniond(Eigen::AngleAxisd(0.4, Vector3d::UnitY()))};
    Defect crack;
    crack.name = "crack";
    crack.kind = DefectKind::Crack;
    crack.severity = 1;
    crack.policy = DefectPolicy::MayStay;
    crack.margin_mm = 0.15;
    crack.shape = Sheet{{{0, 0, 0}, {1, 0, 1}, {1, 1, 1}, {0, 1, 0}}};
    Defect cloud;
    cloud.name = "cloud";
    cloud.kind = DefectKind::Cloud;
    cloud.shape = shapes::octahedron(0.7);
    return {crystal, crack, cloud};
}

TEST(DefectFile, AListComesBackAsWritten) {
    const ScratchFolder folder;
    const auto defects = someDefects();
    writeDefects(defects, folder / "a.json");
    const auto back = readDefects(folder / "a.json");
    ASSERT_EQ(back.size(), 3u);
    for (std::size_t i = 0; i < 3; ++i) {
        EXPECT_EQ(back[i].name, defects[i].name);
        EXPECT_EQ(back[i].kind, defects[i].kind);
        EXPECT_EQ(back[i].severity, defects[i].severity);
        EXPECT_EQ(back[i].policy, defects[i].policy);
        EXPECT_EQ(back[i].margin_mm, defects[i].margin_mm);
        EXPECT_EQ(back[i].cluster, -1);
        EXPECT_EQ(back[i].shape.index(), defects[i].shape.index());
    }
    const auto& e = std::get<Ellipsoid>(back[0].shape);
    const auto& given = std::get<Ellipsoid>(defects[0].shape);
    EXPECT_EQ(e.centre_mm, given.centre_mm);
    EXPECT_EQ(e.halfAxes_mm, given.halfAxes_mm);
    EXPECT_LT(e.rotation.angularDistance(given.rotation), 1e-15);
    EXPECT_EQ(std::get<Sheet>(back[1].shape).corners_mm,
              std::get<Sheet>(defects[1].shape).corners_mm);
    EXPECT_EQ(std::get<TriangleMesh>(back[2].shape).vertices,
              std::get<TriangleMesh>(defects[2].shape).vertices);
    EXPECT_EQ(std::get<TriangleMesh>(back[2].shape).triangles,
              std::get<TriangleMesh>(defects[2].shape).triangles);
}

TEST(DefectFile, WhatIsLeftOutHasADefault) {
    const ScratchFolder folder;
    const auto defects = readDefects(folder.write(
        "a.JSON", R"({"defects": [{"shape": {"type": "ellipsoid", "centre_mm": [1, 2, 3],
                     "half_axes_mm": [1, 1, 1]}}]})"));
    ASSERT_EQ(defects.size(), 1u);
    EXPECT_EQ(defects[0].name, "defect 1");
    EXPECT_EQ(defects[0].kind, DefectKind::Other);
    EXPECT_EQ(defects[0].severity, 3);
    EXPECT_EQ(defects[0].policy, DefectPolicy::MustBeCutAway);
    EXPECT_TRUE(readDefects(folder.write("b.json", R"({"defects": []})")).empty());
}

TEST(DefectFile, EachShellOfAMeshFileIsADefect) {
    const ScratchFolder folder;
    writeMeshFile(
        shapes::together(shapes::box({0, 0, 0}, {1, 1, 1}), shapes::box({4, 0, 0}, {6, 1, 1})),
        folder / "a.stl");
    const auto defects = readDefects(folder / "a.stl");
    ASSERT_EQ(defects.size(), 2u);
    EXPECT_EQ(defects[0].name, "defect 1");
    EXPECT_EQ(defects[1].name, "defect 2");
    EXPECT_NEAR(defectVolume_mm3(defects[1]), 2.0, 1e-12);
}

std::string refusalOf(const std::filesystem::path& file) {
    try {
        readDefects(file);
    } catch (const Error& fault) {
        EXPECT_EQ(fault.code(), ErrorCode::BadInput);
        EXPECT_FALSE(fault.remedy().empty());
        return fault.what();
    }
    return "no error";
}

TEST(DefectFile, FaultsNameTheEntryAndTheField) {
    const ScratchFolder folder;
    const std::string ball =
        R"("type": "ellipsoid", "centre_mm": [0, 0, 0], "half_axes_mm": [1, 1, 1])";
    const std::string good = R"({"shape": {)" + ball + "}}";
    const auto second = [&](const std::string& entry) {
        return R"({"defects": [)" + good + ",\n" + entry + "]}";
    };
    const auto shaped = [&](const std::string& shape) {
        return second(R"({"shape": {)" + shape + "}}");
    };
    const std::vector<std::pair<std::string, std::string>> table = {
        {"", "line 1: this is not readable as JSON"},
        {"{\n\"defects\": [\n,]}", "line 3: this is not readable as JSON"},
        {std::string(200000, '['), "this is not readable as JSON"},
        {"[]", "it must be an object"},
        {"{}", "defects: it is missing"},
        {R"({"defects": 3})", "defects: it must be a list"},
        {R"({"defects": [], "faults": []})", "there is no field 'faults' here"},
        {second("7"), "defect 2: it must be an object"},
        {second("{}"), "defect 2, shape: it is missing"},
        {second(R"({"severty": 3, "shape": {)" + ball + "}}"),
         "defect 2: there is no field 'severty' here"},
        {second(R"({"name": 3, "shape": {)" + ball + "}}"), "defect 2, name: it must be a text"},
        {second(R"({"kind": "knot", "shape": {)" + ball + "}}"),
         "defect 2, kind: There is no kind of defect called 'knot'. Use one of: crystal, "},
        {second(R"({"policy": "hide", "shape": {)" + ball + "}}"),
         "defect 2, policy: There is no policy called 'hide'"},
        {second(R"({"severity": 6, "shape": {)" + ball + "}}"),
         "defect 2, severity: it must be from 1 (slight) to 5 (severe)"},
        {second(R"({"severity": 2.5, "shape": {)" + ball + "}}"),
         "defect 2, severity: it must be a whole number"},
        {second(R"({"severity": 18446744073709551615, "shape": {)" + ball + "}}"),
         "defect 2, severity: it must be from"},
        {second(R"({"shape": []})"), "defect 2, shape: it must be an object"},
        {shaped(R"("type": "cone")"), "defect 2, shape.type: 'cone' is none of"},
        {shaped(R"("type": "ellipsoid", "half_axes_mm": [1, 1, 1])"),
         "defect 2, shape.centre_mm: it is missing"},
        {shaped(R"("type": "ellipsoid", "centre_mm": [0, 0], "half_axes_mm": [1, 1, 1])"),
         "defect 2, shape.centre_mm: it must be a list of 3 numbers"},
        {shaped(R"("type": "ellipsoid", "centre_mm": [0, 0, "0"], "half_axes_mm": [1, 1, 1])"),
         "defect 2, shape.centre_mm[2]: it must be a number"},
        {shaped(R"("type": "ellipsoid", "centre_mm": [0, 0, 1e30], "half_axes_mm": [1, 1, 1])"),
         "defect 2, shape.centre_mm[2]: it must be between"},
        {shaped(R"("type": "ellipsoid", "centre_mm": [0, 0, 1e999], "half_axes_mm": [1, 1, 1])"),
         "a number is too large"},
        {shaped(R"("type": "ellipsoid", "centre_mm": [0, 0, 0], "half_axes_mm": [1, 0, 1])"),
         "defect 2, shape.half_axes_mm: each half-axis must be above zero"},
        {shaped(ball + R"(, "rotation_wxyz": [0, 0, 0, 0])"),
         "defect 2, shape.rotation_wxyz: it must be a quaternion of length 1"},
        {shaped(R"("type": "sheet", "corners_mm": [[0, 0, 0], [1, 0, 0]])"),
         "defect 2, shape.corners_mm: a sheet needs at least 3 corners"},
        {shaped(R"("type": "sheet", "corners_mm": [[0, 0, 0], [1, 0, 0], [1]])"),
         "defect 2, shape.corners_mm[2]: it must be a list of 3 numbers"},
        {shaped(R"("type": "mesh", "vertices_mm": [[0, 0, 0]], "triangles": [[0, 1, 2]])"),
         "defect 2, shape.triangles[0]: a corner is not the number of a vertex"},
        {shaped(R"("type": "mesh", "vertices_mm": [[0, 0, 0]], "triangles": [[0, 0, -1]])"),
         "defect 2, shape.triangles[0]: a corner is not the number of a vertex"},
        {shaped(R"("type": "mesh", "vertices_mm": [[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]],
                  "triangles": [[0, 2, 1], [0, 1, 3], [0, 3, 2]])"),
         "defect 2, shape: The surface is open: 3 edges"},
    };
    for (const auto& [text, fragment] : table) {
        const std::string message = refusalOf(folder.write("list.json", text));
        EXPECT_THAT(message, HasSubstr(fragment)) << text.substr(0, 200);
        EXPECT_THAT(message, HasSubstr("list.json"));
    }
}

TEST(DefectFile, AMeshDefectMustBeOneShell) {
    const ScratchFolder folder;
    Defect defect;
    defect.name = "two";
    defect.shape =
        shapes::together(shapes::box({0, 0, 0}, {1, 1, 1}), shapes::box({4, 0, 0}, {6, 1, 1}));
    writeDefects({defect}, folder / "a.json");
    EXPECT_THAT(refusalOf(folder / "a.json"), HasSubstr("it holds 2 separate shells, not one"));
}

TEST(DefectFile, AnOpenMeshFileIsRefusedByName) {
    const std::string file = std::string(MACLE_TEST_DATA) + "/bad/open.obj";
    EXPECT_THAT(refusalOf(file), HasSubstr("open.obj: The surface is open"));
}

TEST(DefectFile, TheSchemaNamesTheSameWordsAndFields) {
    const auto schema = nlohmann::json::parse(
        shapes::bytesOf(std::filesystem::path(MACLE_SCHEMAS) / "defects.schema.json"));
    const auto& fields = schema["$defs"]["defect"]["properties"];
    for (const auto& kind : fields["kind"]["enum"])
        EXPECT_EQ(kindName(kindFromName(kind.get<std::string>())), kind.get<std::string>());
    EXPECT_EQ(fields["kind"]["enum"].size(), 7u);
    for (const auto& policy : fields["policy"]["enum"])
        EXPECT_EQ(policyName(policyFromName(policy.get<std::string>())), policy.get<std::string>());
    EXPECT_EQ(fields["policy"]["enum"].size(), 3u);

    // What is written uses no field that the schema does not have, and all that it requires.
    const ScratchFolder folder;
    writeDefects(someDefects(), folder / "a.json");
    const auto list = nlohmann::json::parse(shapes::bytesOf(folder / "a.json"));
    for (const auto& defect : list["defects"]) {
        for (const auto& field : defect.items())
            EXPECT_TRUE(fields.contains(field.key()));
        const auto& shape = defect["shape"];
        const auto& form = schema["$defs"][shape["type"].get<std::string>()];
        for (const auto& field : shape.items())
            EXPECT_TRUE(form["properties"].contains(field.key())) << field.key();
        for (const auto& name : form["required"])
            EXPECT_TRUE(shape.contains(name.get<std::string>())) << name;
    }
}

}  // namespace
}  // namespace macle
