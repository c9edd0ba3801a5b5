// The plan sheet as drawn pages, A4 upright: the PDF, a preview and a picture all come from here.
// Needs a QGuiApplication; platform `offscreen` will do. Throws Error{NotFound} when no font is
// installed (Qt would draw a sheet without text). Main thread, or any other that may use QPainter.
#pragma once

#include <QImage>
#include <QPainter>

#include "core/bench/plan_sheet.h"

namespace macle::app {

int planSheetPages(const PlanSheet& sheet);

// Page `number`, from 1 to planSheetPages, with its upper left corner at the painter's origin; an
// inch of paper takes `dotsPerInch` of the painter's units. `pages` saves counting them again.
void paintPlanSheetPage(const PlanSheet& sheet, int number, int pages, QPainter& painter,
                        double dotsPerInch);

// The same on white paper.
QImage planSheetImage(const PlanSheet& sheet, int number, int pages, double dotsPerInch);

class PageTarget;
// All pages, in order. `pages` is what stands in "page n of m". Returns their number.
int drawPlanSheet(const PlanSheet& sheet, PageTarget& target, int pages);

}  // namespace macle::app
