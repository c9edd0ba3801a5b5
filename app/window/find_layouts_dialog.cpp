#include "app/window/find_layouts_dialog.h"

#include <QCheckBox>
#include <QComboBox>
#include <QDialogButtonBox>
#include <QFormLayout>
#include <QLabel>
#include <QListWidget>
#include <QPushButton>
#include <QSpinBox>
#include <QVBoxLayout>
#include <algorithm>

#include "app/window/number_box.h"
#include "app/window/theme.h"
#include "core/cut/library.h"

namespace macle::app {
namespace {

constexpr int kMostWished = 6;  // a search for more finds little in the time a planner waits
constexpr double kWidestKerf_mm = 5.0;

}  // namespace

FindLayoutsDialog::FindLayoutsDialog(const LayoutWish& lastTime, const QString& noMechanical,
                                     const QString& noValue, QWidget* parent)
    : SteadyDialog(parent) {
    setObjectName("findLayoutsDialog");
    setWindowTitle(tr("Find layouts of several stones"));
    resize(430, 560);
    auto* column = new QVBoxLayout(this);
    auto* head = new QLabel(tr(
        "The search saws the rough and fits a stone into each piece, so that all stones "
        "together give the most. It runs twice as long as a search for one stone is set to run."));
    head->setWordWrap(true);
    column->addWidget(head);
    auto* form = new QFormLayout;
    stones_ = new QSpinBox;
    stones_->setObjectName("wishStones");
    stones_->setRange(2, kMostWished);
    stones_->setValue(lastTime.stones);
    form->addRow(tr("&Stones"), stones_);
    fewer_ = new QCheckBox(tr("fewer of them are answers too"));
    fewer_->setObjectName("wishFewer");
    fewer_->setChecked(lastTime.fewer);
    form->addRow(QString(), fewer_);
    cuts_ = new QListWidget;
    cuts_->setObjectName("wishCuts");
    cuts_->setAccessibleName(tr("Cuts any of the stones may have"));
    for (const CutInfo& cut : cutLibrary()) {
        auto* item = new QListWidgetItem(QString::fromStdString(cut.title), cuts_);
        item->setData(Qt::UserRole, QString::fromStdString(cut.name));
        const bool ticked =
            std::find(lastTime.cuts.begin(), lastTime.cuts.end(), cut.name) != lastTime.cuts.end();
        item->setFlags(item->flags() | Qt::ItemIsUserCheckable);
        item->setCheckState(ticked ? Qt::Checked : Qt::Unchecked);
    }
    form->addRow(tr("&Cuts"), cuts_);
    kerf_ = addNumberField(form, tr("&Kerf"), "wishKerf", tr(" mm"), 0.0, kWidestKerf_mm, 3, 0.01,
                           tr("Width of what a saw turns to dust; of a V where the beam enters"));
    kerf_->setValue(lastTime.kerf_mm);
    narrowing_ = new QCheckBox(tr("narrowing to a V, which leaves with"));
    narrowing_->setObjectName("wishNarrowing");
    narrowing_->setChecked(lastTime.exit_mm.has_value());
    exit_ = new NumberBox;
    exit_->setObjectName("wishExit");
    exit_->setAccessibleName(tr("Width of the kerf where the beam leaves"));
    exit_->setRange(0.0, kWidestKerf_mm);
    exit_->setDecimals(3);
    exit_->setSuffix(tr(" mm"));
    exit_->setValue(lastTime.exit_mm.value_or(0.5 * lastTime.kerf_mm));
    form->addRow(narrowing_, exit_);
    mechanical_ = new QCheckBox(tr("along cube and dodecahedron planes only (mechanical saw)"));
    mechanical_->setObjectName("wishMechanical");
    mechanical_->setChecked(lastTime.mechanical && noMechanical.isEmpty());
    mechanical_->setEnabled(noMechanical.isEmpty());
    mechanical_->setToolTip(noMechanical);
    form->addRow(mechanical_);
    counts_ = new QComboBox;
    counts_->setObjectName("wishCounts");
    counts_->addItem(tr("weight of all stones"));
    if (noValue.isEmpty()) counts_->addItem(tr("value of all stones"));
    counts_->setCurrentIndex(lastTime.byValue && noValue.isEmpty() ? 1 : 0);
    counts_->setToolTip(noValue);
    form->addRow(tr("&What counts"), counts_);
    column->addLayout(form);
    auto* caution =
        new QLabel(noValue.isEmpty() ? tr("Weights and values are planning estimates.")
                                     : tr("Weights are planning estimates. %1").arg(noValue));
    caution->setWordWrap(true);
    colourText(caution, quietText());
    column->addWidget(caution);
    auto* buttons = new QDialogButtonBox(QDialogButtonBox::Cancel);
    find_ = buttons->addButton(tr("&Find"), QDialogButtonBox::AcceptRole);
    find_->setObjectName("wishFind");
    connect(buttons, &QDialogButtonBox::accepted, this, &QDialog::accept);
    connect(buttons, &QDialogButtonBox::rejected, this, &QDialog::reject);
    connect(cuts_, &QListWidget::itemChanged, this, &FindLayoutsDialog::check);
    connect(stones_, &QSpinBox::valueChanged, this, &FindLayoutsDialog::check);
    connect(narrowing_, &QCheckBox::toggled, this, &FindLayoutsDialog::check);
    connect(kerf_, &QDoubleSpinBox::valueChanged, this, &FindLayoutsDialog::check);
    column->addWidget(buttons);
    check();
}

void FindLayoutsDialog::check() {
    exit_->setEnabled(narrowing_->isChecked());
    fewer_->setEnabled(stones_->value() > 2);
    exit_->setMaximum(kerf_->value());
    const bool some = !chosen().cuts.empty();
    find_->setEnabled(some);
    find_->setToolTip(some ? QString() : tr("Tick at least one cut."));
}

LayoutWish FindLayoutsDialog::chosen() const {
    LayoutWish wish;
    wish.stones = stones_->value();
    for (int row = 0; row < cuts_->count(); ++row)
        if (cuts_->item(row)->checkState() == Qt::Checked)
            wish.cuts.push_back(cuts_->item(row)->data(Qt::UserRole).toString().toStdString());
    wish.kerf_mm = kerf_->value();
    if (narrowing_->isChecked()) wish.exit_mm = exit_->value();
    wish.mechanical = mechanical_->isChecked();
    wish.fewer = fewer_->isChecked();
    wish.byValue = counts_->currentIndex() == 1;
    return wish;
}

}  // namespace macle::app
