// Approval: a layout as it was approved, frozen. The snapshot is the whole input it stands on (the
// rough by its hash, the stone's facts, the layout), who approved it, when, and the figures shown
// to them; its SHA-256 tells whether it was changed since. Not a signature: it shows accidents and
// careless edits, not forgery.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/divide/layout.h"
#include "core/stone/stone.h"

namespace macle {

struct Approval {
    std::string layout;  // its name then
    std::string by;
    std::string at_utc;
    std::string note;
    std::map<std::string, double> figures;  // as shown, for example "finished_ct"
    std::string snapshot;                   // canonical JSON, the frozen text
    std::string sha256;                     // of the snapshot
    bool intact = true;                     // false: the snapshot no longer has this hash
};

// Throws Error{BadUsage} without a name of who approves.
Approval approve(const Stone& stone, const Layout& layout, const std::string& by,
                 const std::string& note, const std::map<std::string, double>& figures);

// Reads the fields back out of a stored snapshot and compares the hash. Throws Error{BadInput} for
// one that cannot be read.
Approval readApproval(const std::string& snapshot, const std::string& sha256);

// The layout as it was approved; a works' own cut is known as it was then from now on. Throws
// Error{BadInput}.
Layout approvedLayout(const Approval& approval);

// Draft: not approved, or changed since (the layout, the stone's facts or the rough). Approved: the
// latest intact approval is of exactly this. Replaced: it was approved, but a later approval took
// its place, for a rough is cut only once.
enum class LayoutState { Draft, Approved, Replaced };
LayoutState layoutState(const Stone& stone, const Layout& layout,
                        const std::vector<Approval>& approvals);
const char* layoutStateName(LayoutState state);  // "draft", "approved", "replaced"

// The approvals of one stone, compared with the stone as it is once, then with any layout at once.
class ApprovalBook {
  public:
    ApprovalBook() = default;
    ApprovalBook(const Stone& stone, const std::vector<Approval>& approvals);

    LayoutState state(const Layout& layout) const;
    // The latest intact approval of exactly this, by its place in the list.
    std::optional<std::size_t> approvalOf(const Layout& layout) const;
    // Approved: it is the latest intact one, and one of the layouts is still exactly what it froze.
    // Replaced: a later approval or a change has taken its place. Draft: it was altered and counts
    // for nothing.
    LayoutState stateOf(std::size_t approval, const std::vector<Layout>& layouts) const;

  private:
    struct Entry {
        bool intact = false;
        bool ofStone = false;  // rough and facts are still those approved
        std::string layout;    // canonical
    };
    std::vector<Entry> entries_;
};

}  // namespace macle
