#include "app/window/history_dialog.h"

#include <QDialogButtonBox>
#include <QLabel>
#include <QListWidget>
#include <QLocale>
#include <QVBoxLayout>

namespace macle::app {

HistoryDialog::HistoryDialog(EditHistory& history, QWidget* parent)
    : QDialog(parent), history_(history) {
    setObjectName("historyDialog");
    setWindowTitle(tr("History"));
    resize(380, 460);
    auto* column = new QVBoxLayout(this);
    auto* head =
        new QLabel(tr("Choose an edit to go back or forth to the state after it. The "
                      "history is saved with the stone."));
    head->setWordWrap(true);
    column->addWidget(head);
    list_ = new QListWidget;
    list_->setObjectName("steps");
    list_->setAccessibleName(tr("Edits of the stone"));
    column->addWidget(list_, 1);
    auto* buttons = new QDialogButtonBox(QDialogButtonBox::Close);
    connect(buttons, &QDialogButtonBox::rejected, this, &QDialog::reject);
    column->addWidget(buttons);
    connect(&history_, &EditHistory::changed, this, &HistoryDialog::fill);
    connect(list_, &QListWidget::currentRowChanged, this, [this](int row) {
        // Queued: going there fills the list anew while it reports.
        if (!filling_ && row >= 0)
            QMetaObject::invokeMethod(
                this, [this, row] { history_.goTo(row); }, Qt::QueuedConnection);
    });
    fill();
}

void HistoryDialog::setChangeable(bool changeable) {
    list_->setEnabled(changeable);
}

void HistoryDialog::fill() {
    filling_ = true;
    list_->clear();
    list_->addItem(history_.steps().dropped() > 0 ? tr("Earliest state kept") : tr("As it began"));
    for (int i = 0; i < history_.count(); ++i) {
        auto* item = new QListWidgetItem(
            QStringLiteral("%1    %2")
                .arg(locale().toString(history_.time(i), tr("d MMM, HH:mm:ss")), history_.text(i)),
            list_);
        // What was taken back stays to be read, in the colour of what is out of reach.
        if (i >= history_.index())
            item->setForeground(palette().brush(QPalette::Disabled, QPalette::Text));
    }
    list_->setCurrentRow(history_.index());
    filling_ = false;
}

}  // namespace macle::app
