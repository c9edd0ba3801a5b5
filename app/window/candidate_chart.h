// CandidateChart: all candidates for a stone, its layouts and what searches found, by their
// figures: as points of two chosen figures, or as lines across all of them. Better is up and to the
// right. Shows what it is given; planning estimates.
// Thread contract: GUI thread.
#pragma once

#include <QWidget>

#include "app/window/candidate_plot.h"

class QComboBox;
class QLabel;

namespace macle::app {

class CandidateChart : public QWidget {
    Q_OBJECT
  public:
    explicit CandidateChart(QWidget* parent = nullptr);

    // Keeps the chosen figures by their titles. Throws as CandidatePlot::display.
    void display(const std::vector<ShownFigure>& figures,
                 const std::vector<ChartCandidate>& candidates, int chosen = -1);
    void setChosen(int candidate);  // -1: none; reports nothing
    void setForm(ChartForm form);
    // While figures are on their way: a line of text; empty: none.
    void setBeingComputed(const QString& what);

    CandidatePlot* plot() const { return plot_; }

  Q_SIGNALS:
    void candidateChosen(int candidate);
    void candidateAsked(int candidate);  // Enter or double click: to work on it

  private:
    void applyAxes();

    QComboBox* form_ = nullptr;
    QComboBox* x_ = nullptr;
    QComboBox* y_ = nullptr;
    QWidget* axes_ = nullptr;
    QLabel* busy_ = nullptr;
    CandidatePlot* plot_ = nullptr;
};

}  // namespace macle::app
