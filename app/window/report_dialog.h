// ReportDialog: the account of the stone: what the scan held, what was repaired or left at intake,
// each with its places on the stage, and the weigh-in of scan against scale. Edits the name, the
// scale weight and which weight is trusted.
// Thread contract: GUI thread.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "app/window/steady_dialog.h"
#include "core/stone/stone.h"

class QComboBox;
class QLabel;
class QLineEdit;

namespace macle::app {

class NumberBox;

class ReportDialog : public SteadyDialog {
    Q_OBJECT
  public:
    ReportDialog(std::shared_ptr<const Stone> stone, QWidget* parent);

    std::string name() const;
    std::optional<double> scale_ct() const;
    TrustedWeight trusted() const;

  Q_SIGNALS:
    // Of the finding that is chosen in the list, to be shown on the stage.
    void placesChosen(const std::vector<Eigen::Vector3d>& places_mm);

  private:
    void compare();

    std::shared_ptr<const Stone> stone_;
    QLineEdit* name_ = nullptr;
    NumberBox* scale_ = nullptr;
    QLabel* verdict_ = nullptr;
    QComboBox* trusted_ = nullptr;
};

}  // namespace macle::app
