#include "app/window/colour_dialog.h"

#include <QComboBox>
#include <QDialogButtonBox>
#include <QFormLayout>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QLabel>
#include <QLineEdit>
#include <QLocale>
#include <QPushButton>
#include <QTreeWidget>
#include <QVBoxLayout>
#include <algorithm>

#include "app/window/defect_dialog.h"

namespace macle::app {

ColourDialog::ColourDialog(ColourRecord record, const Eigen::Vector3d& middle_mm, QWidget* parent)
    : SteadyDialog(parent), record_(std::move(record)), middle_mm_(middle_mm) {
    setObjectName("colourDialog");
    setWindowTitle(tr("Colour and fluorescence"));
    resize(430, 400);
    auto* column = new QVBoxLayout(this);
    auto* form = new QFormLayout;
    letter_ = new QComboBox;
    letter_->setObjectName("colourLetter");
    letter_->addItem(tr("not recorded"), QString());
    for (char letter = 'D'; letter <= 'Z'; ++letter)
        letter_->addItem(QString(QLatin1Char(letter)), QString(QLatin1Char(letter)));
    letter_->setCurrentIndex(
        std::max(0, letter_->findData(QString::fromStdString(record_.body.letter))));
    letter_->setToolTip(tr("For near-colourless stones, as estimated in the rough"));
    form->addRow(tr("&Colour letter"), letter_);
    hue_ = new QLineEdit(QString::fromStdString(record_.body.hue));
    hue_->setObjectName("colourHue");
    hue_->setPlaceholderText(tr("for example yellow, pinkish brown"));
    form->addRow(tr("&Hue"), hue_);
    fluorescence_ = new QComboBox;
    fluorescence_->setObjectName("fluorescence");
    for (const FluorescenceStrength strength :
         {FluorescenceStrength::NotSeen, FluorescenceStrength::None, FluorescenceStrength::Slight,
          FluorescenceStrength::Medium, FluorescenceStrength::Strong,
          FluorescenceStrength::VeryStrong}) {
        fluorescence_->addItem(fluorescenceName(strength), static_cast<int>(strength));
        if (strength == record_.fluorescence.strength)
            fluorescence_->setCurrentIndex(fluorescence_->count() - 1);
    }
    fluorescence_->setToolTip(tr("Under long-wave ultraviolet light (365 nm)"));
    form->addRow(tr("&Fluorescence"), fluorescence_);
    fluorescenceColour_ = new QLineEdit(QString::fromStdString(record_.fluorescence.colour));
    fluorescenceColour_->setObjectName("fluorescenceColour");
    fluorescenceColour_->setPlaceholderText(tr("for example blue"));
    form->addRow(tr("Its c&olour"), fluorescenceColour_);
    column->addLayout(form);
    column->addWidget(new QLabel(tr("Colour zones inside the rough")));
    zones_ = new QTreeWidget;
    zones_->setObjectName("colourZones");
    zones_->setAccessibleName(tr("Colour zones"));
    zones_->setHeaderLabels({tr("Zone"), tr("Hue"), tr("Strength"), tr("Volume")});
    zones_->setRootIsDecorated(false);
    column->addWidget(zones_, 1);
    auto* row = new QHBoxLayout;
    auto* add = new QPushButton(tr("&Add zone…"));
    add->setObjectName("addZone");
    auto* remove = new QPushButton(tr("&Remove zone"));
    remove->setObjectName("removeZone");
    row->addWidget(add);
    row->addWidget(remove);
    row->addStretch(1);
    column->addLayout(row);
    auto* note = new QLabel(tr("As you see it in the rough: an estimate, not a grading."));
    note->setWordWrap(true);
    column->addWidget(note);
    auto* buttons = new QDialogButtonBox(QDialogButtonBox::Ok | QDialogButtonBox::Cancel);
    buttons->button(QDialogButtonBox::Ok)->setObjectName("colourOk");
    connect(buttons, &QDialogButtonBox::accepted, this, &QDialog::accept);
    connect(buttons, &QDialogButtonBox::rejected, this, &QDialog::reject);
    connect(add, &QPushButton::clicked, this, &ColourDialog::addZone);
    connect(remove, &QPushButton::clicked, this, &ColourDialog::removeZone);
    column->addWidget(buttons);
    fillZones();
}

ColourRecord ColourDialog::record() const {
    ColourRecord record = record_;
    record.body.letter = letter_->currentData().toString().toStdString();
    record.body.hue = hue_->text().trimmed().toStdString();
    record.fluorescence.strength =
        static_cast<FluorescenceStrength>(fluorescence_->currentData().toInt());
    record.fluorescence.colour = fluorescenceColour_->text().trimmed().toStdString();
    return record;
}

void ColourDialog::fillZones() {
    zones_->clear();
    for (const ColourZone& zone : record_.zones) {
        Defect body;
        std::visit([&](const auto& shape) { body.shape = shape; }, zone.shape);
        auto* item = new QTreeWidgetItem(zones_);
        item->setText(0, QString::fromStdString(zone.name));
        item->setText(1, QString::fromStdString(zone.hue));
        item->setText(2, locale().toString(zone.strength));
        item->setText(3, tr("%1 mm³").arg(locale().toString(defectVolume_mm3(body), 'f', 3)));
    }
    for (int column = 0; column < 3; ++column)
        zones_->resizeColumnToContents(column);
}

// A zone is placed like a defect; its name is taken for its hue, too, where none is given.
void ColourDialog::addZone() {
    Defect start;
    start.name = tr("zone %1").arg(record_.zones.size() + 1).toStdString();
    start.shape = Ellipsoid{middle_mm_, {0.5, 0.5, 0.5}, Eigen::Quaterniond::Identity()};
    DefectDialog dialog(start, tr("Colour zone"), this);
    dialog.showAsZone(hue_->text());
    if (dialog.exec() != QDialog::Accepted) return;
    const Defect made = dialog.defect();
    record_.zones.push_back(
        {made.name, std::get<Ellipsoid>(made.shape), dialog.hue().toStdString(), made.severity});
    fillZones();
}

void ColourDialog::removeZone() {
    const auto chosen = zones_->selectedItems();
    if (chosen.isEmpty()) return;
    record_.zones.erase(record_.zones.begin() + zones_->indexOfTopLevelItem(chosen.front()));
    fillZones();
}

}  // namespace macle::app
