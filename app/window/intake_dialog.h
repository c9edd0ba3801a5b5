// The questions of the intake, asked only when a scan raises them: which unit it is in, and whether
// open rims shall be closed or which of several shells is the rough.
// Thread contract: GUI thread.
#pragma once

#include <QDialog>
#include <vector>

#include "core/stone/intake.h"

class QButtonGroup;
class QTableWidget;

namespace macle::app {

// Shows for each unit the size and the weight it would give.
class UnitDialog : public QDialog {
    Q_OBJECT
  public:
    UnitDialog(const QString& file, std::vector<UnitChoice> choices, QWidget* parent);
    const UnitChoice& chosen() const;

  private:
    std::vector<UnitChoice> choices_;
    QTableWidget* table_ = nullptr;
};

// Says why the scan was refused and what it could be taken in with. Nothing is done unasked.
class MendDialog : public QDialog {
    Q_OBJECT
  public:
    MendDialog(const QString& trouble, const ScanChoices& choices, QWidget* parent);
    // What was asked for, on top of what was asked before.
    IntakeRequest request(IntakeRequest before) const;

  private:
    bool holes_ = false;
    QButtonGroup* shells_ = nullptr;
};

}  // namespace macle::app
