// RecoveryDialog: work that was not saved when the program ended. Shows for each draft when it was
// last changed and when its file was saved, and asks. Neither is touched until the planner says so.
// Thread contract: GUI thread.
#pragma once

#include <QDialog>
#include <vector>

#include "core/archive/draft.h"

class QTreeWidget;
class QLabel;
class QPushButton;

namespace macle::app {

class RecoveryDialog : public QDialog {
    Q_OBJECT
  public:
    RecoveryDialog(std::vector<DraftInfo> drafts, QWidget* parent);

  Q_SIGNALS:
    void recoverAsked(const macle::DraftInfo& draft);  // the dialog closes with it
    void discardFailed(const QString& message, const QString& remedy);

  private:
    void fill();
    void refresh();
    void discard();
    int chosen() const;

    std::vector<DraftInfo> drafts_;
    QTreeWidget* list_ = nullptr;
    QLabel* detail_ = nullptr;
    QPushButton* recover_ = nullptr;
    QPushButton* discard_ = nullptr;
};

}  // namespace macle::app
