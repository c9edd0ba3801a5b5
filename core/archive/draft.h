// Drafts: where work that is not saved yet is kept, so that no end of the program loses it. A draft
// is a stone file of its own in the drafts folder, with a note of the file it belongs to. The file
// itself is never touched. Every update is one transaction: a crash leaves the draft as before or
// after it. A draft whose lock is free was left behind by a program that did not end in order.
// Thread contract: one thread at a time per draft.
#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "core/archive/open_lock.h"
#include "core/archive/stone_file.h"

namespace macle {

// $MACLE_DRAFTS, else $XDG_STATE_HOME/macle/drafts, else ~/.local/state/macle/drafts.
std::filesystem::path draftsFolder();

// Where a draft's stone comes from.
struct DraftOf {
    std::filesystem::path file;  // empty for a stone never saved
    std::string saved_utc;       // when that file was last written; empty for none
};
DraftOf draftOf(const std::filesystem::path& file);

struct DraftInfo {
    std::filesystem::path draft;
    DraftOf of;
    std::string stoneName;
    std::string changed_utc;        // of the last edit in it
    std::string trouble;            // why it cannot be used; empty when it can
    bool fileChangedSince = false;  // the stone's file was written after the draft began
};

class Draft {
  public:
    // Makes the folder where needed, and a new draft with this content. Throws Error{Io}; nothing
    // is left behind then.
    Draft(const std::filesystem::path& folder, const DraftOf& of, const StoneFile& content);
    ~Draft();
    Draft(const Draft&) = delete;
    Draft& operator=(const Draft&) = delete;

    // Takes over one that was left behind. Throws Error{BadInput} when it is in use.
    static std::unique_ptr<Draft> adopt(const std::filesystem::path& draft);

    // The same stone with other edits. Throws Error{Io}; the draft is then as it was.
    void update(const StoneFile& content);

    const std::filesystem::path& file() const { return file_; }

    // The work is saved or given up. Throws nothing.
    void remove();

  private:
    struct Rows;
    Draft(std::filesystem::path draft, OpenLock lock);
    std::filesystem::path file_;
    OpenLock lock_;
    std::unique_ptr<Rows> rows_;
};

// Drafts in the folder that no program has open, latest first. Rolls back what a crash left half
// done in them; removes those that hold nothing beyond the file they belong to, and remains of
// drafts that were never finished.
std::vector<DraftInfo> draftsLeftBehind(const std::filesystem::path& folder);

// The content of a draft, for going on with it. Throws the errors of openStoneFile.
StoneFile openDraft(const std::filesystem::path& draft);

// Gives up a draft that was left behind. Throws Error{Io}.
void discardDraft(const std::filesystem::path& draft);

}  // namespace macle
