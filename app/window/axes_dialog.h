// AxesDialog: the crystal's axes, from two or three natural faces picked on the stage or as typed
// directions; shows the angles between the faces against those of the cubic system, and how the
// table lies (four-, three- or two-point).
// Thread contract: GUI thread.
#pragma once

#include <optional>
#include <vector>

#include "app/window/steady_dialog.h"
#include "core/stone/crystal_axes.h"
#include "core/stone/pick.h"

class QComboBox;
class QLabel;
class QPushButton;
class QTableWidget;

namespace macle::app {

class NumberBox;

class AxesDialog : public SteadyDialog {
    Q_OBJECT
  public:
    // `tableNormal`: of the present cut, stone frame.
    AxesDialog(const std::optional<CrystalAxes>& now, const Eigen::Vector3d& tableNormal,
               QWidget* parent);

    std::optional<CrystalAxes> axes() const { return axes_; }
    // From the stage.
    void addFace(const FaceAt& face);

  private:
    void fill();
    void refresh();
    void takeTyped();

    Eigen::Vector3d tableNormal_;
    std::vector<NaturalFace> faces_;
    std::vector<double> spread_deg_;
    std::optional<CrystalAxes> axes_;
    QTableWidget* table_ = nullptr;
    QComboBox* form_ = nullptr;
    QLabel* verdict_ = nullptr;
    QLabel* lies_ = nullptr;
    QPushButton* ok_ = nullptr;
    NumberBox* typed_[6] = {};
};

}  // namespace macle::app
