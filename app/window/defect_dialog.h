// DefectDialog: a defect placed by hand: an ellipsoid, or a sheet (a thin plane crack), with its
// place, size, turn, kind, severity and policy. The place may be picked on the section plane of the
// stage; every change is shown there at once.
// Thread contract: GUI thread.
#pragma once

#include "app/window/steady_dialog.h"
#include "core/stone/defect.h"

class QComboBox;
class QFormLayout;
class QLabel;
class QLineEdit;
class QPushButton;

namespace macle::app {

class NumberBox;

class DefectDialog : public SteadyDialog {
    Q_OBJECT
  public:
    // Begins with this defect; a mesh cannot be changed by hand and is refused with
    // Error{BadUsage}.
    DefectDialog(const Defect& start, const QString& title, QWidget* parent);

    Defect defect() const;
    // For a colour zone: an ellipsoid with a hue and a strength, no kind and no policy.
    void showAsZone(const QString& hue);
    QString hue() const;
    // From the stage: a point on the section plane.
    void moveTo(const Eigen::Vector3d& place_mm);

  Q_SIGNALS:
    void changed(const macle::Defect& defect);

  private:
    void tell();

    QLineEdit* name_ = nullptr;
    QComboBox* shape_ = nullptr;
    NumberBox* place_[3] = {};
    NumberBox* size_[3] = {};
    NumberBox* turn_[3] = {};
    QComboBox* kind_ = nullptr;
    NumberBox* severity_ = nullptr;
    QComboBox* policy_ = nullptr;
    NumberBox* margin_ = nullptr;
    QLabel* volume_ = nullptr;
    QLabel* head_ = nullptr;
    QLineEdit* hue_ = nullptr;
    QFormLayout* form_ = nullptr;
};

// A sheet as a rectangle: middle, half sides, turn. Nothing for another polygon.
struct SheetFrame {
    Eigen::Vector3d middle_mm = Eigen::Vector3d::Zero();
    double halfAlong_mm = 0.5;
    double halfAcross_mm = 0.5;
    Eigen::Quaterniond rotation = Eigen::Quaterniond::Identity();
};
Sheet sheetOf(const SheetFrame& frame);
bool frameOf(const Sheet& sheet, SheetFrame& frame);

}  // namespace macle::app
