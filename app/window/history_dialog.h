// HistoryDialog: the edits of the open stone by name and time; choosing one goes back or forth to
// the state after it. Stays open beside the window and follows it.
// Thread contract: GUI thread.
#pragma once

#include <QDialog>

#include "app/window/edit_history.h"

class QListWidget;

namespace macle::app {

class HistoryDialog : public QDialog {
    Q_OBJECT
  public:
    HistoryDialog(EditHistory& history, QWidget* parent);
    void setChangeable(bool changeable);  // not while a job runs

  private:
    void fill();

    EditHistory& history_;
    QListWidget* list_ = nullptr;
    bool filling_ = false;
};

}  // namespace macle::app
