#include "app/print/sheet_state.h"

namespace macle::app {

SheetState sheetState(const Stone& stone, const Layout& layout,
                      const std::vector<Approval>& approvals) {
    const ApprovalBook book(stone, approvals);
    SheetState state;
    state.state = layoutStateName(book.state(layout));
    if (const auto mine = book.approvalOf(layout)) {
        const Approval& approval = approvals[*mine];
        state.by = approval.by;
        state.at_utc = approval.at_utc;
        state.note = approval.note;
        state.record = approval.sha256;
    }
    return state;
}

}  // namespace macle::app
