// SteadyDialog: Enter in a field finishes the field and does not close the dialog with it.
// Thread contract: GUI thread.
#pragma once

#include <QDialog>
#include <QKeyEvent>
#include <QPushButton>

namespace macle::app {

class SteadyDialog : public QDialog {
  public:
    using QDialog::QDialog;

  protected:
    void keyPressEvent(QKeyEvent* event) override {
        const bool enter = event->key() == Qt::Key_Return || event->key() == Qt::Key_Enter;
        if (enter && qobject_cast<QPushButton*>(focusWidget()) == nullptr) return;
        QDialog::keyPressEvent(event);
    }
};

}  // namespace macle::app
