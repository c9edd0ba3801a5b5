#include "app/print/sheet_stone.h"

#include <algorithm>

#include "app/print/sheet_overview.h"
#include "app/print/view_drawing.h"

namespace macle::app {

namespace {

constexpr std::size_t kMostListed = 12;  // of limits and of defects; the data file has all

void figures(SheetPages& pages, const SheetStone& stone) {
    constexpr double kGap = 8.0;
    pages.need(figuresHeight(std::max(stone.figures.size(), stone.proportions.size())));
    const double width = 0.5 * (SheetPages::kContent - kGap);
    const double left =
        drawFigures(pages, SheetPages::kLeft, width, QStringLiteral("Figures"), stone.figures);
    const double right = drawFigures(pages, SheetPages::kLeft + width + kGap, width,
                                     QStringLiteral("Proportions"), stone.proportions);
    pages.y += std::max(left, right);
}

void facetTable(SheetPages& pages, const SheetStone& stone) {
    pages.heading(qt(stone.name) + QStringLiteral(": facets in working order"));
    const std::vector<SheetPages::Column> columns = {
        {QStringLiteral("Place"), 9.0, true},
        {QStringLiteral("Facet"), SheetPages::kHalf - 62.0, false},
        {QStringLiteral("Angle"), 12.5, true},
        {QStringLiteral("Azimuth"), 15.0, true},
        {QStringLiteral("Centre"), 13.0, true},
        {QStringLiteral("Table"), 12.5, true}};
    std::vector<std::vector<QString>> rows;
    for (const FacetRow& facet : stone.facets)
        rows.push_back(
            {QString::number(facet.step), qt(facet.facet), number(facet.angle_deg, 2),
             facet.count > 1 ? QStringLiteral("all round") : number(facet.azimuth_deg, 2),
             number(facet.centre_mm, 3), number(facet.fromTable_mm, 3)});
    pages.flowHalves(columns, rows);
    pages.words(
        QStringLiteral("Angle, degrees: between facet and girdle plane. Azimuth, degrees: "
                       "counter-clockwise seen from the table, from index 0. Centre, mm: distance "
                       "of the facet's plane from the axis at mid-girdle. Table, mm: depth of the "
                       "facet's lowest corner below the table."),
        6.5, Ink::Quiet);
}

void andMore(SheetPages& pages, std::size_t all) {
    if (all > kMostListed)
        pages.words(QStringLiteral("and %1 more").arg(all - kMostListed), 6.5, Ink::Quiet);
}

void limits(SheetPages& pages, const SheetStone& stone) {
    pages.heading(QStringLiteral("What stops the fit"));
    if (stone.limits.empty()) {
        pages.words(stone.appraisal.inside
                        ? QStringLiteral("Nothing touches: the cut is smaller than it could be at "
                                         "this place.")
                        : QStringLiteral("The cut reaches beyond the rough, so nothing has stopped "
                                         "it: see the skin left on the stone among the figures."));
        return;
    }
    std::vector<std::vector<QString>> rows;
    for (const FitLimit& limit : stone.limits) {
        if (rows.size() == kMostListed) break;
        rows.push_back({qt(limit.facet), qt(limit.source), number(limit.point_mm.x(), 3),
                        number(limit.point_mm.y(), 3), number(limit.point_mm.z(), 3)});
    }
    pages.flowTable({{QStringLiteral("Facet"), 60.0},
                     {QStringLiteral("At"), 60.0},
                     {QStringLiteral("x mm"), 20.0, true},
                     {QStringLiteral("y mm"), 20.0, true},
                     {QStringLiteral("z mm"), 20.0, true}},
                    rows);
    andMore(pages, stone.limits.size());
    pages.words(QStringLiteral("Places in the frame of the scan."), 6.5, Ink::Quiet);
}

void defects(SheetPages& pages, const SheetStone& stone) {
    pages.heading(QStringLiteral("Clarity and defects"));
    pages.words(qt(stone.appraisal.clarity));
    if (!stone.appraisal.defects.empty()) {
        std::vector<std::vector<QString>> rows;
        for (const DefectInside& defect : stone.appraisal.defects) {
            if (rows.size() == kMostListed) break;
            rows.push_back({qt(defect.name), qt(defect.kind), QString::number(defect.severity),
                            number(defect.largest_mm, 3), qt(defect.zone),
                            number(defect.depth_mm, 3)});
        }
        pages.flowTable({{QStringLiteral("Defect that stays"), 50.0},
                         {QStringLiteral("Kind"), 30.0},
                         {QStringLiteral("Severity"), 18.0, true},
                         {QStringLiteral("Largest mm"), 22.0, true},
                         {QStringLiteral("Where"), 38.0},
                         {QStringLiteral("Depth mm"), 22.0, true}},
                        rows);
        andMore(pages, stone.appraisal.defects.size());
    }
    if (!stone.removed.empty()) {
        std::vector<std::vector<QString>> rows;
        for (const DefectRemoved& defect : stone.removed) {
            if (rows.size() == kMostListed) break;
            rows.push_back({qt(defect.name), qt(defect.kind), QString::number(defect.severity),
                            qt(defect.words)});
        }
        pages.flowTable({{QStringLiteral("Defect to be removed"), 50.0},
                         {QStringLiteral("Kind"), 30.0},
                         {QStringLiteral("Severity"), 18.0, true},
                         {QStringLiteral("Gone"), 82.0}},
                        rows);
        andMore(pages, stone.removed.size());
    }
}

}  // namespace

void drawLines(SheetPages& pages, const std::vector<FigureLine>& lines) {
    constexpr double kTitle = 42.0;
    const QFont face = pages.font(8), strong = pages.font(8, true);
    for (const FigureLine& line : lines) {
        const QString words =
            line.known ? qt(line.text) : QStringLiteral("not known: ") + qt(line.text);
        const double width = SheetPages::kContent - kTitle;
        const double height =
            std::max(pages.paragraph(0, 0, width, words, face, Ink::Text, true),
                     pages.paragraph(0, 0, kTitle - 2.0, qt(line.title), strong, Ink::Text, true));
        pages.need(height);
        pages.paragraph(SheetPages::kLeft, pages.y, kTitle - 2.0, qt(line.title), strong);
        pages.paragraph(SheetPages::kLeft + kTitle, pages.y, width, words, face,
                        line.known ? Ink::Text : Ink::Quiet);
        pages.y += height + 0.6;
    }
}

void drawStone(SheetPages& pages, const PlanSheet& sheet, const SheetStone& stone) {
    pages.newPage();
    pages.heading(qt(stone.name) + QStringLiteral(": ") + qt(stone.cutTitle) +
                  (sheet.saws.empty()
                       ? QString()
                       : QStringLiteral(", from piece ") + QString::number(stone.piece + 1)));
    constexpr double kCellHeight = 80.0;
    drawViews(pages, stone.views, kCellHeight, true);
    pages.subheading(QStringLiteral("Reference face"));
    for (const std::string& line : stone.referenceFace)
        pages.words(qt(line), 7.0);
    figures(pages, stone);
    constexpr double kTableWorthBeginning = 60.0;
    pages.need(kTableWorthBeginning);
    facetTable(pages, stone);
    limits(pages, stone);
    defects(pages, stone);
    if (stone.lines.empty()) return;
    pages.heading(QStringLiteral("Appraisal: planning estimates, not a grading report"));
    drawLines(pages, stone.lines);
}

}  // namespace macle::app
