#include "core/archive/draft.h"

#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cstdlib>
#include <ctime>
#include <system_error>
#include <utility>

#include "core/archive/database.h"
#include "core/archive/replace_file.h"
#include "core/archive/stone_rows.h"
#include "core/base/error.h"

namespace macle {

namespace fs = std::filesystem;
using archive::Database;
using archive::Statement;

namespace {

constexpr const char* kEnding = ".macle";
constexpr const char* kJournal = "-journal";
constexpr const char* kBegun = ".begun";  // ending of a draft until it is whole

constexpr const char* kNoteTable =
    "CREATE TABLE draft_note(file TEXT NOT NULL, saved_utc TEXT NOT NULL, "
    "changed_utc TEXT NOT NULL, stone TEXT NOT NULL)";

// A time of a file in the form of utcNow, with a fraction so that two saves in a row differ.
std::string timeOf(const fs::path& file) {
    struct stat facts {};
    if (::stat(file.c_str(), &facts) != 0) return {};
    std::tm parts{};
    gmtime_r(&facts.st_mtim.tv_sec, &parts);
    std::array<char, 32> text{};
    std::strftime(text.data(), text.size(), "%Y-%m-%dT%H:%M:%S", &parts);
    const std::string nanoseconds = std::to_string(1'000'000'000L + facts.st_mtim.tv_nsec);
    return std::string(text.data()) + "." + nanoseconds.substr(1) + "Z";
}

fs::path freshDraftName(const fs::path& folder) {
    static std::atomic<int> count{0};
    const std::string start =
        std::to_string(std::time(nullptr)) + "-" + std::to_string(::getpid()) + "-";
    fs::path name;
    do {
        name = folder / (start + std::to_string(++count) + kEnding);
    } while (fs::exists(name));
    return name;
}

void removeDraftFiles(const fs::path& draft) {
    std::error_code ignored;
    // The journal first: without its database it would mean nothing, but with another one of the
    // same name it would be taken for its own.
    fs::remove(draft.string() + kJournal, ignored);
    fs::remove(draft, ignored);
}

DraftInfo readNote(Database& db, const fs::path& draft) {
    DraftInfo info;
    info.draft = draft;
    Statement note(db, "SELECT file, saved_utc, changed_utc, stone FROM draft_note");
    if (!note.step()) archive::damaged("it has no note of its stone");
    info.of.file = fs::path(note.text(0));
    info.of.saved_utc = note.text(1);
    info.changed_utc = note.text(2);
    info.stoneName = note.text(3);
    info.fileChangedSince = !info.of.file.empty() && timeOf(info.of.file) != info.of.saved_utc;
    return info;
}

// The seal covers state, steps and approvals, so equal seals over the same rough mean equal work.
bool sameAsItsFile(Database& draft, const DraftInfo& info) {
    if (info.of.file.empty() || !fs::is_regular_file(info.of.file)) return false;
    try {
        Database file(info.of.file, Database::Mode::ReadUntrusted);
        if (file.number("PRAGMA application_id") != archive::kApplicationId ||
            file.number("PRAGMA user_version") != archive::kSchemaVersion)
            return false;
        return archive::sealOf(file) == archive::sealOf(draft);
    } catch (const Error&) {
        return false;  // then the draft is all there is
    }
}

}  // namespace

struct Draft::Rows {
    Database db;
    archive::RowUpdate update;
};

fs::path draftsFolder() {
    if (const char* given = std::getenv("MACLE_DRAFTS"); given != nullptr && *given != '\0')
        return given;
    if (const char* state = std::getenv("XDG_STATE_HOME"); state != nullptr && *state == '/')
        return fs::path(state) / "macle" / "drafts";
    const char* home = std::getenv("HOME");
    return fs::path(home != nullptr && *home != '\0' ? home : "/tmp") / ".local" / "state" /
           "macle" / "drafts";
}

DraftOf draftOf(const fs::path& file) {
    if (file.empty()) return {};
    return {fs::absolute(file), timeOf(file)};
}

Draft::Draft(const fs::path& folder, const DraftOf& of, const StoneFile& content) {
    std::error_code fault;
    fs::create_directories(folder, fault);
    if (fault || !fs::is_directory(folder))
        throw Error(ErrorCode::Io,
                    "The folder for drafts, " + folder.string() +
                        ", cannot be made: " + fault.message() + ".",
                    "Save the stone often until this is put right.");
    // What lies there is a stone that may be nobody else's business.
    fs::permissions(folder, fs::perms::owner_all, fault);
    file_ = freshDraftName(folder);
    const fs::path begun = file_.string() + kBegun;
    try {
        {
            Database db(begun, Database::Mode::CreateNew);
            db.run("PRAGMA journal_mode = MEMORY");
            archive::createAndWrite(db, content);
            db.run("BEGIN");
            db.run(kNoteTable);
            Statement note(db, "INSERT INTO draft_note VALUES(?,?,?,?)");
            note.bind(1, of.file.string()).bind(2, of.saved_utc).bind(3, utcNow());
            note.bind(4, content.stone.name).step();
            db.run("COMMIT");
        }
        // Locked before it has its name, so that nobody takes it for one left behind.
        lock_.take(begun);
        archive::replaceFile(begun, file_);
    } catch (...) {
        std::error_code ignored;
        fs::remove(begun, ignored);
        throw;
    }
    rows_ = std::make_unique<Rows>(
        Rows{Database(file_, Database::Mode::EditOwn), archive::RowUpdate()});
    rows_->db.run("PRAGMA synchronous = FULL");
}

Draft::Draft(fs::path draft, OpenLock lock) : file_(std::move(draft)), lock_(std::move(lock)) {
    rows_ = std::make_unique<Rows>(
        Rows{Database(file_, Database::Mode::EditOwn), archive::RowUpdate()});
    rows_->db.run("PRAGMA synchronous = FULL");
}

Draft::~Draft() = default;

std::unique_ptr<Draft> Draft::adopt(const fs::path& draft) {
    OpenLock lock;
    if (!lock.take(draft))
        throw Error(ErrorCode::BadInput,
                    "The draft is in use by " + OpenLock::holderOf(draft) + ".",
                    "Go on with it there.");
    return std::unique_ptr<Draft>(new Draft(draft, std::move(lock)));
}

void Draft::update(const StoneFile& content) {
    if (!rows_) return;
    rows_->update.apply(rows_->db, content, [&](Database& db) {
        Statement note(db, "UPDATE draft_note SET changed_utc = ?, stone = ?");
        note.bind(1, utcNow()).bind(2, content.stone.name).step();
    });
}

void Draft::remove() {
    rows_.reset();
    removeDraftFiles(file_);
    lock_.release();
}

std::vector<DraftInfo> draftsLeftBehind(const fs::path& folder) {
    std::vector<fs::path> names;
    std::error_code fault;
    for (const auto& entry : fs::directory_iterator(folder, fault))
        names.push_back(entry.path());
    std::sort(names.begin(), names.end());
    std::vector<DraftInfo> left;
    for (const fs::path& name : names) {
        OpenLock lock;
        try {
            if (!fs::is_regular_file(name) || !lock.take(name)) continue;
        } catch (const Error&) {
            continue;  // it went meanwhile
        }
        if (name.extension() == kBegun) {
            fs::remove(name, fault);
            continue;
        }
        if (name.extension() != kEnding) continue;
        DraftInfo info;
        info.draft = name;
        try {
            Database db(name, Database::Mode::EditOwn);
            info = readNote(db, name);
            if (sameAsItsFile(db, info)) {
                removeDraftFiles(name);
                continue;
            }
        } catch (const Error& error) {
            info.trouble = error.message();
        }
        left.push_back(std::move(info));
    }
    std::stable_sort(left.begin(), left.end(), [](const DraftInfo& a, const DraftInfo& b) {
        return a.changed_utc > b.changed_utc;
    });
    return left;
}

StoneFile openDraft(const fs::path& draft) {
    {
        // Rolls back what a crash left half done; the reading below looks at no journal.
        Database db(draft, Database::Mode::EditOwn);
        db.number("PRAGMA application_id");
    }
    StoneFile content = openStoneFile(draft);
    content.notes = {};
    return content;
}

void discardDraft(const fs::path& draft) {
    removeDraftFiles(draft);
    if (fs::exists(draft))
        throw Error(ErrorCode::Io, "The draft " + draft.string() + " cannot be removed.",
                    "Check the permissions of its folder.");
}

}  // namespace macle
