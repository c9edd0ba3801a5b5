#include "app/window/compare_window.h"

#include <QTabWidget>
#include <QVBoxLayout>
#include <algorithm>

#include "core/appraise/clarity_grades.h"

namespace macle::app {
namespace {

constexpr char kClarity[] = "Clarity";  // the row whose values are places on the scale

Better betterOf(macle::Better better) {
    switch (better) {
        case macle::Better::Higher:
            return Better::More;
        case macle::Better::Lower:
            return Better::Less;
        case macle::Better::Neither:
            break;
    }
    return Better::Neither;
}

ComparedFigure figureOf(const macle::ComparedRow& row) {
    ComparedFigure figure;
    figure.title = QString::fromStdString(row.title);
    figure.unit = QString::fromStdString(row.unit);
    figure.decimals = row.decimals;
    figure.better = betterOf(row.better);
    if (row.title == kClarity)
        for (const auto& grade : clarityGrades())
            figure.steps.push_back(QString::fromStdString(std::string(grade)));
    return figure;
}

ComparedValue valueOf(const ComparedCell& cell) {
    if (cell.value) return {cell.value, {}};
    return {std::nullopt, QString::fromStdString(cell.text)};
}

}  // namespace

CompareWindow::CompareWindow(QWidget* parent) : QDialog(parent, Qt::Window) {
    setObjectName("compareWindow");
    setWindowTitle(tr("Layouts compared"));
    resize(1240, 860);
    auto* column = new QVBoxLayout(this);
    tabs_ = new QTabWidget;
    tabs_->setObjectName("compareTabs");
    sides_ = new SideBySide;
    chart_ = new CandidateChart;
    tabs_->addTab(sides_, tr("&Side by side"));
    tabs_->addTab(chart_, tr("&Chart of all"));
    column->addWidget(tabs_);
}

void CompareWindow::showChart() {
    tabs_->setCurrentWidget(chart_);
}

std::vector<ComparedRow> rowsFrom(const Comparison& comparison) {
    std::vector<ComparedRow> rows;
    for (const macle::ComparedRow& from : comparison.rows) {
        ComparedRow row;
        row.figure = figureOf(from);
        for (const ComparedCell& cell : from.cells)
            row.values.push_back(valueOf(cell));
        rows.push_back(std::move(row));
    }
    return rows;
}

ChartContent chartFrom(const Comparison& comparison) {
    ChartContent content;
    for (const std::string& name : comparison.names) {
        ChartCandidate candidate;
        candidate.name = QString::fromStdString(name);
        content.candidates.push_back(std::move(candidate));
    }
    for (const macle::ComparedRow& row : comparison.rows) {
        const bool some = std::any_of(row.cells.begin(), row.cells.end(),
                                      [](const ComparedCell& cell) { return cell.value.has_value(); });
        if (!some) continue;
        content.figures.push_back(figureOf(row));
        for (std::size_t i = 0; i < row.cells.size(); ++i)
            content.candidates[i].values.push_back(valueOf(row.cells[i]));
    }
    return content;
}

}  // namespace macle::app
