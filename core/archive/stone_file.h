// The stone file (.macle): one SQLite database per stone. Inputs are stored, results recomputed;
// with them the history of edits and the approvals. application_id 0x4D61636C ("Macl"),
// user_version = form, rollback journal, opened defensively and read-only. Saving writes a new file
// beside the old one and renames it into place, so that a crash leaves the old or the new.
// Thread contract: free functions, no shared state.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "core/archive/approval.h"
#include "core/archive/history.h"
#include "core/archive/layout_file.h"
#include "core/base/progress.h"
#include "core/stone/stone.h"

namespace macle {

// What opening found out about the file itself.
struct FileNotes {
    bool readOnly = false;  // saving there would be refused
    std::string why;        // why it is read-only, in words
    long long form = 0;     // of the file; older ones are upgraded in memory until saved
    bool upgraded = false;
    // Works' own cuts that were known in another form; that of the file is used from now on.
    std::vector<std::string> replacedCuts = {};
};

struct StoneFile {
    Stone stone;
    std::vector<Layout> layouts;
    HistoryRecord history = {};
    std::vector<Approval> approvals = {};
    FileNotes notes = {};
};

// Throws Error{BadInput} for a file that is not a stone file, is newer than this program, holds
// triggers or views, or is damaged (any byte of its content); Error{NotFound, Io}.
StoneFile openStoneFile(const std::filesystem::path& file);

// Throws Error{Io} and leaves the file as it was when it cannot be written or is marked read-only.
void saveStoneFile(const StoneFile& content, const std::filesystem::path& file);

// Why saving to the file would be refused, or nothing.
std::string whyReadOnly(const std::filesystem::path& file);

// A STONE argument: a `.macle` file, or a mesh taken in as a stone of diamond with no defects.
StoneFile openStone(const std::filesystem::path& file, Progress* progress = nullptr);

}  // namespace macle
