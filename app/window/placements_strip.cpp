#include "app/window/placements_strip.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QListWidget>
#include <QPushButton>
#include <QVBoxLayout>

namespace macle::app {

PlacementsStrip::PlacementsStrip(QWidget* parent) : QWidget(parent) {
    setObjectName("placements");
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(8, 2, 8, 4);
    column->setSpacing(2);
    auto* head = new QHBoxLayout;
    caption_ = new QLabel;
    caption_->setObjectName("placementsCaption");
    auto* away = new QPushButton(tr("Put away"));
    away->setObjectName("placementsAway");
    away->setToolTip(tr("Put these placements away; the cut stays where it is"));
    away->setFlat(true);
    head->addWidget(caption_);
    head->addStretch(1);
    head->addWidget(away);
    column->addLayout(head);
    list_ = new QListWidget;
    list_->setObjectName("placementsList");
    list_->setAccessibleName(tr("Placements found"));
    list_->setViewMode(QListView::IconMode);
    list_->setFlow(QListView::LeftToRight);
    list_->setWrapping(false);
    list_->setMovement(QListView::Static);
    list_->setIconSize({kPictureWidth, kPictureHeight});
    list_->setSpacing(4);
    list_->setVerticalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
    list_->setToolTip(
        tr("Clearly different placements, heaviest first. Choose one to put the cut "
           "there; the arrow keys step through them."));
    column->addWidget(list_);
    connect(list_, &QListWidget::currentRowChanged, this, [this](int row) {
        if (!filling_ && row >= 0) Q_EMIT chosen(row);
    });
    connect(list_, &QListWidget::itemClicked, this,
            [this](QListWidgetItem* item) { Q_EMIT chosen(list_->row(item)); });
    connect(away, &QPushButton::clicked, this, &PlacementsStrip::putAwayAsked);
    hide();
}

void PlacementsStrip::display(const std::vector<Entry>& entries, int current) {
    filling_ = true;
    list_->clear();
    const int line = fontMetrics().lineSpacing();
    const QSize cell(kPictureWidth + 12, kPictureHeight + line + 12);
    for (const Entry& entry : entries) {
        const QPixmap picture = QPixmap::fromImage(entry.picture);
        QIcon icon(picture);
        icon.addPixmap(picture, QIcon::Selected);  // chosen is told by frame and text alone
        auto* item = new QListWidgetItem(icon, entry.weight);
        item->setToolTip(tr("%1, %2").arg(entry.weight, entry.size));
        item->setData(Qt::AccessibleTextRole, tr("Placement %1 of %2, %3, %4")
                                                  .arg(list_->count() + 1)
                                                  .arg(entries.size())
                                                  .arg(entry.weight, entry.size));
        item->setSizeHint(cell);
        list_->addItem(item);
    }
    list_->setCurrentRow(current);
    list_->setFixedHeight(cell.height() + 26);  // and the scroll bar, when there is one
    caption_->setText(tr("Clearly different placements found: %1").arg(entries.size()));
    filling_ = false;
}

void PlacementsStrip::setCurrent(int index) {
    filling_ = true;
    if (index >= 0)
        list_->setCurrentRow(index);
    else {
        list_->setCurrentRow(-1);
        list_->clearSelection();
    }
    filling_ = false;
}

void PlacementsStrip::setChangeable(bool changeable) {
    list_->setEnabled(changeable);
}

}  // namespace macle::app
