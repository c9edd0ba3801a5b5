#include "core/archive/stone_rows.h"

#include <algorithm>
#include <cstring>

#include "core/archive/state_json.h"
#include "core/base/error.h"
#include "core/base/sha256.h"
#include "core/stone/intake.h"

namespace macle::archive {
namespace {

constexpr const char* kSchema = R"(
CREATE TABLE surface(name TEXT PRIMARY KEY, vertices_mm BLOB NOT NULL, triangles BLOB NOT NULL);
CREATE TABLE stone(
  rough TEXT NOT NULL, report TEXT NOT NULL, state TEXT NOT NULL, done INTEGER NOT NULL,
  seal TEXT NOT NULL);
CREATE TABLE step(
  position INTEGER PRIMARY KEY, name TEXT NOT NULL, at_utc TEXT NOT NULL, undo TEXT NOT NULL,
  redo TEXT NOT NULL, seal TEXT NOT NULL);
CREATE TABLE approval(position INTEGER PRIMARY KEY, snapshot TEXT NOT NULL, sha256 TEXT NOT NULL);
)";

template <class T>
std::vector<T> itemsOf(std::span<const std::byte> blob, const char* what) {
    if (blob.size() % sizeof(T) != 0) damaged(std::string("the ") + what + " are cut short");
    std::vector<T> items(blob.size() / sizeof(T));
    if (!items.empty()) std::memcpy(static_cast<void*>(items.data()), blob.data(), blob.size());
    return items;
}

void insertSurface(Database& db, const std::string& name, const TriangleMesh& surface) {
    Statement row(db, "INSERT INTO surface VALUES(?,?,?)");
    row.bind(1, name)
        .bindBlob(2, std::as_bytes(std::span(surface.vertices)))
        .bindBlob(3, std::as_bytes(std::span(surface.triangles)));
    row.step();
}

std::string sealOfStep(const std::string& name, const std::string& at, const std::string& undo,
                       const std::string& redo) {
    Sha256 sum;
    for (const std::string* text : {&name, &at, &undo, &redo}) {
        sum.add(std::to_string(text->size()) + ' ');
        sum.add(*text);
    }
    return sum.hex();
}

void insertSteps(Database& db, const std::vector<std::shared_ptr<const Step>>& steps,
                 std::size_t from) {
    Statement row(db, "INSERT INTO step VALUES(?,?,?,?,?,?)");
    for (std::size_t i = from; i < steps.size(); ++i) {
        const Step& step = *steps[i];
        row.bind(1, static_cast<long long>(i)).bind(2, step.name).bind(3, step.at_utc);
        row.bind(4, step.undo).bind(5, step.redo);
        row.bind(6, sealOfStep(step.name, step.at_utc, step.undo, step.redo));
        row.step();
        row.reset();
    }
}

void insertApprovals(Database& db, const std::vector<Approval>& approvals, std::size_t from) {
    Statement row(db, "INSERT INTO approval VALUES(?,?,?)");
    for (std::size_t i = from; i < approvals.size(); ++i) {
        row.bind(1, static_cast<long long>(i));
        row.bind(2, approvals[i].snapshot).bind(3, approvals[i].sha256);
        row.step();
        row.reset();
    }
}

// The surfaces that the state or a kept step names go onto the shelf by making the state's JSON.
std::string stateText(const StoneFile& content, SurfaceShelf& shelf) {
    const Json state = {{"stone", stoneJson(content.stone, shelf)},
                        {"layouts", layoutsJson(content.layouts)}};
    return state.dump(-1, ' ', false, Json::error_handler_t::replace);
}

void setSeal(Database& db) {
    Statement row(db, "UPDATE stone SET seal = ?");
    row.bind(1, sealOf(db)).step();
}

TriangleMesh surfaceFrom(const Statement& row) {
    TriangleMesh mesh;
    mesh.vertices = itemsOf<Eigen::Vector3d>(row.blob(1), "corners of a surface");
    mesh.triangles = itemsOf<std::array<std::uint32_t, 3>>(row.blob(2), "triangles of a surface");
    if (SurfaceShelf::nameOf(mesh) != row.text(0)) damaged("a surface is not as it was saved");
    return mesh;
}

// What is wrong with a surface is damage of the file.
template <class Check>
auto checked(Check check) {
    try {
        return check();
    } catch (const Error& fault) {
        if (fault.code() != ErrorCode::BadInput) throw;
        damaged(fault.message());
    }
}

}  // namespace

