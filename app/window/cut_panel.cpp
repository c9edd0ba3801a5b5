#include "app/window/cut_panel.h"

#include <QAction>
#include <QComboBox>
#include <QFormLayout>
#include <QHBoxLayout>
#include <QIcon>
#include <QLabel>
#include <QSignalBlocker>
#include <QToolButton>
#include <QVBoxLayout>

#include "app/window/angles.h"
#include "app/window/cut_icon.h"
#include "app/window/hand.h"
#include "app/window/number_box.h"
#include "app/window/profile_view.h"
#include "app/window/theme.h"
#include "core/base/error.h"

namespace macle::app {
namespace {

// Rotations nearer than this are one: far below the 0.01 degrees that the fields show.
constexpr double kSameTurn_deg = 1e-6;
constexpr double kFarthest_mm = 1000.0;
constexpr int kCutPicture_px = 44;

QString unitSuffix(const std::string& unit) {
    if (unit == "deg") return QStringLiteral("°");
    return QStringLiteral(" ") + QString::fromStdString(unit);
}

QLabel* heading(const QString& text) {
    auto* label = new QLabel(text);
    QFont font = label->font();
    font.setWeight(QFont::DemiBold);
    label->setFont(font);
    label->setContentsMargins(0, 8, 0, 0);
    return label;
}

// A named group of fields; the name is heard by a screen reader and seen as the heading above it.
QWidget* group(const QString& name) {
    auto* box = new QWidget;
    box->setAccessibleName(name);
    return box;
}

QFormLayout* formIn(QWidget* box) {
    auto* form = new QFormLayout(box);
    form->setContentsMargins(0, 2, 0, 0);
    form->setHorizontalSpacing(10);
    form->setVerticalSpacing(4);
    form->setFieldGrowthPolicy(QFormLayout::AllNonFixedFieldsGrow);
    form->setLabelAlignment(Qt::AlignLeft);
    return form;
}

// Only the field that was typed in changes its value; the others keep their digits beyond those
// shown.
void take(const NumberBox* box, double& value) {
    const double shown = QString::number(value, 'f', box->decimals()).toDouble();
    if (shown != box->value()) value = box->value();
}

QToolButton* buttonFor(QAction* action, const char* name) {
    auto* button = new QToolButton;
    button->setDefaultAction(action);
    button->setToolButtonStyle(Qt::ToolButtonTextOnly);
    button->setObjectName(name);
    button->setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Fixed);
    button->setFocusPolicy(Qt::StrongFocus);
    return button;
}

}  // namespace

CutPanel::CutPanel(QAction* facets, QAction* largestHere, QAction* settle, QAction* findBest,
                   QWidget* parent)
    : QWidget(parent) {
    setObjectName("cutPanel");
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(12, 6, 12, 12);
    column->setSpacing(2);

    column->addWidget(heading(tr("Cut")));
    auto* cutBox = group(tr("Cut"));
    auto* cutForm = formIn(cutBox);
    cutChoice_ = new QComboBox;
    cutChoice_->setObjectName("cutChoice");
    cutChoice_->setAccessibleName(tr("Cut"));
    cutChoice_->setToolTip(
        tr("The cut that is planned. Changing it starts from the standard proportions."));
    cutChoice_->setIconSize({kCutPicture_px, kCutPicture_px});
    cutChoice_->setMaxVisibleItems(8);
    listCuts();
    connect(cutChoice_, &QComboBox::activated, this, [this](int index) {
        Q_EMIT cutChosen(cutChoice_->itemData(index).toString().toStdString());
    });
    cutForm->addRow(cutChoice_);
    column->addWidget(cutBox);

    column->addWidget(heading(tr("Proportions")));
    profile_ = new ProfileView;
    column->addWidget(profile_);
    proportionsBox_ = group(tr("Proportions"));
    formIn(proportionsBox_);
    column->addWidget(proportionsBox_);

    auto* facetRow = new QHBoxLayout;
    facetChanges_ = new QLabel;
    facetChanges_->setObjectName("facetChangeCount");
    facetRow->addWidget(facetChanges_, 1);
    QToolButton* facetButton = buttonFor(facets, "facetsButton");
    facetButton->setSizePolicy(QSizePolicy::Minimum, QSizePolicy::Fixed);
    facetRow->addWidget(facetButton);
    facetRow->setContentsMargins(0, 4, 0, 0);
    column->addLayout(facetRow);

    trouble_ = new QLabel;
    trouble_->setObjectName("editTrouble");
    trouble_->setWordWrap(true);
    trouble_->hide();
    column->addWidget(trouble_);

    column->addWidget(heading(tr("Size")));
    auto* sizeBox = group(tr("Size"));
    auto* sizeForm = formIn(sizeBox);
    size_ = addNumber(sizeForm, tr("Size"), "size", " mm", kSmallestSize_mm, kLargestSize_mm, 3,
                      0.01, tr("Mean girdle diameter or width of the cut, in mm"));
    connect(size_, &NumberBox::edited, this, &CutPanel::reportSize);
    allowance_ =
        addNumber(sizeForm, tr("Polishing allowance"), "allowance", " mm", 0.0, 5.0, 3, 0.01,
                  tr("Kept free between the finished facets and skin or defects, in mm"));
    connect(allowance_, &NumberBox::edited, this, &CutPanel::allowanceEdited);
    column->addWidget(sizeBox);

    column->addWidget(heading(tr("Placement")));
    auto* poseBox = group(tr("Placement"));
    auto* poseForm = formIn(poseBox);
    tilt_ =
        addNumber(poseForm, tr("Tilt"), "tilt", "°", 0.0, 180.0, 2, 0.5,
                  tr("Between the axis of the cut (out through the table) and the stone's z axis, "
                     "0 to 180 degrees"));
    azimuth_ = addNumber(poseForm, tr("Azimuth"), "azimuth", "°", 0.0, 360.0, 2, 0.5,
                         tr("Which way the table leans: 0 degrees along the stone's x axis, "
                            "counter-clockwise seen from +z"));
    spin_ = addNumber(poseForm, tr("Spin"), "spin", "°", 0.0, 360.0, 2, 0.5,
                      tr("Turn of the cut about its own axis, in degrees"));
    for (NumberBox* box : {azimuth_, spin_})
        box->setWrapping(true);
    for (NumberBox* box : {tilt_, azimuth_, spin_})
        connect(box, &NumberBox::edited, this, &CutPanel::reportAngles);
    const QString centreTip =
        tr("Centre of the cut (on its axis, at mid-girdle) in the frame of the scan, in mm");
    x_ = addNumber(poseForm, tr("Centre x"), "centreX", " mm", -kFarthest_mm, kFarthest_mm, 3, 0.01,
                   centreTip);
    y_ = addNumber(poseForm, tr("Centre y"), "centreY", " mm", -kFarthest_mm, kFarthest_mm, 3, 0.01,
                   centreTip);
    z_ = addNumber(poseForm, tr("Centre z"), "centreZ", " mm", -kFarthest_mm, kFarthest_mm, 3, 0.01,
                   centreTip);
    for (NumberBox* box : {x_, y_, z_})
        connect(box, &NumberBox::edited, this, &CutPanel::reportCentre);
    column->addWidget(poseBox);

    fitBox_ = makeFitBox(largestHere, settle, findBest);
    column->addStretch(1);

    if (!cutLibrary().empty()) buildProportions(cutLibrary().front());
}

