// The pages of one stone: dimensioned views, figures, every facet, limits, defects, appraisal.
#pragma once

#include "app/print/sheet_page.h"

namespace macle::app {

void drawStone(SheetPages& pages, const PlanSheet& sheet, const SheetStone& stone);

// Title, text and whether it is known; one paragraph a line.
void drawLines(SheetPages& pages, const std::vector<FigureLine>& lines);

}  // namespace macle::app