void damaged(const std::string& what) {
    throw Error(ErrorCode::BadInput,
                "The stone file is damaged: " + what + (what.ends_with('.') ? "" : "."),
                "Use a copy of it or take the stone in again from its scan.");
}

std::string reportText(const IntakeReport& report) {
    Json findings = Json::array();
    for (const Finding& finding : report.findings) {
        Json places = Json::array();
        for (const Eigen::Vector3d& p : finding.places)
            places.push_back(defect_json::asJson(p));
        findings.push_back({{"what", finding.what},
                            {"count", finding.count},
                            {"action", finding.action},
                            {"places_mm", places}});
    }
    const Json json = {{"triangles_read", report.trianglesRead},
                       {"triangles_kept", report.trianglesKept},
                       {"closed", report.closed},
                       {"findings", findings}};
    return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

IntakeReport reportFrom(const std::string& text) {
    try {
        const Json json = parse(text, "intake report");
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
                finding.places.push_back(
                    defect_json::pointOf(place, {"The intake report", 0, "places_mm"}));
            report.findings.push_back(std::move(finding));
        }
        return report;
    } catch (const Json::exception& fault) {
        damaged(std::string("the intake report cannot be read (") + fault.what() + ")");
    }
}

std::string sealOf(Database& db) {
    Sha256 sum;
    const auto add = [&](const std::string& text) {
        sum.add(std::to_string(text.size()) + ' ');
        sum.add(text);
    };
    Statement stone(db, "SELECT rough, report, state, done FROM stone");
    while (stone.step()) {
        for (int column = 0; column < 3; ++column)
            add(stone.text(column));
        add(std::to_string(stone.integer(3)));
    }
    Statement steps(db, "SELECT position, seal FROM step ORDER BY position");
    while (steps.step()) {
        add(std::to_string(steps.integer(0)));
        add(steps.text(1));
    }
    Statement approvals(db, "SELECT snapshot, sha256 FROM approval ORDER BY position");
    while (approvals.step()) {
        add(approvals.text(0));
        add(approvals.text(1));
    }
    return sum.hex();
}

void createAndWrite(Database& db, const StoneFile& content) {
    db.run("BEGIN");
    db.run("PRAGMA application_id = " + std::to_string(kApplicationId));
    db.run("PRAGMA user_version = " + std::to_string(kSchemaVersion));
    db.run(kSchema);
    const std::string rough = SurfaceShelf::nameOf(content.stone.rough.mesh);
    insertSurface(db, rough, content.stone.rough.mesh);
    SurfaceShelf shelf = content.history.surfaces;
    const std::string state = stateText(content, shelf);
    for (const auto& [name, surface] : shelf.all())
        if (name != rough) insertSurface(db, name, *surface);
    Statement row(db, "INSERT INTO stone VALUES(?,?,?,?,'')");
    row.bind(1, rough).bind(2, reportText(content.stone.rough.report)).bind(3, state);
    row.bind(4, static_cast<long long>(content.history.done));
    row.step();
    insertSteps(db, content.history.steps, 0);
    insertApprovals(db, content.approvals, 0);
    setSeal(db);
    db.run("COMMIT");
}