void CutPanel::listCuts() {
    const QSignalBlocker quiet(cutChoice_);
    cutChoice_->clear();
    for (const CutInfo& info : cutLibrary()) {
        cutChoice_->addItem(
            QIcon(cutPicture(info.name, kCutPicture_px, cutChoice_->devicePixelRatioF())),
            QString::fromStdString(info.title), QString::fromStdString(info.name));
        cutChoice_->setItemData(cutChoice_->count() - 1, QString::fromStdString(info.note),
                                Qt::ToolTipRole);
    }
}

QWidget* CutPanel::makeFitBox(QAction* largestHere, QAction* settle, QAction* findBest) {
    QWidget* box = group(tr("Fit"));
    box->setObjectName("fitBox");
    auto* fitColumn = new QVBoxLayout(box);
    fitColumn->addWidget(heading(tr("Fit")));
    fitColumn->setContentsMargins(12, 0, 12, 12);
    fitColumn->setSpacing(4);
    auto* near = new QHBoxLayout;
    near->addWidget(buttonFor(largestHere, "largestHereButton"));
    near->addWidget(buttonFor(settle, "settleButton"));
    fitColumn->addLayout(near);
    fitColumn->addWidget(buttonFor(findBest, "findBestButton"));
    auto* budget = new QHBoxLayout;
    budget_ = new NumberBox;
    budget_->setObjectName("searchBudget");
    budget_->setAccessibleName(tr("How long to search"));
    budget_->setDecimals(0);
    budget_->setRange(1, 100000);
    budget_->setValue(10);
    budget_->setToolTip(
        tr("How long Find the best may search. Counted in poses, the result is the "
           "same on every machine."));
    budgetUnit_ = new QComboBox;
    budgetUnit_->setObjectName("searchBudgetUnit");
    budgetUnit_->setAccessibleName(tr("Unit of the search length"));
    budgetUnit_->addItems({tr("seconds"), tr("thousand poses")});
    budgetUnit_->setToolTip(budget_->toolTip());
    auto* budgetLabel = new QLabel(tr("Search for"));
    budgetLabel->setBuddy(budget_);
    budget->addWidget(budgetLabel);
    budget->addWidget(budget_, 1);
    budget->addWidget(budgetUnit_, 1);
    fitColumn->addLayout(budget);
    return box;
}

NumberBox* CutPanel::addNumber(QFormLayout* form, const QString& label, const char* name,
                               const QString& unit, double low, double high, int decimals,
                               double step, const QString& tip) {
    // One edge for the fields of all groups.
    const int edge = fontMetrics().horizontalAdvance(tr("Polishing allowance")) + 4;
    return addNumberField(form, label, name, unit, low, high, decimals, step, tip, edge);
}

