#include "app/print/plan_sheet_drawing.h"

#include <cmath>

#include "app/print/sheet_end.h"
#include "app/print/sheet_overview.h"
#include "app/print/sheet_page.h"
#include "app/print/sheet_steps.h"
#include "app/print/sheet_stone.h"
#include "core/base/error.h"

namespace macle::app {

int drawPlanSheet(const PlanSheet& sheet, PageTarget& target, int pages) {
    SheetPages paper(target, sheet, pages);
    drawOverview(paper, sheet);
    for (const SheetStone& stone : sheet.stones)
        drawStone(paper, sheet, stone);
    drawSteps(paper, sheet);
    drawEnd(paper, sheet);
    paper.finish();
    return paper.page();
}

int planSheetPages(const PlanSheet& sheet) {
    NoPages nowhere;
    return drawPlanSheet(sheet, nowhere, 0);
}

void paintPlanSheetPage(const PlanSheet& sheet, int number, int pages, QPainter& painter,
                        double dotsPerInch) {
    if (number < 1 || number > pages)
        throw Error(ErrorCode::BadUsage,
                    "The sheet has no page " + std::to_string(number) + ", only " +
                        std::to_string(pages) + ".",
                    "Ask for one of those.");
    OnePage target(painter, number, dotsPerInch);
    drawPlanSheet(sheet, target, pages);
}

QImage planSheetImage(const PlanSheet& sheet, int number, int pages, double dotsPerInch) {
    const double perMm = dotsPerInch / 25.4;
    QImage image(static_cast<int>(std::lround(SheetPages::kWidth * perMm)),
                 static_cast<int>(std::lround(SheetPages::kHeight * perMm)),
                 QImage::Format_ARGB32_Premultiplied);
    image.fill(Qt::white);
    QPainter painter(&image);
    paintPlanSheetPage(sheet, number, pages, painter, dotsPerInch);
    return image;
}

}  // namespace macle::app
