// The first page of a plan sheet: the whole layout, its sums, and the approval.
#pragma once

#include "app/print/sheet_page.h"

namespace macle::app {

void drawOverview(SheetPages& pages, const PlanSheet& sheet);

// Label and value, one a row, at the cursor. Returns the height taken.
double drawFigures(SheetPages& pages, double left, double width, const QString& title,
                   const SheetFigures& figures);
double figuresHeight(std::size_t rows);

}  // namespace macle::app
