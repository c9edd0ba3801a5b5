// Form 1: tables of defects, clusters and layouts, no history, no approvals.
#include <array>
#include <cmath>
#include <cstring>

#include "core/archive/state_json.h"
#include "core/archive/stone_rows.h"
#include "core/archive/upgrade.h"
#include "core/base/error.h"

namespace macle::archive {
namespace {

using Eigen::Vector3d;

template <class T>
std::vector<T> itemsOf(std::span<const std::byte> blob, const char* what) {
    if (blob.size() % sizeof(T) != 0) damaged(std::string("the ") + what + " are cut short");
    std::vector<T> items(blob.size() / sizeof(T));
    if (!items.empty()) std::memcpy(items.data(), blob.data(), blob.size());
    return items;
}

std::vector<Vector3d> pointsOf(const std::vector<double>& numbers, const char* what) {
    if (numbers.size() % 3 != 0) damaged(std::string("the ") + what + " are cut short");
    std::vector<Vector3d> points(numbers.size() / 3);
    for (std::size_t i = 0; i < points.size(); ++i) {
        points[i] = {numbers[3 * i], numbers[3 * i + 1], numbers[3 * i + 2]};
        if (!points[i].allFinite()) damaged(std::string("the ") + what + " are not all finite");
    }
    return points;
}

std::vector<std::array<std::uint32_t, 3>> trianglesOf(std::span<const std::byte> blob,
                                                      std::size_t vertices) {
    auto triangles = itemsOf<std::array<std::uint32_t, 3>>(blob, "triangles");
    for (const auto& triangle : triangles)
        for (const std::uint32_t corner : triangle)
            if (corner >= vertices) damaged("a triangle names a corner that does not exist");
    return triangles;
}

Stone stoneOf(Database& db) {
    Statement row(db, "SELECT name, material, scale_ct, vertices_mm, triangles, report FROM stone");
    if (!row.step()) damaged("it holds no stone");
    Stone stone;
    stone.name = row.text(0);
    stone.material = loadMaterial(row.text(1));
    stone.scale_ct = row.realOrNull(2);
    TriangleMesh mesh;
    mesh.vertices = pointsOf(itemsOf<double>(row.blob(3), "corners"), "corners");
    mesh.triangles = trianglesOf(row.blob(4), mesh.vertices.size());
    // Checked like a scan when the upgraded rows are read.
    stone.rough.mesh = std::move(mesh);
    stone.rough.report = reportFrom(row.text(5));
    if (row.step()) damaged("it holds two stones");

    Statement cluster(db, "SELECT name FROM cluster ORDER BY position");
    while (cluster.step())
        stone.clusters.push_back({cluster.text(0), {}});
    return stone;
}

Defect defectOf(const Statement& row) {
    Defect defect;
    defect.name = row.text(0);
    defect.kind = kindFromName(row.text(1));
    defect.severity = static_cast<int>(row.integer(2));
    if (defect.severity < 1 || defect.severity > 5) damaged("a severity is not between 1 and 5");
    defect.policy = policyFromName(row.text(3));
    defect.cluster = static_cast<int>(row.integer(4));
    const std::string shape = row.text(5);
    const auto numbers = itemsOf<double>(row.blob(6), "numbers of a defect");
    if (shape == "ellipsoid") {
        if (numbers.size() != 10) damaged("an ellipsoid needs ten numbers");
        for (const double number : numbers)
            if (!std::isfinite(number)) damaged("an ellipsoid has a number that is not finite");
        Ellipsoid e;
        e.centre_mm = {numbers[0], numbers[1], numbers[2]};
        e.halfAxes_mm = {numbers[3], numbers[4], numbers[5]};
        e.rotation = Eigen::Quaterniond(numbers[6], numbers[7], numbers[8], numbers[9]);
        if (e.halfAxes_mm.minCoeff() <= 0.0 || std::abs(e.rotation.norm() - 1.0) > 1e-6)
            damaged("an ellipsoid is not one");
        defect.shape = e;
    } else if (shape == "sheet") {
        defect.shape = Sheet{pointsOf(numbers, "corners of a sheet")};
    } else if (shape == "mesh") {
        TriangleMesh mesh;
        mesh.vertices = pointsOf(numbers, "corners of a defect");
        mesh.triangles = trianglesOf(row.blob(7), mesh.vertices.size());
        defect.shape = std::move(mesh);
    } else {
        damaged("a defect has the unknown shape '" + shape + "'");
    }
    // Builds the surface once, so that a bad shape is refused here and not in the middle of a fit.
    if (defectSurface(defect).empty()) damaged("a defect has no surface");
    return defect;
}

Layout layoutOf(const Statement& row) {
    Layout layout;
    layout.name = row.text(0);
    PlannedStone& stone = layout.main();
    stone.cut = row.text(1);
    try {
        stone.proportions = parse(row.text(2), "proportions").get<std::map<std::string, double>>();
    } catch (const Json::exception& fault) {
        damaged(std::string("the proportions cannot be read (") + fault.what() + ")");
    }
    stone.placement.size_mm = row.real(3);
    stone.placement.rotation = {row.real(4), row.real(5), row.real(6), row.real(7)};
    stone.placement.translation_mm = {row.real(8), row.real(9), row.real(10)};
    stone.rules.allowance_mm = row.real(11);
    if (stone.placement.size_mm <= 0.0 || stone.rules.allowance_mm < 0.0 ||
        std::abs(stone.placement.rotation.norm() - 1.0) > 1e-6)
        damaged("a placement is not one");
    return layout;
}

StoneFile contentOf(Database& db) {
    StoneFile content;
    content.stone = stoneOf(db);
    Statement defects(db,
                      "SELECT name, kind, severity, policy, cluster, shape, numbers, triangles "
                      "FROM defect ORDER BY position");
    while (defects.step()) {
        Defect defect = defectOf(defects);
        const auto clusters = static_cast<int>(content.stone.clusters.size());
        if (defect.cluster < -1 || defect.cluster >= clusters)
            damaged("a defect names a cluster that does not exist");
        if (defect.cluster >= 0)
            content.stone.clusters[static_cast<std::size_t>(defect.cluster)].members.push_back(
                static_cast<int>(content.stone.defects.size()));
        content.stone.defects.push_back(std::move(defect));
    }
    Statement layouts(db,
                      "SELECT name, cut, proportions, size_mm, rotation_w, rotation_x, rotation_y, "
                      "rotation_z, x_mm, y_mm, z_mm, allowance_mm FROM layout ORDER BY position");
    while (layouts.step())
        content.layouts.push_back(layoutOf(layouts));
    return content;
}

void upgradeFrom1(Database& db) {
    const StoneFile content = contentOf(db);
    for (const char* table : {"stone", "defect", "cluster", "layout"})
        db.run(std::string("DROP TABLE ") + table);
    createAndWrite(db, content);
}

}  // namespace

void upgrade(Database& db, long long form) {
    // One step per form, in order; each leaves the next one.
    if (form == 1) upgradeFrom1(db);
    // Form 2 is form 3 without facet edits in its layouts, and form 3 is form 4 without saws and
    // further stones.
    if (form == 2 || form == 3) db.run("PRAGMA user_version = " + std::to_string(kSchemaVersion));
}

}  // namespace macle::archive
