// The working order: a table of all steps, then one block for each with views and facets.
#pragma once

#include "app/print/sheet_page.h"

namespace macle::app {

void drawSteps(SheetPages& pages, const PlanSheet& sheet);

}  // namespace macle::app
