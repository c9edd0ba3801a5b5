#include "app/window/free_dialog.h"

#include <QCheckBox>
#include <QDialogButtonBox>
#include <QGridLayout>
#include <QLabel>
#include <QPushButton>
#include <QVBoxLayout>
#include <algorithm>

#include "app/window/number_box.h"
#include "app/window/theme.h"

namespace macle::app {

FreeDialog::FreeDialog(const CutInfo& cut, const std::map<std::string, double>& proportions,
                       const std::vector<FreeProportion>& lastTime, QWidget* parent)
    : QDialog(parent) {
    setObjectName("freeDialog");
    setWindowTitle(tr("Find the best with free proportions"));
    auto* column = new QVBoxLayout(this);
    auto* head =
        new QLabel(tr("The search may choose the proportions that are ticked, within "
                      "these ranges, to get the heaviest stone. The others stay."));
    head->setWordWrap(true);
    column->addWidget(head);
    auto* grid = new QGridLayout;
    grid->setHorizontalSpacing(10);
    grid->addWidget(new QLabel(tr("Free")), 0, 0);
    grid->addWidget(new QLabel(tr("From")), 0, 1);
    grid->addWidget(new QLabel(tr("To")), 0, 2);
    for (const ProportionInfo& info : cut.proportions) {
        const auto known = std::find_if(lastTime.begin(), lastTime.end(),
                                        [&](const auto& f) { return f.key == info.key; });
        const QString label = QString::fromStdString(info.label);
        const auto present = proportions.find(info.key);
        const FreeProportion range =
            known != lastTime.end()
                ? *known
                : freeAround(info, present != proportions.end() ? present->second : info.standard);
        Row row{info, new QCheckBox(label), new NumberBox, new NumberBox};
        const QString unit = info.unit == "deg" ? QStringLiteral("°") : tr(" %");
        const int at = static_cast<int>(rows_.size()) + 1;
        row.free->setObjectName(QStringLiteral("free_%1").arg(QString::fromStdString(info.key)));
        row.free->setChecked(known != lastTime.end());
        for (NumberBox* box : {row.low, row.high}) {
            box->setRange(info.low, info.high);
            box->setDecimals(2);
            box->setSuffix(unit);
            box->setSingleStep(0.5);
            box->setEnabled(row.free->isChecked());
            connect(row.free, &QCheckBox::toggled, box, &QWidget::setEnabled);
            connect(box, &QDoubleSpinBox::valueChanged, this, &FreeDialog::check);
        }
        row.low->setObjectName(QStringLiteral("low_%1").arg(QString::fromStdString(info.key)));
        row.high->setObjectName(QStringLiteral("high_%1").arg(QString::fromStdString(info.key)));
        row.low->setAccessibleName(tr("%1 from").arg(label));
        row.high->setAccessibleName(tr("%1 to").arg(label));
        row.low->setValue(range.low);
        row.high->setValue(range.high);
        connect(row.free, &QCheckBox::toggled, this, &FreeDialog::check);
        grid->addWidget(row.free, at, 0);
        grid->addWidget(row.low, at, 1);
        grid->addWidget(row.high, at, 2);
        rows_.push_back(row);
    }
    column->addLayout(grid);
    trouble_ = new QLabel;
    trouble_->setObjectName("freeTrouble");
    trouble_->setWordWrap(true);
    colourText(trouble_, attentionColour());
    column->addWidget(trouble_);
    auto* buttons = new QDialogButtonBox(QDialogButtonBox::Cancel);
    search_ = buttons->addButton(tr("Search"), QDialogButtonBox::AcceptRole);
    search_->setObjectName("freeSearch");
    connect(buttons, &QDialogButtonBox::accepted, this, &QDialog::accept);
    connect(buttons, &QDialogButtonBox::rejected, this, &QDialog::reject);
    column->addWidget(buttons);
    check();
}

std::vector<FreeProportion> FreeDialog::chosen() const {
    std::vector<FreeProportion> chosen;
    for (const Row& row : rows_)
        if (row.free->isChecked())
            chosen.push_back({row.info.key, row.low->value(), row.high->value()});
    return chosen;
}

void FreeDialog::check() {
    if (search_ == nullptr) return;  // still being put together
    const std::vector<FreeProportion> now = chosen();
    QString trouble;
    if (now.size() > kMostFreeProportions)
        trouble = tr("At most %1 can be free at once.").arg(kMostFreeProportions);
    for (const FreeProportion& one : now)
        if (!(one.low < one.high)) trouble = tr("A range must end above its start.");
    trouble_->setText(trouble);
    search_->setEnabled(trouble.isEmpty() && !now.empty());
}

}  // namespace macle::app
