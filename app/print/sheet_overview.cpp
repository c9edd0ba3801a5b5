#include "app/print/sheet_overview.h"

#include <algorithm>

#include "app/print/view_drawing.h"
#include "core/base/numbers.h"

namespace macle::app {

namespace {

constexpr double kFigureRow = 4.0;

QString counted(std::size_t count, const QString& one) {
    return QString::number(count) + QStringLiteral(" ") + one +
           (count == 1 ? QString() : QStringLiteral("s"));
}

void identification(SheetPages& pages, const PlanSheet& sheet) {
    const std::vector<std::pair<QString, QString>> items = {
        {QStringLiteral("Stone"), qt(sheet.stoneName)},
        {QStringLiteral("Layout"), qt(sheet.layoutName)},
        {QStringLiteral("Holds"), counted(sheet.stones.size(), QStringLiteral("stone")) +
                                      QStringLiteral(", ") +
                                      counted(sheet.saws.size(), QStringLiteral("saw"))},
        {QStringLiteral("Date"), qt(sheet.date)}};
    const double width = SheetPages::kContent / double(items.size());
    for (std::size_t i = 0; i < items.size(); ++i) {
        const double x = SheetPages::kLeft + width * double(i);
        pages.text(x, pages.y + 2.2, width - 2.0, items[i].first, pages.font(6.5), Ink::Quiet);
        pages.text(x, pages.y + 6.8, width - 2.0, items[i].second, pages.font(9.5, true));
    }
    pages.y += 9.5;
    pages.line(SheetPages::kLeft, pages.y, SheetPages::kRight, pages.y, 0.15, inkColour(Ink::Rule));
    pages.y += 2.0;
}

void stoneTable(SheetPages& pages, const PlanSheet& sheet) {
    pages.heading(QStringLiteral("Stones"));
    std::vector<std::vector<QString>> rows;
    for (const SheetStone& stone : sheet.stones)
        rows.push_back({qt(stone.name), QString::number(stone.piece + 1), qt(stone.cutTitle),
                        number(stone.placement.size_mm, 3), number(stone.piece_ct, 3),
                        number(stone.appraisal.finished_ct, 3), number(stone.appraisal.loss_ct, 3),
                        number(stone.appraisal.recovery_percent, 2)});
    pages.flowTable({{QStringLiteral("Stone"), 22.0},
                     {QStringLiteral("Piece"), 12.0, true},
                     {QStringLiteral("Cut"), 46.0},
                     {QStringLiteral("Size mm"), 20.0, true},
                     {QStringLiteral("Piece ct"), 20.0, true},
                     {QStringLiteral("Finished ct"), 20.0, true},
                     {QStringLiteral("Loss ct"), 20.0, true},
                     {QStringLiteral("Recovery %"), 20.0, true}},
                    rows);
}

void sawTable(SheetPages& pages, const PlanSheet& sheet) {
    if (sheet.saws.empty()) return;
    pages.heading(QStringLiteral("Saws, in working order"));
    std::vector<std::vector<QString>> rows;
    for (const SheetSaw& saw : sheet.saws) {
        QString width = number(saw.saw.kerf_mm, 3);
        if (saw.saw.v) width += QStringLiteral(" to ") + number(saw.saw.v->exit_mm, 3);
        rows.push_back({QString::number(saw.number), QString::number(saw.saw.piece + 1),
                        QString::number(saw.newPiece + 1), number(saw.saw.normal.x(), 5),
                        number(saw.saw.normal.y(), 5), number(saw.saw.normal.z(), 5),
                        number(saw.saw.offset_mm, 3), width, number(saw.entering_ct, 3),
                        number(saw.kerf_ct, 3)});
    }
    pages.flowTable({{QStringLiteral("Saw"), 11.0, true},
                     {QStringLiteral("Piece"), 12.0, true},
                     {QStringLiteral("New piece"), 17.0, true},
                     {QStringLiteral("n x"), 19.0, true},
                     {QStringLiteral("n y"), 19.0, true},
                     {QStringLiteral("n z"), 19.0, true},
                     {QStringLiteral("n.x mm"), 18.0, true},
                     {QStringLiteral("Kerf mm"), 29.0, true},
                     {QStringLiteral("Sawn ct"), 18.0, true},
                     {QStringLiteral("Kerf ct"), 18.0, true}},
                    rows);
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
    pages.y += 11.0;
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

}  // namespace

double figuresHeight(std::size_t rows) {
    return kFigureRow * double(rows) + 7.0;
}

double drawFigures(SheetPages& pages, double left, double width, const QString& title,
                   const SheetFigures& figures) {
    double y = pages.y + 3.2;
    pages.text(left, y, width, title, pages.font(9.5, true));
    y += 1.5;
    pages.line(left, y, left + width, y, 0.15, inkColour(Ink::Rule));
    for (const auto& [label, value] : figures) {
        y += kFigureRow;
        const QFont strong = pages.font(8, true);
        const double taken = std::min(pages.textWidth(qt(value), strong) + 0.5, width - 20.0);
        pages.text(left, y, width - taken - 1.0, qt(label), pages.font(8), Ink::Quiet);
        pages.text(left + width - taken, y, taken, qt(value), strong, Ink::Text, Qt::AlignRight);
    }
    return y + 1.5 - pages.y;
}

void drawOverview(SheetPages& pages, const PlanSheet& sheet) {
    identification(pages, sheet);
    constexpr double kCellHeight = 78.0;
    drawViews(pages, sheet.overview, kCellHeight, true);
    constexpr double kGap = 8.0;
    const double width = 0.5 * (SheetPages::kContent - kGap);
    const std::size_t half = (sheet.figures.size() + 1) / 2;
    const auto middle = sheet.figures.begin() + std::ptrdiff_t(half);
    pages.need(figuresHeight(half));
    const double left = drawFigures(pages, SheetPages::kLeft, width, QStringLiteral("All together"),
                                    {sheet.figures.begin(), middle});
    const double right = drawFigures(pages, SheetPages::kLeft + width + kGap, width, QString(),
                                     {middle, sheet.figures.end()});
    pages.y += std::max(left, right);
    stoneTable(pages, sheet);
    sawTable(pages, sheet);
    if (!sheet.open.empty()) {
        pages.heading(QStringLiteral("Not in order yet"));
        pages.list(sheet.open);
    }
    pages.words(QStringLiteral("All weights, values, times and clarity on this sheet are planning "
                               "estimates, not a grading report."),
                7.0, Ink::Quiet);
    approval(pages, sheet);
}

}  // namespace macle::app
