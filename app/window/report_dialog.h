// ReportDialog: the account of the stone: what the scan held, what was repaired or left at intake,
// and the weigh-in of scan against scale. Edits the name and the scale weight only.
// Thread contract: GUI thread.
#pragma once

#include <QDialog>
#include <memory>
#include <optional>
#include <string>

#include "core/stone/stone.h"

class QLabel;
class QLineEdit;

namespace macle::app {

class NumberBox;

class ReportDialog : public QDialog {
    Q_OBJECT
  public:
    ReportDialog(std::shared_ptr<const Stone> stone, QWidget* parent);

    std::string name() const;
    std::optional<double> scale_ct() const;

  protected:
    void keyPressEvent(QKeyEvent* event) override;

  private:
    void compare();

    std::shared_ptr<const Stone> stone_;
    QLineEdit* name_ = nullptr;
    NumberBox* scale_ = nullptr;
    QLabel* verdict_ = nullptr;
};

}  // namespace macle::app
