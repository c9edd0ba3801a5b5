// The views of a plan sheet, those of a group all at one true scale.
#pragma once

#include "app/print/sheet_page.h"

namespace macle::app {

struct Cell {
    double left, top, width, height;  // mm on paper
};

// The largest standard scale (paper mm per stone mm) at which every view with its dimensions fits
// a cell of this size.
double commonScale(const std::vector<SheetView>& views, double cellWidth, double cellHeight);
QString scaleName(double scale);  // "4:1", "1:2"

void drawView(SheetPages& pages, const SheetView& view, const Cell& cell, double scale);

// Two in a row over the whole width at the cursor, with the legend below or in the cell that is
// left free.
void drawViews(SheetPages& pages, const std::vector<SheetView>& views, double cellHeight,
               bool legend);

}  // namespace macle::app
