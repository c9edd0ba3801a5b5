#include "app/print/sheet_steps.h"

#include <algorithm>

#include "app/print/view_drawing.h"

namespace macle::app {

namespace {

constexpr double kViewHeight = 58.0;
constexpr double kViewWidth = 52.0;
constexpr double kGap = 2.0;
constexpr std::size_t kBesideViews = 17;  // rows that fit beside the views
constexpr std::size_t kMostFlats = 16;    // girdle flats listed one by one; the table has all

QString minutesOf(const BenchStep& step) {
    return step.minutes ? number(*step.minutes, 0) : QStringLiteral("\u2013");
}

QString placeOf(const PlanSheet& sheet, const BenchStep& step) {
    if (step.stone < 0) return QStringLiteral("all");
    return qt(sheet.stones[static_cast<std::size_t>(step.stone)].name);
}

void summary(SheetPages& pages, const PlanSheet& sheet) {
    std::vector<std::vector<QString>> rows;
    for (const SheetStep& one : sheet.steps)
        rows.push_back({QString::number(one.step.number), placeOf(sheet, one.step),
                        qt(one.step.title), number(one.step.entering_ct, 3),
                        number(one.step.removed_ct, 3), number(one.step.left_ct, 3),
                        minutesOf(one.step)});
    pages.flowTable({{QStringLiteral("Step"), 12.0, true},
                     {QStringLiteral("Stone"), 26.0},
                     {QStringLiteral("Work"), 62.0},
                     {QStringLiteral("Before ct"), 20.0, true},
                     {QStringLiteral("Off ct"), 20.0, true},
                     {QStringLiteral("After ct"), 20.0, true},
                     {QStringLiteral("Minutes"), 20.0, true}},
                    rows);
    pages.words(
        sheet.minutes
            ? QStringLiteral("In all %1 minutes by the shop rates. Minutes of an operation are "
                             "shared among its steps by what its rates count (weight taken off, "
                             "facets, else evenly). Times are planning estimates.")
                  .arg(number(*sheet.minutes, 0))
            : QStringLiteral("Minutes are not told: ") + qt(sheet.minutesMissing),
        7.0, Ink::Quiet);
    if (!sheet.grainMissing.empty()) pages.words(qt(sheet.grainMissing), 7.0, Ink::Quiet);
    pages.words(
        QStringLiteral(
            "In the blocks below: grey goes off, white stays, tinted facets are new. Depth, mm: "
            "to take off along the facet's normal, from the surface as the step begins. Easy, "
            "degrees: the easiest direction in the facet, counter-clockwise seen from outside, "
            "from the level line that runs counter-clockwise round the stone seen from the table "
            "(in a level facet from index 0); try it first and check the grain. The order is "
            "common practice."),
        7.0, Ink::Quiet);
}

std::vector<std::vector<QString>> facetRows(const BenchStep& step) {
    std::vector<std::vector<QString>> rows;
    const auto row = [](const FacetWork& work, const QString& name, const QString& azimuth) {
        QString easy = QStringLiteral("\u2013");
        if (work.grain && work.grain->warned)
            easy = QStringLiteral("hard");
        else if (work.easy_deg)
            easy = number(*work.easy_deg, 0);
        return std::vector<QString>{name, number(work.angle_deg, 2), azimuth,
                                    number(work.depth_mm, 3), easy};
    };
    if (step.kind == BenchStepKind::Girdle && step.facets.size() > kMostFlats) {
        const FacetWork& deepest = *std::max_element(
            step.facets.begin(), step.facets.end(),
            [](const FacetWork& a, const FacetWork& b) { return a.depth_mm < b.depth_mm; });
        rows.push_back(row(deepest, QStringLiteral("%1 flats").arg(step.facets.size()),
                           QStringLiteral("varied")));
        rows.back().back() = QStringLiteral("\u2013");
        return rows;
    }
    for (const FacetWork& work : step.facets)
        rows.push_back(
            row(work, qt(work.facet),
                work.count > 1 ? QStringLiteral("all round") : number(work.azimuth_deg, 2)));
    return rows;
}

std::vector<SheetPages::Column> columns(double width) {
    return {{QStringLiteral("Facet"), width - 47.5},
            {QStringLiteral("Angle"), 11.5, true},
            {QStringLiteral("Azimuth"), 14.5, true},
            {QStringLiteral("Depth"), 11.5, true},
            {QStringLiteral("Easy"), 10.0, true}};
}

std::vector<QString> notes(const BenchStep& step) {
    std::vector<QString> lines = {qt(step.what)};
    if (!step.defectsOff.empty()) {
        QString gone;
        for (const std::string& name : step.defectsOff)
            gone += (gone.isEmpty() ? QString() : QStringLiteral(", ")) + qt(name);
        lines.push_back(QStringLiteral("Gone after it: ") + gone + QStringLiteral("."));
    }
    QString cautions;
    for (const std::string& caution : step.cautions)
        cautions += (cautions.isEmpty() ? QString() : QStringLiteral(" ")) + qt(caution);
    if (!cautions.isEmpty()) lines.push_back(QStringLiteral("Caution: ") + cautions);
    return lines;
}

void block(SheetPages& pages, const PlanSheet& sheet, const SheetStep& one) {
    const BenchStep& step = one.step;
    const auto rows = facetRows(step);
    const bool beside = rows.size() <= kBesideViews;
    const QFont small = pages.font(7);
    double height = 10.0;
    for (const QString& note : notes(step))
        height += pages.paragraph(0, 0, SheetPages::kContent, note, small, Ink::Text, true) + 0.6;
    double drawing = one.views.empty() ? 0.0 : kViewHeight;
    if (beside && !rows.empty())
        drawing = std::max(drawing, SheetPages::kRow * double(rows.size() + 1));
    pages.need(height + drawing + 2.0);

    pages.y += 4.6;
    const double head = 104.0;
    pages.text(SheetPages::kLeft, pages.y, head,
               QStringLiteral("%1. %2%3")
                   .arg(step.number)
                   .arg(step.stone < 0 ? QString() : placeOf(sheet, step) + QStringLiteral(": "))
                   .arg(qt(step.title)),
               pages.font(9, true));
    QString told = QStringLiteral("off %1 ct, left %2 ct")
                       .arg(number(step.removed_ct, 3), number(step.left_ct, 3));
    if (step.minutes) told += QStringLiteral(", %1 min").arg(number(*step.minutes, 0));
    pages.text(SheetPages::kLeft + head, pages.y, SheetPages::kContent - head, told,
               pages.font(8, true), Ink::Text, Qt::AlignRight);
    pages.y += 1.4;
    pages.line(SheetPages::kLeft, pages.y, SheetPages::kRight, pages.y, 0.15, inkColour(Ink::Rule));
    pages.y += 1.0;

    const double scale = commonScale(one.views, kViewWidth, kViewHeight);
    double x = SheetPages::kLeft;
    for (const SheetView& view : one.views) {
        drawView(pages, view, {x, pages.y, kViewWidth, kViewHeight}, scale);
        x += kViewWidth + kGap;
    }
    if (beside && !rows.empty()) pages.table(x, pages.y, columns(SheetPages::kRight - x), rows);
    if (!one.views.empty())
        pages.text(SheetPages::kLeft, pages.y + kViewHeight - 0.8, 30.0,
                   QStringLiteral("Scale ") + scaleName(scale), pages.font(6.5), Ink::Quiet);
    pages.y += drawing + 1.0;
    if (!beside) pages.flowHalves(columns(SheetPages::kHalf), rows);
    for (const QString& note : notes(step)) {
        pages.need(pages.paragraph(0, 0, SheetPages::kContent, note, small, Ink::Text, true));
        pages.y +=
            pages.paragraph(SheetPages::kLeft, pages.y, SheetPages::kContent, note, small) + 0.6;
    }
}

}  // namespace

void drawSteps(SheetPages& pages, const PlanSheet& sheet) {
    pages.newPage();
    pages.heading(QStringLiteral("Working order"));
    summary(pages, sheet);
    for (const SheetStep& step : sheet.steps)
        block(pages, sheet, step);
}

}  // namespace macle::app
