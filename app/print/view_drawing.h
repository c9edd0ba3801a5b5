// The dimensioned views of a plan sheet, all at one true scale.
#pragma once

#include "app/print/sheet_page.h"

namespace macle::app {

struct Cell {
    double left, top, width, height;  // mm on paper
};

// The largest standard scale (paper mm per stone mm) at which every view with its dimensions fits
// a cell of this size.
double commonScale(const PlanSheet& sheet, double cellWidth, double cellHeight);
QString scaleName(double scale);  // "4:1", "1:2"

void drawView(SheetPages& pages, const SheetView& view, const Cell& cell, double scale);

// Line kinds and scale bar. Returns the height taken.
double drawLegend(SheetPages& pages, double left, double top, double width, double scale,
                  bool defects);

}  // namespace macle::app
