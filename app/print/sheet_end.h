// The end of a plan sheet: figures of all stones together, tolerances and cautions.
#pragma once

#include "app/print/sheet_page.h"

namespace macle::app {

void drawEnd(SheetPages& pages, const PlanSheet& sheet);

}  // namespace macle::app
