#include "app/window/compare_window.h"

#include <QTabWidget>
#include <QVBoxLayout>

namespace macle::app {
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

}  // namespace macle::app
