// FindLayoutsDialog: what a search for whole layouts may do: how many stones, of which cuts, with
// which saw, and what counts.
// Thread contract: GUI thread.
#pragma once

#include <vector>

#include "app/window/steady_dialog.h"
#include "core/divide/joint_search.h"

class QCheckBox;
class QComboBox;
class QLabel;
class QListWidget;
class QPushButton;
class QSpinBox;

namespace macle::app {

class NumberBox;

struct LayoutWish {
    int stones = 2;
    std::vector<std::string> cuts;  // any of them for any stone
    double kerf_mm = 0.08;
    std::optional<double> exit_mm;  // of a V
    bool mechanical = false;
    bool fewer = true;  // layouts of fewer stones are answers too
    bool byValue = false;
};

class FindLayoutsDialog : public SteadyDialog {
    Q_OBJECT
  public:
    // What cannot be asked for is told why: `noMechanical`, `noValue`; empty: it can.
    FindLayoutsDialog(const LayoutWish& lastTime, const QString& noMechanical,
                      const QString& noValue, QWidget* parent);

    LayoutWish chosen() const;

  private:
    void check();

    QSpinBox* stones_ = nullptr;
    QListWidget* cuts_ = nullptr;
    NumberBox* kerf_ = nullptr;
    QCheckBox* narrowing_ = nullptr;
    NumberBox* exit_ = nullptr;
    QCheckBox* mechanical_ = nullptr;
    QCheckBox* fewer_ = nullptr;
    QComboBox* counts_ = nullptr;
    QPushButton* find_ = nullptr;
};

}  // namespace macle::app
