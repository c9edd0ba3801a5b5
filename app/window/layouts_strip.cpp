#include "app/window/layouts_strip.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QListWidget>
#include <QPushButton>
#include <QVBoxLayout>
#include <algorithm>

namespace macle::app {

LayoutsStrip::LayoutsStrip(QWidget* parent) : QWidget(parent) {
    setObjectName("layouts");
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(8, 2, 8, 4);
    column->setSpacing(2);
    auto* head = new QHBoxLayout;
    caption_ = new QLabel;
    caption_->setObjectName("layoutsCaption");
    head->addWidget(caption_);
    head->addStretch(1);
    const auto button = [&](const char* name, const QString& text, const QString& tip, auto told) {
        auto* made = new QPushButton(text);
        made->setObjectName(name);
        made->setToolTip(tip);
        made->setFlat(true);
        connect(made, &QPushButton::clicked, this, told);
        head->addWidget(made);
        buttons_.push_back(made);
        return made;
    };
    button("layoutsCopy", tr("Copy"), tr("Begin another layout from the one shown"),
           &LayoutsStrip::copyAsked);
    button("layoutsRename", tr("Rename…"), tr("Give the layout shown another name"),
           &LayoutsStrip::renameAsked);
    remove_ =
        button("layoutsRemove", tr("Remove"), tr("Remove the layout shown; undo brings it back"),
               &LayoutsStrip::removeAsked);
    sideBySide_ = button("layoutsSideBySide", tr("Side by side"),
                         tr("Look at the ticked layouts side by side: two to four of them"),
                         &LayoutsStrip::sideBySideAsked);
    column->addLayout(head);
    list_ = new QListWidget;
    list_->setObjectName("layoutsList");
    list_->setAccessibleName(tr("Layouts of this stone"));
    list_->setViewMode(QListView::IconMode);
    list_->setFlow(QListView::LeftToRight);
    list_->setWrapping(false);
    list_->setMovement(QListView::Static);
    list_->setIconSize({kPictureWidth, kPictureHeight});
    list_->setSpacing(4);
    list_->setWordWrap(true);
    list_->setTextElideMode(Qt::ElideRight);
    list_->setVerticalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
    list_->setToolTip(tr("Choose a layout to work on it; tick those to be seen side by side."));
    column->addWidget(list_);
    connect(list_, &QListWidget::currentRowChanged, this, [this](int row) {
        if (!filling_ && row >= 0) Q_EMIT chosen(row);
    });
    hide();
}

void LayoutsStrip::display(const std::vector<Entry>& entries, int current) {
    filling_ = true;
    const std::vector<int> ticks = ticked();
    const bool keepTicks = list_->count() == static_cast<int>(entries.size());
    list_->clear();
    const int line = fontMetrics().lineSpacing();
    const QSize cell(kPictureWidth + 48, kPictureHeight + 3 * line + 12);
    for (const Entry& entry : entries) {
        const QPixmap picture = QPixmap::fromImage(entry.picture);
        QIcon icon(picture);
        icon.addPixmap(picture, QIcon::Selected);  // chosen is told by frame and text alone
        const QString name =
            fontMetrics().elidedText(entry.name, Qt::ElideRight, cell.width() - 12);
        auto* item = new QListWidgetItem(
            icon, name + QLatin1Char('\n') + entry.weight + QLatin1Char('\n') + entry.state);
        item->setToolTip(tr("%1: %2, %3").arg(entry.name, entry.weight, entry.state));
        item->setData(Qt::AccessibleTextRole, tr("Layout %1 of %2, %3, %4, %5")
                                                  .arg(list_->count() + 1)
                                                  .arg(entries.size())
                                                  .arg(entry.name, entry.weight, entry.state));
        item->setFlags(item->flags() | Qt::ItemIsUserCheckable);
        const int row = list_->count();
        const bool ticked = keepTicks && std::find(ticks.begin(), ticks.end(), row) != ticks.end();
        item->setCheckState(ticked ? Qt::Checked : Qt::Unchecked);
        item->setSizeHint(cell);
        list_->addItem(item);
    }
    list_->setCurrentRow(current);
    list_->setFixedHeight(cell.height() + 26);  // and the scroll bar, when there is one
    caption_->setText(tr("Layouts: %1").arg(entries.size()));
    remove_->setEnabled(entries.size() > 1);
    sideBySide_->setEnabled(entries.size() > 1);
    filling_ = false;
}

void LayoutsStrip::setChangeable(bool changeable) {
    list_->setEnabled(changeable);
    for (QPushButton* button : buttons_)
        button->setEnabled(changeable);
    remove_->setEnabled(changeable && list_->count() > 1);
    sideBySide_->setEnabled(changeable && list_->count() > 1);
}

std::vector<int> LayoutsStrip::ticked() const {
    std::vector<int> rows;
    for (int row = 0; row < list_->count(); ++row)
        if (list_->item(row)->checkState() == Qt::Checked) rows.push_back(row);
    return rows;
}

}  // namespace macle::app
