#include "app/print/plan_sheet_pdf.h"

#include <QBuffer>
#include <QFontDatabase>
#include <QPageLayout>
#include <QPageSize>
#include <QPdfWriter>
#include <QSaveFile>

#include "app/print/sheet_page.h"
#include "app/print/view_drawing.h"
#include "core/base/error.h"
#include "core/base/numbers.h"

namespace macle::app {

namespace {

constexpr int kResolution = 1200;  // device units per inch; the drawing itself is vectors

// As many figures as there can be still fit under the views of the first page.
constexpr double kFigureRow = 4.0;

QString qt(const std::string& text) {
    return QString::fromStdString(text);
}
QString number(double value, int decimals) {
    return qt(formatFixed(value, decimals));
}

void identification(SheetPages& pages, const PlanSheet& sheet) {
    const std::vector<std::pair<QString, std::string>> items = {
        {QStringLiteral("Stone"), sheet.stoneName},
        {QStringLiteral("Layout"), sheet.layoutName},
        {QStringLiteral("Cut"), sheet.cutTitle},
        {QStringLiteral("Date"), sheet.date}};
    const double width = SheetPages::kContent / double(items.size());
    for (std::size_t i = 0; i < items.size(); ++i) {
        const double x = SheetPages::kLeft + width * double(i);
        pages.text(x, pages.y + 2.2, width - 2.0, items[i].first, pages.font(6.5), Ink::Quiet);
        pages.text(x, pages.y + 6.8, width - 2.0, qt(items[i].second), pages.font(9.5, true));
    }
    pages.y += 9.5;
    pages.line(SheetPages::kLeft, pages.y, SheetPages::kRight, pages.y, 0.15, inkColour(Ink::Rule));
    pages.y += 2.0;
}

void referenceFace(SheetPages& pages, const PlanSheet& sheet, double left, double width) {
    pages.text(left, pages.y + 3.2, width, QStringLiteral("Reference face"), pages.font(8, true));
    pages.y += 4.8;
    pages.y += pages.paragraph(left, pages.y, width, qt(sheet.referenceFace), pages.font(7));
}

void views(SheetPages& pages, const PlanSheet& sheet) {
    constexpr double kGap = 4.0, kCellHeight = 93.0;
    const double cellWidth = 0.5 * (SheetPages::kContent - kGap);
    const double scale = commonScale(sheet, cellWidth, kCellHeight);
    const double top = pages.y;
    bool defects = false;
    for (std::size_t i = 0; i < sheet.views.size(); ++i) {
        const Cell cell = {SheetPages::kLeft + (cellWidth + kGap) * double(i % 2),
                           top + kCellHeight * double(i / 2), cellWidth, kCellHeight};
        drawView(pages, sheet.views[i], cell, scale);
        defects = defects || !sheet.views[i].defectOutlines.empty();
    }
    const double rows = double((sheet.views.size() + 1) / 2);
    const double bottom = top + kCellHeight * rows;
    if (sheet.views.size() % 2 == 1) {  // a cell is free
        const double left = SheetPages::kLeft + cellWidth + kGap;
        pages.y = bottom - kCellHeight + 2.0;
        pages.y += drawLegend(pages, left, pages.y, cellWidth, scale, defects) + 1.0;
        referenceFace(pages, sheet, left, cellWidth);
        pages.y = std::max(pages.y, bottom) + 1.0;
    } else {
        pages.y = bottom + 1.0;
        pages.y +=
            drawLegend(pages, SheetPages::kLeft, pages.y, SheetPages::kContent, scale, defects) +
            1.0;
    }
}

double labelled(SheetPages& pages, double left, double width, const QString& title,
                const std::vector<std::pair<std::string, std::string>>& rows) {
    double y = pages.y + 3.2;
    pages.text(left, y, width, title, pages.font(9.5, true));
    y += 1.5;
    pages.line(left, y, left + width, y, 0.15, inkColour(Ink::Rule));
    for (const auto& [label, value] : rows) {
        y += kFigureRow;
        const QFont strong = pages.font(8, true);
        const double taken = std::min(pages.textWidth(qt(value), strong) + 0.5, width - 20.0);
        pages.text(left, y, width - taken - 1.0, qt(label), pages.font(8), Ink::Quiet);
        pages.text(left + width - taken, y, taken, qt(value), strong, Ink::Text, Qt::AlignRight);
    }
    return y + 1.5 - pages.y;
}

void figures(SheetPages& pages, const PlanSheet& sheet) {
    constexpr double kGap = 8.0;
    pages.need(kFigureRow * double(std::max(sheet.figures.size(), sheet.proportions.size())) + 7.0);
    const double width = 0.5 * (SheetPages::kContent - kGap);
    const double left =
        labelled(pages, SheetPages::kLeft, width, QStringLiteral("Figures"), sheet.figures);
    const double right = labelled(pages, SheetPages::kLeft + width + kGap, width,
                                  QStringLiteral("Proportions"), sheet.proportions);
    pages.y += std::max(left, right);
}

// Side by side in two halves; as many pages as it takes.
void facetTable(SheetPages& pages, const PlanSheet& sheet) {
    pages.heading(QStringLiteral("Facets in working order"));
    constexpr double kGap = 4.0;
    const double half = 0.5 * (SheetPages::kContent - kGap);
    const std::vector<SheetPages::Column> columns = {
        {QStringLiteral("Step"), 8.0, true},    {QStringLiteral("Facet"), half - 61.0, false},
        {QStringLiteral("Angle"), 12.5, true},  {QStringLiteral("Azimuth"), 15.0, true},
        {QStringLiteral("Centre"), 13.0, true}, {QStringLiteral("Table"), 12.5, true}};
    std::vector<std::vector<QString>> rows;
    for (const FacetRow& facet : sheet.facets)
        rows.push_back(
            {QString::number(facet.step), qt(facet.facet), number(facet.angle_deg, 2),
             facet.count > 1 ? QStringLiteral("all round") : number(facet.azimuth_deg, 2),
             number(facet.centre_mm, 3), number(facet.fromTable_mm, 3)});
    std::size_t next = 0;
    while (next < rows.size()) {
        const double room = SheetPages::kBottom - pages.y;
        const auto fit = std::size_t(std::max(1.0, std::floor(room / SheetPages::kRow) - 1.0));
        const std::size_t left = rows.size() - next;
        const std::size_t perHalf = std::min(fit, (left + 1) / 2);
        double taken = 0.0;
        for (int side = 0; side < 2 && next < rows.size(); ++side) {
            const std::size_t end = std::min(rows.size(), next + perHalf);
            taken = std::max(taken,
                             pages.table(SheetPages::kLeft + side * (half + kGap), pages.y, columns,
                                         {rows.begin() + std::ptrdiff_t(next),
                                          rows.begin() + std::ptrdiff_t(end)}));
            next = end;
        }
        pages.y += taken + 1.0;
        if (next < rows.size()) pages.newPage();
    }
    pages.y += pages.paragraph(
        SheetPages::kLeft, pages.y, SheetPages::kContent,
        QStringLiteral("Angle, degrees: between facet and girdle plane. Azimuth, degrees: "
                       "counter-clockwise seen from the table, from index 0. Centre, mm: distance "
                       "of the facet's plane from the axis at mid-girdle. Table, mm: depth of the "
                       "facet's lowest corner below the table."),
        pages.font(6.5), Ink::Quiet);
}

void list(SheetPages& pages, const std::vector<std::string>& lines, bool numbered) {
    const QFont face = pages.font(8);
    constexpr double kIndent = 5.0;
    for (std::size_t i = 0; i < lines.size(); ++i) {
        const QString words = qt(lines[i]);
        const double width = SheetPages::kContent - kIndent;
        pages.need(pages.paragraph(0, 0, width, words, face, Ink::Text, true));
        pages.paragraph(
            SheetPages::kLeft, pages.y, kIndent,
            numbered ? QString::number(i + 1) + QStringLiteral(".") : QStringLiteral("\u2013"),
            face, Ink::Quiet);
        pages.y += pages.paragraph(SheetPages::kLeft + kIndent, pages.y, width, words, face) + 0.6;
    }
}

void limits(SheetPages& pages, const PlanSheet& sheet) {
    pages.heading(QStringLiteral("What stops the fit"));
    if (sheet.limits.empty()) {
        pages.y += pages.paragraph(SheetPages::kLeft, pages.y, SheetPages::kContent,
                                   sheet.appraisal.inside
                                       ? QStringLiteral("Nothing touches: the cut is smaller than "
                                                        "it could be at this place.")
                                       : QStringLiteral("The cut reaches beyond the rough, so "
                                                        "nothing has stopped it: see the skin "
                                                        "left on the stone among the figures."),
                                   pages.font(8));
        return;
    }
    std::vector<std::vector<QString>> rows;
    constexpr std::size_t kMost = 12;
    for (const FitLimit& limit : sheet.limits) {
        if (rows.size() == kMost) break;
        rows.push_back({qt(limit.facet), qt(limit.source), number(limit.point_mm.x(), 3),
                        number(limit.point_mm.y(), 3), number(limit.point_mm.z(), 3)});
    }
    pages.need(SheetPages::kRow * double(rows.size() + 1));
    pages.y += pages.table(SheetPages::kLeft, pages.y,
                           {{QStringLiteral("Facet"), 60.0},
                            {QStringLiteral("At"), 60.0},
                            {QStringLiteral("x mm"), 20.0, true},
                            {QStringLiteral("y mm"), 20.0, true},
                            {QStringLiteral("z mm"), 20.0, true}},
                           rows);
    if (sheet.limits.size() > kMost)
        pages.y += pages.paragraph(SheetPages::kLeft, pages.y + 0.6, SheetPages::kContent,
                                   QStringLiteral("and %1 more. Places in the frame of the scan.")
                                       .arg(sheet.limits.size() - kMost),
                                   pages.font(6.5), Ink::Quiet);
    else
        pages.y += pages.paragraph(SheetPages::kLeft, pages.y + 0.6, SheetPages::kContent,
                                   QStringLiteral("Places in the frame of the scan."),
                                   pages.font(6.5), Ink::Quiet);
}

void clarity(SheetPages& pages, const PlanSheet& sheet) {
    pages.heading(QStringLiteral("Clarity"));
    pages.y += pages.paragraph(SheetPages::kLeft, pages.y, SheetPages::kContent,
                               qt(sheet.appraisal.clarity), pages.font(8));
    if (!sheet.appraisal.defects.empty()) {
        pages.y += 1.0;
        std::vector<std::vector<QString>> rows;
        for (const DefectInside& defect : sheet.appraisal.defects)
            rows.push_back({qt(defect.name), qt(defect.kind), QString::number(defect.severity),
                            number(defect.largest_mm, 3), qt(defect.zone),
                            number(defect.depth_mm, 3)});
        constexpr std::size_t kMost = 12;
        const std::size_t all = rows.size();
        if (all > kMost) rows.resize(kMost);
        pages.need(SheetPages::kRow * double(rows.size() + 1));
        pages.y += pages.table(SheetPages::kLeft, pages.y,
                               {{QStringLiteral("Defect left inside"), 50.0},
                                {QStringLiteral("Kind"), 30.0},
                                {QStringLiteral("Severity"), 18.0, true},
                                {QStringLiteral("Largest mm"), 22.0, true},
                                {QStringLiteral("Where"), 38.0},
                                {QStringLiteral("Depth mm"), 22.0, true}},
                               rows);
        if (all > kMost)
            pages.y += pages.paragraph(SheetPages::kLeft, pages.y + 0.6, SheetPages::kContent,
                                       QStringLiteral("and %1 more").arg(all - kMost),
                                       pages.font(6.5), Ink::Quiet);
    }
    pages.y +=
        pages.paragraph(SheetPages::kLeft, pages.y + 0.8, SheetPages::kContent,
                        QStringLiteral("All weights, values and clarity on this sheet are planning "
                                       "estimates, not a grading report."),
                        pages.font(7), Ink::Quiet) +
        0.8;
}

void approval(SheetPages& pages, const PlanSheet& sheet) {
    const SheetState& state = sheet.state;
    constexpr double kHeight = 36.0;
    pages.need(kHeight);
    pages.heading(QStringLiteral("Approval"));
    QString words = QStringLiteral(
        "I have compared this sheet with the stone and approve the layout with the "
        "identity (SHA-256) printed at the foot. Without a signature this sheet is "
        "a draft.");
    if (!state.record.empty()) {
        words = QStringLiteral("Approved on record by %1, %2.").arg(qt(state.by), qt(state.at_utc));
        if (!state.note.empty())
            words += QStringLiteral(" Remark: \u201c%1\u201d.").arg(qt(state.note));
        words += QStringLiteral(" Record (SHA-256): %1. ").arg(qt(state.record));
        words += state.state == "approved"
                     ? QStringLiteral("Compare this sheet with the stone before you sign.")
                     : QStringLiteral("A later approval took its place.");
    }
    pages.y +=
        pages.paragraph(SheetPages::kLeft, pages.y, SheetPages::kContent, words, pages.font(8));
    pages.y += 13.0;
    const std::vector<std::pair<QString, double>> lines = {{QStringLiteral("Name"), 65.0},
                                                           {QStringLiteral("Date"), 35.0},
                                                           {QStringLiteral("Signature"), 68.0}};
    double x = SheetPages::kLeft;
    for (const auto& [label, width] : lines) {
        pages.line(x, pages.y, x + width, pages.y, 0.2, inkColour(Ink::Text));
        pages.text(x, pages.y + 3.4, width, label, pages.font(6.5), Ink::Quiet);
        x += width + 6.0;
    }
    pages.y += 5.0;
}

// Draws all; returns the number of pages.
int draw(QPdfWriter& device, const PlanSheet& sheet, int totalPages) {
    SheetPages pages(device, sheet, totalPages);
    identification(pages, sheet);
    views(pages, sheet);
    figures(pages, sheet);
    pages.newPage();
    facetTable(pages, sheet);
    pages.heading(QStringLiteral("Working order"));
    list(pages, sheet.workingOrder, true);
    if (sheet.views.size() % 2 == 0) {
        pages.need(30.0);
        pages.y += 3.0;
        referenceFace(pages, sheet, SheetPages::kLeft, SheetPages::kContent);
    }
    limits(pages, sheet);
    // What is signed for stays together.
    constexpr double kSignedFor = 105.0;
    pages.need(kSignedFor);
    clarity(pages, sheet);
    pages.heading(QStringLiteral("Cautions"));
    list(pages, sheet.cautions, false);
    approval(pages, sheet);
    return pages.page();
}

QByteArray drawn(const PlanSheet& sheet, int totalPages, int& pages) {
    QByteArray bytes;
    QBuffer buffer(&bytes);
    buffer.open(QIODevice::WriteOnly);
    QPdfWriter writer(&buffer);
    writer.setResolution(kResolution);
    writer.setPageLayout(
        QPageLayout(QPageSize(QPageSize::A4), QPageLayout::Portrait, QMarginsF(0, 0, 0, 0)));
    writer.setTitle(QStringLiteral("Plan sheet: ") + qt(sheet.stoneName) + QStringLiteral(", ") +
                    qt(sheet.layoutName));
    writer.setCreator(QStringLiteral("Macle"));
    pages = draw(writer, sheet, totalPages);
    return bytes;
}

}  // namespace

void writePlanSheetPdf(const PlanSheet& sheet, const std::filesystem::path& file) {
    int pages = 0;
    drawn(sheet, 0, pages);  // first to count the pages
    const int total = pages;
    const QByteArray bytes = drawn(sheet, total, pages);
    require(pages == total && !bytes.isEmpty(), "the plan sheet has the pages it says");

    QSaveFile target(qt(file.string()));
    if (!target.open(QIODevice::WriteOnly) || target.write(bytes) != bytes.size() ||
        !target.commit())
        throw Error(ErrorCode::Io,
                    "The file " + file.string() +
                        " could not be written: " + target.errorString().toStdString() + ".",
                    "Check that its folder exists and may be written to.");
}

}  // namespace macle::app