void CutPanel::buildProportions(const CutInfo& info) {
    if (proportionsOf_ == info.name) return;
    auto* form = static_cast<QFormLayout*>(proportionsBox_->layout());
    // One of them may be the field whose edit led here.
    while (form->rowCount() > 0) {
        const QFormLayout::TakeRowResult row = form->takeRow(0);
        for (QLayoutItem* item : {row.labelItem, row.fieldItem}) {
            if (QWidget* widget = item->widget()) {
                widget->hide();
                widget->setParent(nullptr);
                widget->deleteLater();
            }
            delete item;
        }
    }
    proportions_.clear();
    proportionsOf_ = info.name;
    QWidget* before = cutChoice_;
    for (const ProportionInfo& proportion : info.proportions) {
        const bool angle = proportion.unit == "deg";
        const QString label = QString::fromStdString(proportion.label);
        const QLocale plain = locale();
        const QString tip =
            tr("%1: %2 to %3%5, standard %4%5")
                .arg(label, plain.toString(proportion.low), plain.toString(proportion.high),
                     plain.toString(proportion.standard), unitSuffix(proportion.unit));
        NumberBox* box = addNumber(form, label, ("proportion_" + proportion.key).c_str(),
                                   unitSuffix(proportion.unit), proportion.low, proportion.high,
                                   angle ? 2 : 1, angle ? 0.1 : 0.5, tip);
        connect(box, &NumberBox::edited, this, [this, key = proportion.key, label](double value) {
            Q_EMIT proportionEdited(key, label, value);
        });
        box->display(proportion.standard);
        proportions_.emplace_back(proportion, box);
        setTabOrder(before, box);
        before = box;
    }
}

// Beside the proportions, the profile they give; the same layout is not drawn twice.
void CutPanel::displayProfile(const PlannedStone& planned) {
    if (profileOf_ && profileOf_->cut == planned.cut &&
        profileOf_->proportions == planned.proportions && profileOf_->edits == planned.edits)
        return;
    profileOf_ = planned;
    std::optional<Design> design;
    try {
        design = designOf(planned);
    } catch (const Error&) {
        design.reset();  // the trouble is told where it was made
    }
    profile_->display(design);
}

void CutPanel::display(const PlannedStone& planned) {
    if (std::vector<std::string> files = cutFiles(planned.cut); files != cutFiles_) {
        cutFiles_ = std::move(files);
        proportionsOf_.clear();
        profileOf_.reset();
        if (!cutFiles_.empty()) listCuts();  // it may have come with the stone
    }
    displayProfile(planned);
    shown_ = planned;
    const QString name = QString::fromStdString(planned.cut);
    const int index = cutChoice_->findData(name);
    {
        const QSignalBlocker quiet(cutChoice_);
        cutChoice_->setCurrentIndex(index);
    }
    buildProportions(findCut(planned.cut));
    for (const auto& [info, box] : proportions_) {
        const auto given = planned.proportions.find(info.key);
        box->display(given == planned.proportions.end() ? info.standard : given->second);
    }
    const int changes = static_cast<int>(planned.edits.size());
    facetChanges_->setText(changes == 0 ? tr("Facets as given")
                                        : tr("%n facet change(s)", nullptr, changes));
    const Placement& placement = planned.placement;
    size_->display(placement.size_mm);
    allowance_->display(planned.rules.allowance_mm);
    x_->display(placement.translation_mm.x());
    y_->display(placement.translation_mm.y());
    z_->display(placement.translation_mm.z());
    // The angles stay as typed while they still name the rotation (they are ambiguous when the axis
    // of the cut stands along z).
    if (turnBetween_deg(rotationOf(angles_), placement.rotation) > kSameTurn_deg)
        angles_ = anglesOf(placement.rotation);
    tilt_->display(angles_.tilt_deg);
    azimuth_->display(angles_.azimuth_deg);
    spin_->display(angles_.spin_deg);
}

void CutPanel::displayTrouble(const QString& trouble) {
    trouble_->setText(trouble);
    trouble_->setVisible(!trouble.isEmpty());
}

void CutPanel::themeChanged() {
    colourText(trouble_, attentionColour());
}

SearchBudget CutPanel::searchBudget() const {
    if (budgetUnit_->currentIndex() == 0) return {budget_->value(), 0};
    return {0.0, static_cast<long long>(budget_->value()) * 1000};
}

void CutPanel::reportAngles() {
    Placement placement = shown_.placement;
    take(tilt_, angles_.tilt_deg);
    take(azimuth_, angles_.azimuth_deg);
    take(spin_, angles_.spin_deg);
    placement.rotation = rotationOf(angles_);
    Q_EMIT placementEdited(tr("Turn cut"), placement);
}

void CutPanel::reportCentre() {
    Placement placement = shown_.placement;
    take(x_, placement.translation_mm.x());
    take(y_, placement.translation_mm.y());
    take(z_, placement.translation_mm.z());
    Q_EMIT placementEdited(tr("Move cut"), placement);
}

void CutPanel::reportSize() {
    Placement placement = shown_.placement;
    placement.size_mm = size_->value();
    Q_EMIT placementEdited(tr("Size cut"), placement);
}

}  // namespace macle::app
