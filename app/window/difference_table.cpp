#include "app/window/difference_table.h"

#include <QComboBox>
#include <QEvent>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QLabel>
#include <QSignalBlocker>
#include <QTableWidget>
#include <QVBoxLayout>
#include <algorithm>

#include "app/window/theme.h"
#include "core/base/error.h"

namespace macle::app {
namespace {

constexpr auto kBestMark = "◆";

}  // namespace

DifferenceTable::DifferenceTable(QWidget* parent) : QWidget(parent) {
    setObjectName("differences");
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(0, 0, 0, 0);
    column->setSpacing(4);
    auto* head = new QHBoxLayout;
    head->setContentsMargins(6, 4, 6, 0);
    auto* label = new QLabel(tr("&Differences to"));
    baseBox_ = new QComboBox;
    baseBox_->setObjectName("differencesBase");
    baseBox_->setAccessibleName(tr("Layout the differences are told to"));
    baseBox_->setToolTip(tr("The layout the others are measured against"));
    label->setBuddy(baseBox_);
    auto* caption = new QLabel(tr("%1 best of its row   ·   planning estimates").arg(kBestMark));
    caption->setObjectName("differencesCaption");
    busy_ = new QLabel;
    busy_->setObjectName("differencesBusy");
    busy_->hide();
    head->addWidget(label);
    head->addWidget(baseBox_);
    head->addSpacing(12);
    head->addWidget(busy_);
    head->addStretch(1);
    head->addWidget(caption);
    column->addLayout(head);
    table_ = new QTableWidget;
    table_->setObjectName("differencesTable");
    table_->setAccessibleName(tr("Figures of the layouts and their differences"));
    table_->setEditTriggers(QAbstractItemView::NoEditTriggers);
    table_->setSelectionMode(QAbstractItemView::SingleSelection);
    table_->setAlternatingRowColors(true);
    table_->setWordWrap(true);
    table_->setTabKeyNavigation(false);  // Tab goes on; the arrow keys move in the table
    table_->horizontalHeader()->setSectionResizeMode(QHeaderView::Stretch);
    table_->verticalHeader()->setSectionResizeMode(QHeaderView::ResizeToContents);
    column->addWidget(table_, 1);
    connect(baseBox_, &QComboBox::currentIndexChanged, this, [this](int index) {
        if (index < 0 || index == base_) return;
        base_ = index;
        fill();
        Q_EMIT baseChanged(index);
    });
}

void DifferenceTable::display(const std::vector<QString>& names,
                              const std::vector<ShownRow>& rows) {
    for (const ShownRow& row : rows)
        if (row.values.size() != names.size())
            throw Error(ErrorCode::BadUsage,
                        "the row " + row.figure.title.toStdString() + " has " +
                            std::to_string(row.values.size()) + " values for " +
                            std::to_string(names.size()) + " layouts",
                        "give one for each layout, with the reason where there is none");
    names_ = names;
    rows_ = rows;
    base_ = std::clamp(base_, 0, std::max(static_cast<int>(names_.size()) - 1, 0));
    {
        const QSignalBlocker quiet(baseBox_);
        baseBox_->clear();
        for (const QString& name : names_)
            baseBox_->addItem(name);
        baseBox_->setCurrentIndex(names_.empty() ? -1 : base_);
    }
    fill();
}

void DifferenceTable::setBase(int layout) {
    if (layout < 0 || layout >= static_cast<int>(names_.size())) return;
    base_ = layout;
    const QSignalBlocker quiet(baseBox_);
    baseBox_->setCurrentIndex(layout);
    fill();
}

void DifferenceTable::setBeingComputed(const QString& what) {
    busy_->setText(what);
    busy_->setVisible(!what.isEmpty());
    table_->setEnabled(what.isEmpty());
}

void DifferenceTable::fill() {
    const int columns = static_cast<int>(names_.size());
    table_->clear();
    table_->setRowCount(static_cast<int>(rows_.size()));
    table_->setColumnCount(columns);
    for (int column = 0; column < columns; ++column) {
        const QString& name = names_[static_cast<std::size_t>(column)];
        table_->setHorizontalHeaderItem(
            column, new QTableWidgetItem(column == base_ ? tr("%1 (base)").arg(name) : name));
    }
    for (std::size_t r = 0; r < rows_.size(); ++r) {
        const ShownRow& row = rows_[r];
        auto* title = new QTableWidgetItem(row.figure.title);
        title->setToolTip(row.note);
        table_->setVerticalHeaderItem(static_cast<int>(r), title);
        const std::vector<int> best = bestOf(row.figure, row.values);
        const ShownValue& base = row.values[static_cast<std::size_t>(base_)];
        for (int column = 0; column < columns; ++column) {
            const ShownValue& value = row.values[static_cast<std::size_t>(column)];
            const bool isBest = std::find(best.begin(), best.end(), column) != best.end();
            QString shown =
                value.missing.isEmpty() ? tr("not known") : tr("not known: %1").arg(value.missing);
            QString told = shown;
            if (value.value) {
                shown = value.words.isEmpty() ? valueText(row.figure, *value.value, locale())
                                              : value.words;
                told = shown;
                if (column != base_ && base.value) {
                    const QString off =
                        differenceText(row.figure, *value.value - *base.value, locale());
                    shown = tr("%1   (%2)").arg(shown, off);
                    told =
                        tr("%1, %2 to %3").arg(told, off, names_[static_cast<std::size_t>(base_)]);
                }
            }
            auto* item = new QTableWidgetItem(
                isBest ? QString::fromUtf8(kBestMark) + QChar(QChar::Nbsp) + shown : shown);
            item->setTextAlignment(Qt::AlignCenter);
            item->setData(Qt::AccessibleTextRole,
                          tr("%1, %2: %3%4")
                              .arg(row.figure.title, names_[static_cast<std::size_t>(column)], told,
                                   isBest ? tr(", best") : QString()));
            if (isBest) {
                QFont bold = table_->font();
                bold.setBold(true);
                item->setFont(bold);
            }
            if (!value.value) {
                item->setForeground(quietText());
                item->setToolTip(value.missing);
            }
            table_->setItem(static_cast<int>(r), column, item);
        }
    }
}

void DifferenceTable::changeEvent(QEvent* event) {
    QWidget::changeEvent(event);
    if (event->type() == QEvent::PaletteChange || event->type() == QEvent::LocaleChange) fill();
}

}  // namespace macle::app
