// WorkDialog: the working order of a layout, step by step: what the stone is after each, what comes
// off, how long it takes, and each facet's angle, azimuth and depth. Shows what it is given.
// Thread contract: GUI thread.
#pragma once

#include <memory>

#include "app/window/steady_dialog.h"
#include "app/window/stone_view.h"
#include "core/bench/working_order.h"
#include "core/stone/stone.h"

class QLabel;
class QSlider;
class QTableWidget;

namespace macle::app {

class WorkDialog : public SteadyDialog {
    Q_OBJECT
  public:
    // `order` with its shapes.
    WorkDialog(std::shared_ptr<const Stone> stone, Layout layout,
               std::shared_ptr<const WorkingOrder> order, render::Theme theme, QWidget* parent);

    void showStep(int step);  // from 0; -1: the rough before the work
    int step() const { return step_; }
    StoneView* view() const { return view_; }
    void setTheme(render::Theme theme);

  private:
    QWidget* makeSteps();
    QWidget* makeStage();
    void showBody(const BenchStep* step);
    void showFacets(const BenchStep& step);
    bool goneBy(const std::string& defect, const BenchStep* step) const;

    std::shared_ptr<const Stone> stone_;
    Layout layout_;
    std::shared_ptr<const WorkingOrder> order_;
    int step_ = -2;
    StoneView* view_ = nullptr;
    QSlider* slider_ = nullptr;
    QTableWidget* steps_ = nullptr;
    QLabel* title_ = nullptr;
    QLabel* what_ = nullptr;
    QTableWidget* facets_ = nullptr;
    QLabel* cautions_ = nullptr;
    QLabel* estimates_ = nullptr;
};

}  // namespace macle::app