void RowUpdate::apply(Database& db, const StoneFile& content,
                      const std::function<void(Database&)>& more) {
    const auto& steps = content.history.steps;
    db.run("BEGIN IMMEDIATE");
    try {
        SurfaceShelf shelf = content.history.surfaces;
        const std::string state = stateText(content, shelf);
        std::set<std::string> stored = surfaces_;
        if (!known_) {
            Statement names(db, "SELECT name FROM surface");
            while (names.step())
                stored.insert(names.text(0));
        }
        for (const auto& [name, surface] : shelf.all())
            if (stored.insert(name).second) insertSurface(db, name, *surface);
        // Steps are immutable and shared, so the same object is the same step.
        std::size_t same = 0;
        while (known_ && same < steps.size() && same < steps_.size() && steps[same] == steps_[same])
            ++same;
        Statement forget(db, "DELETE FROM step WHERE position >= ?");
        forget.bind(1, static_cast<long long>(same)).step();
        insertSteps(db, steps, same);
        if (!known_) db.run("DELETE FROM approval");
        insertApprovals(db, content.approvals, known_ ? approvals_ : 0);
        Statement row(db, "UPDATE stone SET state = ?, done = ?");
        row.bind(1, state).bind(2, static_cast<long long>(content.history.done)).step();
        setSeal(db);
        more(db);
        db.run("COMMIT");
        surfaces_ = std::move(stored);
    } catch (...) {
        try {
            db.run("ROLLBACK");
        } catch (const Error&) {
            // SQLite has rolled back already, or does when the file is opened again.
        }
        known_ = false;
        throw;
    }
    steps_ = steps;
    approvals_ = content.approvals.size();
    known_ = true;
}

StoneFile readRows(Database& db) {
    StoneFile content;
    std::string rough, state;
    {
        Statement row(db, "SELECT rough, report, state, done, seal FROM stone");
        if (!row.step()) damaged("it holds no stone");
        rough = row.text(0);
        content.stone.rough.report = reportFrom(row.text(1));
        state = row.text(2);
        const long long done = row.integer(3);
        if (row.text(4) != sealOf(db)) damaged("its content is not as it was saved");
        if (done < 0) damaged("its place in the history is none");
        content.history.done = static_cast<std::size_t>(done);
        if (row.step()) damaged("it holds two stones");
    }
    {
        Statement steps(db, "SELECT name, at_utc, undo, redo, seal FROM step ORDER BY position");
        while (steps.step()) {
            Step step{steps.text(0), steps.text(1), steps.text(2), steps.text(3)};
            if (steps.text(4) != sealOfStep(step.name, step.at_utc, step.undo, step.redo))
                damaged("a step of the history is not as it was saved");
            content.history.steps.push_back(std::make_shared<const Step>(std::move(step)));
        }
        if (content.history.done > content.history.steps.size())
            damaged("its place in the history is none");
    }
    bool roughFound = false;
    Statement surfaces(db, "SELECT name, vertices_mm, triangles FROM surface ORDER BY name");
    while (surfaces.step()) {
        TriangleMesh mesh = surfaceFrom(surfaces);
        if (surfaces.text(0) == rough) {
            IntakeReport report = std::move(content.stone.rough.report);
            // The file is as untrusted as a scan: the same gate decides.
            content.stone.rough = checked([&] { return takeIn(mesh); });
            const TriangleMesh& taken = content.stone.rough.mesh;
            if (taken.vertices != mesh.vertices || taken.triangles != mesh.triangles)
                damaged("its rough is not one that was taken in");
            content.stone.rough.report = std::move(report);
            roughFound = true;
            // A defect may have the very shape of the rough.
            if (state.find(rough) == std::string::npos) continue;
        }
        const auto shells = checked([&] { return splitShells(mesh); });
        if (shells.size() != 1) damaged("a defect has several shells");
        content.history.surfaces.put(surfaces.text(0),
                                     std::make_shared<const TriangleMesh>(std::move(mesh)));
    }
    if (!roughFound) damaged("the surface of the rough is missing");
    checked([&] {
        const Json json = parse(state, "stored state");
        const defect_json::Place place{"The stored state", 0, ""};
        defect_json::allowOnly(json, place, {"stone", "layouts"});
        readStone(defect_json::need(json, place, "stone"), content.history.surfaces, content.stone);
        content.layouts = layoutsFrom(defect_json::need(json, place, "layouts"), "The stored state",
                                      &content.notes.replacedCuts);
        return 0;
    });
    Statement approvals(db, "SELECT snapshot, sha256 FROM approval ORDER BY position");
    while (approvals.step())
        content.approvals.push_back(
            checked([&] { return readApproval(approvals.text(0), approvals.text(1)); }));
    return content;
}

}  // namespace macle::archive
