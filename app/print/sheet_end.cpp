#include "app/print/sheet_end.h"

#include "app/print/sheet_stone.h"

namespace macle::app {

void drawEnd(SheetPages& pages, const PlanSheet& sheet) {
    if (!sheet.lines.empty()) {
        pages.heading(QStringLiteral("All stones together: planning estimates"));
        drawLines(pages, sheet.lines);
    }
    pages.heading(QStringLiteral("Tolerances"));
    pages.words(
        QStringLiteral("Angles and azimuths \u00b1 %1 deg, lengths \u00b1 %2 mm (common "
                       "practice; set them to what your works keeps).")
            .arg(number(sheet.tolerances.angle_deg, 2), number(sheet.tolerances.length_mm, 3)));
    for (const SheetStone& stone : sheet.stones)
        pages.words((sheet.stones.size() > 1 ? qt(stone.name) + QStringLiteral(": ") : QString()) +
                    qt(stone.toleranceWorth));
    // What is warned of stays together.
    constexpr double kCautions = 60.0;
    pages.need(kCautions);
    pages.heading(QStringLiteral("Cautions"));
    pages.list(sheet.cautions);
}

}  // namespace macle::app
