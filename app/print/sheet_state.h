// What the plan sheet says of approvals, taken from those of the stone file.
#pragma once

#include "core/archive/approval.h"
#include "core/bench/plan_sheet.h"

namespace macle::app {

SheetState sheetState(const Stone& stone, const Layout& layout,
                      const std::vector<Approval>& approvals);

}  // namespace macle::app
