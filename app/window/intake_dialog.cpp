#include "app/window/intake_dialog.h"

#include <QButtonGroup>
#include <QDialogButtonBox>
#include <QHeaderView>
#include <QLabel>
#include <QLocale>
#include <QPushButton>
#include <QRadioButton>
#include <QTableWidget>
#include <QVBoxLayout>
#include <algorithm>

namespace macle::app {
namespace {

constexpr int kMostShown = 12;

QString sizeText(const QLocale& locale, const Eigen::Vector3d& extent_mm) {
    return QObject::tr("%1 × %2 × %3 mm")
        .arg(locale.toString(extent_mm.x(), 'g', 5), locale.toString(extent_mm.y(), 'g', 5),
             locale.toString(extent_mm.z(), 'g', 5));
}

}  // namespace

UnitDialog::UnitDialog(const QString& file, std::vector<UnitChoice> choices, QWidget* parent)
    : QDialog(parent), choices_(std::move(choices)) {
    setObjectName("unitDialog");
    setWindowTitle(tr("Unit of the scan"));
    resize(520, 280);
    auto* column = new QVBoxLayout(this);
    auto* head = new QLabel(
        tr("%1 does not say in which unit it is, and in millimetres it would have a size that few "
           "stones have. Choose the unit that gives the size and the weight of the stone on your "
           "desk. Weights are for diamond.")
            .arg(file));
    head->setWordWrap(true);
    column->addWidget(head);
    table_ = new QTableWidget(static_cast<int>(choices_.size()), 3);
    table_->setObjectName("units");
    table_->setAccessibleName(tr("Units with the size and weight each would give"));
    table_->setHorizontalHeaderLabels({tr("Unit"), tr("Size"), tr("Weight")});
    table_->verticalHeader()->hide();
    table_->setEditTriggers(QAbstractItemView::NoEditTriggers);
    table_->setSelectionBehavior(QAbstractItemView::SelectRows);
    table_->setSelectionMode(QAbstractItemView::SingleSelection);
    table_->setTabKeyNavigation(false);
    for (int row = 0; row < static_cast<int>(choices_.size()); ++row) {
        const UnitChoice& choice = choices_[static_cast<std::size_t>(row)];
        const QString unit = choice.name == "um" ? tr("µm") : QString::fromStdString(choice.name);
        table_->setItem(row, 0, new QTableWidgetItem(unit));
        table_->setItem(row, 1, new QTableWidgetItem(sizeText(locale(), choice.extent_mm)));
        auto* weight =
            new QTableWidgetItem(tr("%1 ct").arg(locale().toString(choice.weight_ct, 'g', 4)));
        weight->setTextAlignment(Qt::AlignRight | Qt::AlignVCenter);
        table_->setItem(row, 2, weight);
    }
    table_->resizeColumnsToContents();
    table_->horizontalHeader()->setStretchLastSection(true);
    table_->selectRow(0);
    column->addWidget(table_, 1);
    auto* buttons = new QDialogButtonBox(QDialogButtonBox::Cancel);
    auto* take = buttons->addButton(tr("&Take in"), QDialogButtonBox::AcceptRole);
    take->setObjectName("unitTake");
    take->setDefault(true);
    connect(buttons, &QDialogButtonBox::accepted, this, &QDialog::accept);
    connect(buttons, &QDialogButtonBox::rejected, this, &QDialog::reject);
    connect(table_, &QTableWidget::itemActivated, this, &QDialog::accept);
    column->addWidget(buttons);
    table_->setFocus();
}

const UnitChoice& UnitDialog::chosen() const {
    return choices_[static_cast<std::size_t>(
        std::clamp(table_->currentRow(), 0, static_cast<int>(choices_.size()) - 1))];
}

MendDialog::MendDialog(const QString& trouble, const ScanChoices& choices, QWidget* parent)
    : QDialog(parent), holes_(!choices.holes_mm.empty()) {
    setObjectName("mendDialog");
    setWindowTitle(tr("The scan cannot be taken in as it is"));
    resize(560, 300);
    auto* column = new QVBoxLayout(this);
    auto* why = new QLabel(trouble);
    why->setObjectName("mendTrouble");
    why->setWordWrap(true);
    why->setTextInteractionFlags(Qt::TextSelectableByMouse);
    column->addWidget(why);
    auto* buttons = new QDialogButtonBox(QDialogButtonBox::Cancel);
    QPushButton* go = nullptr;
    if (holes_) {
        QString places;
        for (int i = 0; i < std::min(3, static_cast<int>(choices.holes_mm.size())); ++i) {
            const Eigen::Vector3d& p = choices.holes_mm[static_cast<std::size_t>(i)];
            places += tr("\n%1   %2   %3 mm")
                          .arg(locale().toString(p.x(), 'f', 2), locale().toString(p.y(), 'f', 2),
                               locale().toString(p.z(), 'f', 2));
        }
        auto* offer = new QLabel(
            tr("It has %n hole(s), around:%1\n\nThey can be filled with surface of least area. The "
               "weight there is then a guess; the report will say so.",
               nullptr, static_cast<int>(choices.holes_mm.size()))
                .arg(places));
        offer->setWordWrap(true);
        column->addWidget(offer);
        go = buttons->addButton(tr("C&lose the holes"), QDialogButtonBox::AcceptRole);
    } else {
        column->addWidget(new QLabel(tr("Which shell is the rough? The others are left out.")));
        shells_ = new QButtonGroup(this);
        int index = 0;
        std::size_t largest = 0;
        for (std::size_t i = 0; i < choices.shells.size(); ++i)
            if (choices.shells[i].volume_mm3 > choices.shells[largest].volume_mm3) largest = i;
        for (const ScanChoices::Shell& shell : choices.shells) {
            if (index >= kMostShown) break;
            auto* button = new QRadioButton(
                tr("Shell %1: %2, %3 mm³, %4 triangles")
                    .arg(index + 1)
                    .arg(sizeText(locale(), shell.extent_mm),
                         locale().toString(shell.volume_mm3, 'g', 5),
                         locale().toString(static_cast<qlonglong>(shell.triangles))));
            button->setChecked(index == static_cast<int>(largest));
            shells_->addButton(button, index++);
            column->addWidget(button);
        }
        go = buttons->addButton(tr("&Take this shell"), QDialogButtonBox::AcceptRole);
    }
    go->setObjectName("mendGo");
    column->addStretch(1);
    connect(buttons, &QDialogButtonBox::accepted, this, &QDialog::accept);
    connect(buttons, &QDialogButtonBox::rejected, this, &QDialog::reject);
    column->addWidget(buttons);
    // Enter must not mend by itself.
    buttons->button(QDialogButtonBox::Cancel)->setDefault(true);
    buttons->button(QDialogButtonBox::Cancel)->setFocus();
}

IntakeRequest MendDialog::request(IntakeRequest before) const {
    if (holes_)
        before.closeHoles = true;
    else
        before.shell = std::max(0, shells_->checkedId());
    return before;
}

}  // namespace macle::app
