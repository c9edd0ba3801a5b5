// CompareWindow: the layouts of a stone compared: some of them side by side with the table of their
// differences, and all of them with what searches found in a chart.
// Thread contract: GUI thread.
#pragma once

#include <QDialog>

#include "app/window/candidate_chart.h"
#include "app/window/side_by_side.h"

class QTabWidget;

namespace macle::app {

class CompareWindow : public QDialog {
    Q_OBJECT
  public:
    explicit CompareWindow(QWidget* parent);

    SideBySide* sideBySide() const { return sides_; }
    CandidateChart* chart() const { return chart_; }
    void showChart();

  private:
    QTabWidget* tabs_ = nullptr;
    SideBySide* sides_ = nullptr;
    CandidateChart* chart_ = nullptr;
};

}  // namespace macle::app
