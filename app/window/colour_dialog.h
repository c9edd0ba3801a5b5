// ColourDialog: colour and fluorescence of the rough as the planner sees them; inputs of the
// appraisal. Estimates, not a grading.
// Thread contract: GUI thread.
#pragma once

#include "app/window/steady_dialog.h"
#include "core/stone/colour.h"

class QComboBox;
class QLineEdit;
class QTreeWidget;

namespace macle::app {

class ColourDialog : public SteadyDialog {
    Q_OBJECT
  public:
    ColourDialog(ColourRecord record, const Eigen::Vector3d& middle_mm, QWidget* parent);
    ColourRecord record() const;

  private:
    void addZone();
    void removeZone();
    void fillZones();

    ColourRecord record_;
    Eigen::Vector3d middle_mm_;
    QComboBox* letter_ = nullptr;
    QLineEdit* hue_ = nullptr;
    QComboBox* fluorescence_ = nullptr;
    QLineEdit* fluorescenceColour_ = nullptr;
    QTreeWidget* zones_ = nullptr;
};

}  // namespace macle::app
