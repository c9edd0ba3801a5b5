#include "core/archive/stone_file.h"

#include <fcntl.h>
#include <unistd.h>

#include <bit>
#include <cmath>
#include <cstring>
#include <nlohmann/json.hpp>
#include <system_error>

#include "core/archive/database.h"
#include "core/base/error.h"
#include "core/stone/intake.h"

namespace macle {
namespace {

namespace fs = std::filesystem;
using archive::Database;
using archive::Statement;
using Eigen::Vector3d;

static_assert(std::endian::native == std::endian::little, "blobs are written little endian");

constexpr long long kApplicationId = 0x4D61636C;  // "Macl"
constexpr long long kSchemaVersion = 1;

constexpr const char* kSchema = R"(
CREATE TABLE stone(
  name TEXT NOT NULL, material TEXT NOT NULL, scale_ct REAL,
  vertices_mm BLOB NOT NULL, triangles BLOB NOT NULL, report TEXT NOT NULL);
CREATE TABLE defect(
  position INTEGER PRIMARY KEY, name TEXT NOT NULL, kind TEXT NOT NULL, severity INTEGER NOT NULL,
  policy TEXT NOT NULL, cluster INTEGER NOT NULL, shape TEXT NOT NULL,
  numbers BLOB NOT NULL, triangles BLOB NOT NULL);
CREATE TABLE cluster(position INTEGER PRIMARY KEY, name TEXT NOT NULL);
CREATE TABLE layout(
  position INTEGER PRIMARY KEY, name TEXT NOT NULL, cut TEXT NOT NULL, proportions TEXT NOT NULL,
  size_mm REAL NOT NULL, rotation_w REAL NOT NULL, rotation_x REAL NOT NULL,
  rotation_y REAL NOT NULL, rotation_z REAL NOT NULL, x_mm REAL NOT NULL, y_mm REAL NOT NULL,
  z_mm REAL NOT NULL, allowance_mm REAL NOT NULL);
)";

[[noreturn]] void damaged(const std::string& what) {
    throw Error(ErrorCode::BadInput, "The stone file is damaged: " + what + ".",
                "Use a copy of it or take the stone in again from its scan.");
}

template <class T>
std::span<const std::byte> bytesOf(const std::vector<T>& items) {
    return std::as_bytes(std::span<const T>(items));
}

template <class T>
std::vector<T> itemsOf(std::span<const std::byte> blob, const char* what) {
    if (blob.size() % sizeof(T) != 0) damaged(std::string("the ") + what + " are cut short");
    std::vector<T> items(blob.size() / sizeof(T));
    if (!items.empty()) std::memcpy(items.data(), blob.data(), blob.size());
    return items;
}

std::vector<double> flatten(const std::vector<Vector3d>& points) {
    std::vector<double> numbers;
    numbers.reserve(points.size() * 3);
    for (const Vector3d& p : points)
        numbers.insert(numbers.end(), {p.x(), p.y(), p.z()});
    return numbers;
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

nlohmann::json toJson(const IntakeReport& report) {
    nlohmann::json findings = nlohmann::json::array();
    for (const Finding& finding : report.findings) {
        nlohmann::json places = nlohmann::json::array();
        for (const Vector3d& p : finding.places)
            places.push_back({p.x(), p.y(), p.z()});
        findings.push_back({{"what", finding.what},
                            {"count", finding.count},
                            {"action", finding.action},
                            {"places_mm", places}});
    }
    return {{"triangles_read", report.trianglesRead},
            {"triangles_kept", report.trianglesKept},
            {"closed", report.closed},
            {"findings", findings}};
}

IntakeReport reportFrom(const nlohmann::json& json) {
    IntakeReport report;
    report.trianglesRead = json.at("triangles_read").get<long long>();
    report.trianglesKept = json.at("triangles_kept").get<long long>();
    report.closed = json.at("closed").get<bool>();
    for (const auto& item : json.at("findings")) {
        Finding finding;
        finding.what = item.at("what").get<std::string>();
        finding.count = item.at("count").get<long long>();
        finding.action = item.at("action").get<std::string>();
        for (const auto& place : item.at("places_mm"))
            finding.places.emplace_back(place.at(0).get<double>(), place.at(1).get<double>(),
                                        place.at(2).get<double>());
        report.findings.push_back(std::move(finding));
    }
    return report;
}

// A failing JSON text inside the file is damage of the file.
template <class Read>
auto fromJsonText(const std::string& text, const char* what, Read read) {
    try {
        return read(nlohmann::json::parse(text));
    } catch (const nlohmann::json::exception& fault) {
        damaged(std::string("the ") + what + " cannot be read (" + fault.what() + ")");
    }
}

void writeStone(Database& db, const Stone& stone) {
    Statement row(db, "INSERT INTO stone VALUES(?,?,?,?,?,?)");
    const std::vector<double> vertices = flatten(stone.rough.mesh.vertices);
    row.bind(1, stone.name).bind(2, stone.material.name);
    if (stone.scale_ct)
        row.bind(3, *stone.scale_ct);
    else
        row.bindNull(3);
    row.bindBlob(4, bytesOf(vertices)).bindBlob(5, bytesOf(stone.rough.mesh.triangles));
    row.bind(6, toJson(stone.rough.report).dump());
    row.step();

    Statement cluster(db, "INSERT INTO cluster VALUES(?,?)");
    for (std::size_t i = 0; i < stone.clusters.size(); ++i) {
        cluster.bind(1, static_cast<long long>(i)).bind(2, stone.clusters[i].name).step();
        cluster.reset();
    }
}

void writeDefect(Statement& row, long long position, const Defect& defect) {
    std::string shape;
    std::vector<double> numbers;
    std::vector<std::array<std::uint32_t, 3>> triangles;
    if (const auto* e = std::get_if<Ellipsoid>(&defect.shape)) {
        shape = "ellipsoid";
        numbers = flatten({e->centre_mm, e->halfAxes_mm});
        numbers.insert(numbers.end(),
                       {e->rotation.w(), e->rotation.x(), e->rotation.y(), e->rotation.z()});
    } else if (const auto* s = std::get_if<Sheet>(&defect.shape)) {
        shape = "sheet";
        numbers = flatten(s->corners_mm);
    } else {
        const auto& mesh = std::get<TriangleMesh>(defect.shape);
        shape = "mesh";
        numbers = flatten(mesh.vertices);
        triangles = mesh.triangles;
    }
    row.bind(1, position).bind(2, defect.name).bind(3, std::string(kindName(defect.kind)));
    row.bind(4, static_cast<long long>(defect.severity));
    row.bind(5, std::string(policyName(defect.policy)));
    row.bind(6, static_cast<long long>(defect.cluster)).bind(7, shape);
    row.bindBlob(8, bytesOf(numbers)).bindBlob(9, bytesOf(triangles));
    row.step();
    row.reset();
}

void writeLayout(Statement& row, long long position, const Layout& layout) {
    const Placement& p = layout.placement;
    row.bind(1, position).bind(2, layout.name).bind(3, layout.cut);
    row.bind(4, nlohmann::json(layout.proportions).dump()).bind(5, p.size_mm);
    row.bind(6, p.rotation.w())
        .bind(7, p.rotation.x())
        .bind(8, p.rotation.y())
        .bind(9, p.rotation.z());
    row.bind(10, p.translation_mm.x())
        .bind(11, p.translation_mm.y())
        .bind(12, p.translation_mm.z());
    row.bind(13, layout.rules.allowance_mm);
    row.step();
    row.reset();
}

Stone readStone(Database& db) {
    Statement row(db, "SELECT name, material, scale_ct, vertices_mm, triangles, report FROM stone");
    if (!row.step()) damaged("it holds no stone");
    Stone stone;
    stone.name = row.text(0);
    stone.material = loadMaterial(row.text(1));
    stone.scale_ct = row.realOrNull(2);
    TriangleMesh mesh;
    mesh.vertices = pointsOf(itemsOf<double>(row.blob(3), "corners"), "corners");
    mesh.triangles = trianglesOf(row.blob(4), mesh.vertices.size());
    // The file is as untrusted as a scan: the same gate decides.
    stone.rough = takeIn(mesh);
    stone.rough.report = fromJsonText(row.text(5), "intake report", reportFrom);
    if (row.step()) damaged("it holds two stones");

    Statement cluster(db, "SELECT name FROM cluster ORDER BY position");
    while (cluster.step())
        stone.clusters.push_back({cluster.text(0), {}});
    return stone;
}

Defect readDefect(const Statement& row) {
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

Layout readLayout(const Statement& row) {
    Layout layout;
    layout.name = row.text(0);
    layout.cut = row.text(1);
    layout.proportions = fromJsonText(row.text(2), "proportions", [](const nlohmann::json& json) {
        return json.get<std::map<std::string, double>>();
    });
    layout.placement.size_mm = row.real(3);
    layout.placement.rotation = {row.real(4), row.real(5), row.real(6), row.real(7)};
    layout.placement.translation_mm = {row.real(8), row.real(9), row.real(10)};
    layout.rules.allowance_mm = row.real(11);
    if (layout.placement.size_mm <= 0.0 || layout.rules.allowance_mm < 0.0 ||
        std::abs(layout.placement.rotation.norm() - 1.0) > 1e-6)
        damaged("a placement is not one");
    return layout;
}

void syncFolder(const fs::path& folder) {
    const int fd = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd < 0) return;
    ::fsync(fd);
    ::close(fd);
}

}  // namespace

StoneFile openStoneFile(const fs::path& file) {
    if (!fs::is_regular_file(file))
        throw Error(ErrorCode::NotFound, file.string() + " is not a file.", "Check its name.");
    Database db(file, Database::Mode::ReadUntrusted);
    if (db.number("PRAGMA application_id") != kApplicationId)
        throw Error(ErrorCode::BadInput, file.string() + " is a database, but not a stone file.",
                    "Choose a file that Macle has saved.");
    const long long version = db.number("PRAGMA user_version");
    if (version > kSchemaVersion)
        throw Error(ErrorCode::BadInput,
                    file.string() + " was saved by a newer Macle (form " + std::to_string(version) +
                        "; this one reads up to " + std::to_string(kSchemaVersion) + ").",
                    "Open it with the newer program.");
    if (version < 1) damaged("its form number is " + std::to_string(version));
    if (db.number("SELECT count(*) FROM sqlite_schema WHERE type IN ('trigger', 'view')") != 0)
        throw Error(ErrorCode::BadInput,
                    file.string() + " holds triggers or views, which no stone file has.",
                    "Do not trust this file; ask its sender for another.");
    {
        Statement check(db, "PRAGMA quick_check(1)");
        if (!check.step() || check.text(0) != "ok") damaged(check.text(0));
    }

    StoneFile content;
    content.stone = readStone(db);
    Statement defects(db,
                      "SELECT name, kind, severity, policy, cluster, shape, numbers, triangles "
                      "FROM defect ORDER BY position");
    while (defects.step()) {
        Defect defect = readDefect(defects);
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
        content.layouts.push_back(readLayout(layouts));
    return content;
}

void saveStoneFile(const StoneFile& content, const fs::path& file) {
    const fs::path fresh = file.string() + ".saving-" + std::to_string(::getpid());
    std::error_code ignored;
    fs::remove(fresh, ignored);
    try {
        {
            Database db(fresh, Database::Mode::CreateNew);
            db.run("PRAGMA synchronous = FULL");
            db.run("PRAGMA application_id = " + std::to_string(kApplicationId));
            db.run("BEGIN");
            db.run(kSchema);
            db.run("PRAGMA user_version = " + std::to_string(kSchemaVersion));
            writeStone(db, content.stone);
            Statement defect(db, "INSERT INTO defect VALUES(?,?,?,?,?,?,?,?,?)");
            for (std::size_t i = 0; i < content.stone.defects.size(); ++i)
                writeDefect(defect, static_cast<long long>(i), content.stone.defects[i]);
            Statement layout(db, "INSERT INTO layout VALUES(?,?,?,?,?,?,?,?,?,?,?,?,?)");
            for (std::size_t i = 0; i < content.layouts.size(); ++i)
                writeLayout(layout, static_cast<long long>(i), content.layouts[i]);
            db.run("COMMIT");
        }
        fs::rename(fresh, file);
        syncFolder(fs::absolute(file).parent_path());
    } catch (const fs::filesystem_error& fault) {
        fs::remove(fresh, ignored);
        throw Error(ErrorCode::Io,
                    "Could not save " + file.string() + ": " + fault.code().message() + ".",
                    "The file is as it was. Choose another folder or make room.");
    } catch (...) {
        fs::remove(fresh, ignored);
        throw;
    }
}

StoneFile openStone(const fs::path& file, Progress* progress) {
    if (file.extension() == ".macle") return openStoneFile(file);
    StoneFile content;
    content.stone.material = loadMaterial("diamond");
    content.stone.rough = takeInFile(file, progress);
    content.stone.name = file.stem().string();
    return content;
}

}  // namespace macle
