#include "core/archive/stone_file.h"

#include <sys/statvfs.h>
#include <unistd.h>

#include <system_error>

#include "core/archive/database.h"
#include "core/archive/replace_file.h"
#include "core/archive/stone_rows.h"
#include "core/archive/upgrade.h"
#include "core/base/error.h"
#include "core/stone/intake.h"

namespace macle {
namespace {

namespace fs = std::filesystem;
using archive::damaged;
using archive::Database;
using archive::Statement;

// Refuses what is no stone file of a form this program knows; returns its form.
long long formOf(Database& db, const fs::path& file) {
    if (db.number("PRAGMA application_id") != archive::kApplicationId)
        throw Error(ErrorCode::BadInput, file.string() + " is a database, but not a stone file.",
                    "Choose a file that Macle has saved.");
    const long long form = db.number("PRAGMA user_version");
    if (form > archive::kSchemaVersion)
        throw Error(ErrorCode::BadInput,
                    file.string() + " was saved by a newer Macle (form " + std::to_string(form) +
                        "; this one reads up to " + std::to_string(archive::kSchemaVersion) + ").",
                    "Open it with the newer program.");
    if (form < 1) damaged("its form number is " + std::to_string(form));
    if (db.number("SELECT count(*) FROM sqlite_schema WHERE type IN ('trigger', 'view') OR "
                  "sql LIKE 'CREATE VIRTUAL%'") != 0)
        throw Error(ErrorCode::BadInput,
                    file.string() + " holds triggers or views, which no stone file has.",
                    "Do not trust this file; ask its sender for another.");
    Statement check(db, "PRAGMA quick_check(1)");
    if (!check.step()) db.fail("reading");
    const std::string verdict = check.text(0);
    // The check reports what the disk refuses like damage, in these words.
    const bool unread = verdict.find("unable to get the page") != std::string::npos ||
                        verdict.find("failed to get page") != std::string::npos;
    if (unread)
        throw Error(ErrorCode::Io, file.string() + " cannot be read: the disk reports an error.",
                    "Copy it from another place, or try again.");
    if (verdict != "ok") damaged(verdict);
    return form;
}

// Through links, so that the file is replaced and not the link to it.
fs::path behindLinks(const fs::path& file) {
    std::error_code fault;
    if (!fs::is_symlink(file, fault)) return file;
    const fs::path target = fs::canonical(file, fault);
    return fault ? file : target;
}

}  // namespace

std::string whyReadOnly(const fs::path& file) {
    std::error_code fault;
    const fs::path target = behindLinks(file);
    const fs::path folder = fs::absolute(target).parent_path();
    struct statvfs disk {};
    if (::statvfs(folder.c_str(), &disk) == 0 && (disk.f_flag & ST_RDONLY))
        return "the disk is read-only";
    if (fs::exists(target, fault)) {
        // For the administrator too, who could write to it all the same.
        const fs::perms write =
            fs::perms::owner_write | fs::perms::group_write | fs::perms::others_write;
        if ((fs::status(target, fault).permissions() & write) == fs::perms::none)
            return "the file is marked read-only";
        if (::access(target.c_str(), W_OK) != 0) return "the file may not be written by you";
    }
    if (::access(folder.c_str(), W_OK) != 0 && fs::exists(folder, fault))
        return "the folder may not be written by you";
    return {};
}

StoneFile openStoneFile(const fs::path& file) {
    if (!fs::is_regular_file(file))
        throw Error(ErrorCode::NotFound, file.string() + " is not a file.", "Check its name.");
    Database db(file, Database::Mode::ReadUntrusted);
    const long long form = formOf(db, file);
    StoneFile content;
    if (form == archive::kSchemaVersion) {
        content = archive::readRows(db);
    } else {
        Database copy = db.copyInMemory();
        archive::upgrade(copy, form);
        content = archive::readRows(copy);
    }
    content.notes.form = form;
    content.notes.upgraded = form != archive::kSchemaVersion;
    content.notes.why = whyReadOnly(file);
    content.notes.readOnly = !content.notes.why.empty();
    return content;
}

void saveStoneFile(const StoneFile& content, const fs::path& file) {
    const std::string why = whyReadOnly(file);
    if (!why.empty())
        throw Error(ErrorCode::Io, "Could not save " + file.string() + ": " + why + ".",
                    "The file is as it was. Save the stone under another name.");
    const fs::path target = behindLinks(file);
    const fs::path fresh = archive::freshNameFor(target);
    try {
        {
            Database db(fresh, Database::Mode::CreateNew);
            // Until it is renamed nobody needs the file, so it needs no journal beside it.
            db.run("PRAGMA journal_mode = MEMORY");
            archive::createAndWrite(db, content);
        }
        archive::replaceFile(fresh, target);
    } catch (...) {
        std::error_code ignored;
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
