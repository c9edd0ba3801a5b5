#include "app/window/facet_dialog.h"

#include <QCheckBox>
#include <QComboBox>
#include <QDialogButtonBox>
#include <QFormLayout>
#include <QGroupBox>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QLabel>
#include <QLineEdit>
#include <QListWidget>
#include <QPushButton>
#include <QSignalBlocker>
#include <QTreeWidget>
#include <QVBoxLayout>
#include <algorithm>
#include <cmath>
#include <map>

#include "app/window/facet_map.h"
#include "app/window/number_box.h"
#include "app/window/theme.h"
#include "core/base/error.h"
#include "core/base/units.h"
#include "core/cut/library.h"

namespace macle::app {
namespace {

constexpr int kName = Qt::UserRole;
constexpr double kLevel = 1e-9;
constexpr double kFarthest_percent = 1000.0;
enum Hold { GirdleSide, FarSide, MidGirdle };

std::vector<const Facet*> distinctFacets(const Design& design) {
    std::vector<const Facet*> facets;
    std::set<std::string> named;  // parts share facets
    for (const ConvexPart& part : design.parts)
        for (const Facet& facet : part.facets)
            if (named.insert(facet.name).second) facets.push_back(&facet);
    return facets;
}

}  // namespace

FacetDialog::FacetDialog(QWidget* parent) : SteadyDialog(parent) {
    setObjectName("facetDialog");
    setWindowTitle(tr("Facets of the cut"));
    auto* columns = new QHBoxLayout(this);
    auto* left = new QVBoxLayout;
    map_ = new FacetMap;
    connect(map_, &FacetMap::clicked, this, &FacetDialog::choose);
    left->addWidget(map_, 1);
    tree_ = new QTreeWidget;
    tree_->setObjectName("facetList");
    tree_->setAccessibleName(tr("Facets"));
    tree_->setHeaderLabels({tr("Facet"), tr("Angle °"), tr("Azimuth °"), tr("Distance %")});
    tree_->setUniformRowHeights(true);
    tree_->header()->setStretchLastSection(false);
    tree_->header()->setSectionResizeMode(0, QHeaderView::Stretch);
    for (int column = 1; column < 4; ++column)
        tree_->header()->setSectionResizeMode(column, QHeaderView::ResizeToContents);
    connect(tree_, &QTreeWidget::currentItemChanged, this, [this](QTreeWidgetItem* item) {
        if (item != nullptr) choose(item->data(0, kName).toString().toStdString());
    });
    left->addWidget(tree_, 1);
    columns->addLayout(left, 3);

    auto* right = new QVBoxLayout;
    right->addWidget(makeChange());
    right->addWidget(makeAdd());
    right->addWidget(makeDone(), 1);
    trouble_ = new QLabel;
    trouble_->setObjectName("facetTrouble");
    trouble_->setWordWrap(true);
    trouble_->hide();
    right->addWidget(trouble_);
    auto* buttons = new QDialogButtonBox(QDialogButtonBox::Close);
    keep_ = buttons->addButton(tr("Keep as a new cut…"), QDialogButtonBox::ActionRole);
    keep_->setObjectName("keepCut");
    keep_->setToolTip(tr("Write these facets as a cut file that the list of cuts shows"));
    connect(keep_, &QPushButton::clicked, this, &FacetDialog::keepAsked);
    connect(buttons, &QDialogButtonBox::rejected, this, &QDialog::reject);
    right->addWidget(buttons);
    columns->addLayout(right, 2);
    resize(920, 680);
    themeChanged();
}

QWidget* FacetDialog::makeChange() {
    auto* box = new QGroupBox(tr("Chosen facet"));
    auto* form = new QFormLayout(box);
    scope_ = new QComboBox;
    scope_->setObjectName("facetScope");
    scope_->setAccessibleName(tr("What is changed"));
    scope_->addItems({QString(), QString()});
    scope_->setToolTip(tr("The whole row keeps the symmetry of the cut; one facet breaks it."));
    connect(scope_, &QComboBox::currentIndexChanged, this, &FacetDialog::fillFields);
    form->addRow(tr("Change"), scope_);
    angle_ =
        addNumberField(form, tr("Angle"), "facetAngle", "°", 0.0, 90.0, 3, 0.1,
                       tr("Between the facet and the girdle plane. A whole row is tilted by as "
                          "much as the chosen facet."));
    hold_ = new QComboBox;
    hold_->setObjectName("facetHold");
    hold_->setAccessibleName(tr("Tilted about"));
    hold_->addItems({tr("its side at the girdle"), tr("its far side"), tr("mid-girdle height")});
    hold_->setToolTip(tr("The level line of the facet that stays where it is"));
    connect(hold_, &QComboBox::currentIndexChanged, this,
            [this] { held_percent_ = heldHeight_percent(); });
    form->addRow(tr("Tilted about"), hold_);
    azimuth_ = addNumberField(form, tr("Azimuth"), "facetAzimuth", "°", 0.0, 360.0, 3, 0.1,
                              tr("Round the axis, counter-clockwise seen from the table"));
    azimuth_->setWrapping(true);
    distance_ = addNumberField(form, tr("Distance"), "facetDistance", " %", 0.0, kFarthest_percent,
                               4, 0.05, tr("From the centre of the cut, in percent of its size"));
    remove_ = new QPushButton(tr("Remove"));
    remove_->setObjectName("facetRemove");
    form->addRow(remove_);

    using What = FacetEdit::What;
    connect(angle_, &NumberBox::edited, this, [this](double value) {
        const Facet* facet = facetNamed(chosen_);
        if (facet == nullptr) return;
        report({.what = What::Tilt,
                .facet = {},
                .tilt_deg = value - facetAngle_deg(*facet),
                .hold_percent = held_percent_},
               "facet angle");
    });
    connect(azimuth_, &NumberBox::edited, this, [this](double value) {
        const Facet* facet = facetNamed(chosen_);
        if (facet == nullptr) return;
        // The short way round.
        report({.what = What::Turn,
                .facet = {},
                .turn_deg = std::remainder(value - facetAzimuth_deg(*facet), 360.0)},
               "facet azimuth");
    });
    connect(distance_, &NumberBox::edited, this, [this](double value) {
        const Facet* facet = facetNamed(chosen_);
        if (facet == nullptr) return;
        report({.what = What::Shift, .facet = {}, .shift_percent = value - 100.0 * facet->distance},
               "facet distance");
    });
    connect(remove_, &QPushButton::clicked, this,
            [this] { report({.what = What::Remove, .facet = {}}, "facet remove"); });
    return box;
}

QWidget* FacetDialog::makeAdd() {
    auto* box = new QGroupBox(tr("Add facets"));
    auto* form = new QFormLayout(box);
    newName_ = new QLineEdit(tr("extra facet"));
    newName_->setObjectName("newFacetName");
    newName_->setMaxLength(60);
    form->addRow(tr("Name of the row"), newName_);
    newSide_ = new QComboBox;
    newSide_->setObjectName("newFacetSide");
    newSide_->addItems({tr("crown"), tr("pavilion")});
    form->addRow(tr("On the"), newSide_);
    newAngle_ = addNumberField(form, tr("Angle"), "newFacetAngle", "°", 0.0, 90.0, 3, 0.5,
                               tr("Between the facet and the girdle plane"));
    newAngle_->setValue(35.0);
    newAzimuth_ = addNumberField(form, tr("Azimuth"), "newFacetAzimuth", "°", 0.0, 360.0, 3, 1.0,
                                 tr("Round the axis, counter-clockwise seen from the table"));
    newDepth_ =
        addNumberField(form, tr("Cuts in by"), "newFacetDepth", " %", 0.0, 50.0, 3, 0.1,
                       tr("From where the facet would only touch the cut, in percent of the "
                          "size"));
    newDepth_->setValue(1.0);
    newCopies_ = addNumberField(form, tr("Copies"), "newFacetCopies", {}, 1, 64, 0, 1,
                                tr("So many, evenly turned round the axis"));
    newCopies_->setValue(8);
    newMirrored_ = new QCheckBox(tr("and their mirror images"));
    newMirrored_->setObjectName("newFacetMirrored");
    form->addRow(newMirrored_);
    auto* add = new QPushButton(tr("Add"));
    add->setObjectName("newFacetAdd");
    connect(add, &QPushButton::clicked, this, &FacetDialog::addFacets);
    form->addRow(add);
    return box;
}

QWidget* FacetDialog::makeDone() {
    auto* box = new QGroupBox(tr("Changes so far"));
    auto* column = new QVBoxLayout(box);
    done_ = new QListWidget;
    done_->setObjectName("facetChanges");
    done_->setAccessibleName(tr("Changes so far"));
    done_->setMinimumHeight(60);
    column->addWidget(done_, 1);
    auto* row = new QHBoxLayout;
    takeOut_ = new QPushButton(tr("Take out"));
    takeOut_->setObjectName("takeOut");
    takeOut_->setToolTip(tr("Leave the chosen change out; the others stay"));
    takeOutAll_ = new QPushButton(tr("Take out all"));
    takeOutAll_->setObjectName("takeOutAll");
    takeOutAll_->setToolTip(tr("The facets as the proportions give them"));
    row->addWidget(takeOut_);
    row->addWidget(takeOutAll_);
    column->addLayout(row);
    vanished_ = new QLabel;
    vanished_->setObjectName("vanishedFacets");
    vanished_->setWordWrap(true);
    column->addWidget(vanished_);
    connect(done_, &QListWidget::currentRowChanged, this,
            [this](int at) { takeOut_->setEnabled(at >= 0); });
    connect(takeOut_, &QPushButton::clicked, this, &FacetDialog::takeOutChosen);
    connect(takeOutAll_, &QPushButton::clicked, this,
            [this] { Q_EMIT changed(tr("Take out all facet changes"), {}, {}); });
    return box;
}

void FacetDialog::display(const PlannedStone& planned) {
    const bool another = shown_.cut != planned.cut;
    shown_ = planned;
    try {
        design_ = designOf(planned);
        solids_.clear();
        for (const ConvexPart& part : design_.parts)
            solids_.push_back(makeSolid(part));
    } catch (const Error& error) {
        displayTrouble(QString::fromStdString(error.message() + " " + error.remedy()));
        return;
    }
    setWindowTitle(
        tr("Facets of the cut: %1").arg(QString::fromStdString(findCut(planned.cut).title)));
    map_->display(design_, solids_);
    fillTree();
    if (another || facetNamed(chosen_) == nullptr) {
        chosen_.clear();
        choose(design_.parts.front().facets.front().name);
    } else {
        fillFields();
    }
    fillDone();
}

void FacetDialog::displayTrouble(const QString& trouble) {
    trouble_->setText(trouble);
    trouble_->setVisible(!trouble.isEmpty());
}

void FacetDialog::themeChanged() {
    colourText(trouble_, attentionColour());
    colourText(vanished_, quietText());
}

const Facet* FacetDialog::facetNamed(const std::string& name) const {
    for (const ConvexPart& part : design_.parts)
        for (const Facet& facet : part.facets)
            if (facet.name == name) return &facet;
    return nullptr;
}

bool FacetDialog::wholeRow() const {
    return scope_->currentIndex() == 0;
}

double FacetDialog::heldHeight_percent() const {
    const Facet* facet = facetNamed(chosen_);
    if (facet == nullptr || hold_->currentIndex() == MidGirdle) return 0.0;
    double low = 0.0, high = 0.0;
    bool found = false;
    for (std::size_t p = 0; p < solids_.size(); ++p)
        for (const SolidFace& face : solids_[p].faces) {
            if (design_.parts[p].facets[static_cast<std::size_t>(face.facet)].name != chosen_)
                continue;
            for (const int corner : face.corners) {
                const double z = solids_[p].vertices[static_cast<std::size_t>(corner)].z();
                low = found ? std::min(low, z) : z;
                high = found ? std::max(high, z) : z;
                found = true;
            }
        }
    const bool crown = facet->normal.z() >= 0.0;
    return 100.0 * ((hold_->currentIndex() == GirdleSide) == crown ? low : high);
}

void FacetDialog::choose(const std::string& facet) {
    const bool same = facet == chosen_;
    chosen_ = facet;
    if (!same) held_percent_ = heldHeight_percent();
    for (QTreeWidgetItemIterator it(tree_); *it != nullptr; ++it)
        if ((*it)->data(0, kName).toString().toStdString() == facet &&
            ((*it)->childCount() == 0 || !(*it)->isExpanded())) {
            const QSignalBlocker quiet(tree_);
            // A row stands for its first facet, which has an item of its own below it.
            if (tree_->currentItem() == nullptr ||
                tree_->currentItem()->data(0, kName).toString().toStdString() != facet)
                tree_->setCurrentItem(*it);
            break;
        }
    fillFields();
}

void FacetDialog::fillTree() {
    const QSignalBlocker quiet(tree_);
    std::set<std::string> open;
    for (int i = 0; i < tree_->topLevelItemCount(); ++i)
        if (tree_->topLevelItem(i)->isExpanded())
            open.insert(tree_->topLevelItem(i)->text(0).section(" (", 0, 0).toStdString());
    tree_->clear();
    const QLocale words = locale();
    std::map<std::string, QTreeWidgetItem*> rows;
    std::map<std::string, int> counts;
    const std::vector<const Facet*> facets = distinctFacets(design_);
    for (const Facet* facet : facets)
        ++counts[rowOf(facet->name)];
    for (const Facet* facet : facets) {
        const std::string row = rowOf(facet->name);
        const QStringList figures{words.toString(facetAngle_deg(*facet), 'f', 2),
                                  words.toString(facetAzimuth_deg(*facet), 'f', 2),
                                  words.toString(100.0 * facet->distance, 'f', 3)};
        const QString name = QString::fromStdString(facet->name);
        const auto fill = [&](QTreeWidgetItem* item, const QString& title) {
            item->setText(0, title);
            item->setData(0, kName, name);
            for (int column = 0; column < 3; ++column) {
                item->setText(column + 1, figures[column]);
                item->setTextAlignment(column + 1, Qt::AlignRight | Qt::AlignVCenter);
            }
        };
        QTreeWidgetItem*& top = rows[row];
        if (top == nullptr) {
            top = new QTreeWidgetItem(tree_);
            const bool alone = counts[row] == 1;
            fill(top,
                 alone ? name : tr("%1 (%2)").arg(QString::fromStdString(row)).arg(counts[row]));
            top->setText(2, alone ? figures[1] : QString());
            if (alone) continue;
        }
        fill(new QTreeWidgetItem(top), name);
    }
    for (const auto& [row, item] : rows)
        item->setExpanded(open.contains(row));
    for (QTreeWidgetItemIterator it(tree_); *it != nullptr; ++it)
        if ((*it)->data(0, kName).toString().toStdString() == chosen_ &&
            ((*it)->childCount() == 0 || !(*it)->isExpanded())) {
            tree_->setCurrentItem(*it);
            break;
        }
}

void FacetDialog::fillFields() {
    const Facet* facet = facetNamed(chosen_);
    if (facet == nullptr) return;
    const std::string row = rowOf(chosen_);
    std::set<std::string> members;
    for (const Facet* one : distinctFacets(design_))
        if (rowOf(one->name) == row) members.insert(one->name);
    scope_->setItemText(
        0, members.size() > 1
               ? tr("every %1 (%2)").arg(QString::fromStdString(row)).arg(members.size())
               : QString::fromStdString(chosen_));
    scope_->setItemText(1, tr("%1 alone").arg(QString::fromStdString(chosen_)));
    scope_->setEnabled(members.size() > 1);
    const bool level = std::hypot(facet->normal.x(), facet->normal.y()) <= kLevel;
    for (QWidget* field : std::initializer_list<QWidget*>{angle_, hold_, azimuth_})
        field->setEnabled(!level);
    angle_->display(facetAngle_deg(*facet));
    azimuth_->display(facetAzimuth_deg(*facet));
    distance_->display(100.0 * facet->distance);
    remove_->setText(wholeRow() && members.size() > 1
                         ? tr("Remove every %1").arg(QString::fromStdString(row))
                         : tr("Remove %1").arg(QString::fromStdString(chosen_)));
    map_->choose(wholeRow() ? members : std::set<std::string>{chosen_});
}

void FacetDialog::fillDone() {
    const int at = done_->currentRow();
    done_->clear();
    for (const FacetEdit& edit : shown_.edits)
        done_->addItem(QString::fromStdString(describe(edit)));
    done_->setCurrentRow(std::min(at, done_->count() - 1));
    takeOut_->setEnabled(done_->currentRow() >= 0);
    takeOutAll_->setEnabled(done_->count() > 0);
    keep_->setEnabled(done_->count() > 0);
    QStringList gone;
    const std::vector<std::string> before =
        vanishedFacets(makeDesign(shown_.cut, shown_.proportions));
    for (const std::string& name : vanishedFacets(design_))
        if (std::find(before.begin(), before.end(), name) == before.end())
            gone << QString::fromStdString(name);
    vanished_->setText(
        gone.isEmpty() ? QString() : tr("Cut off by their neighbours: %1.").arg(gone.join(", ")));
    vanished_->setVisible(!gone.isEmpty());
}

void FacetDialog::report(FacetEdit edit, const QString& field) {
    edit.facet = wholeRow() ? rowOf(chosen_) : chosen_;
    edit.wholeRow = wholeRow();
    // A facet that stands alone is its own row.
    std::vector<FacetEdit> edits = shown_.edits;
    append(edits, edit);
    Q_EMIT changed(QString::fromStdString(describe(edit)), edits,
                   field + QString::fromStdString(edit.facet));
}

void FacetDialog::addFacets() {
    FacetEdit edit;
    edit.what = FacetEdit::What::Add;
    edit.facet = newName_->text().trimmed().toStdString();
    edit.crown = newSide_->currentIndex() == 0;
    edit.angle_deg = newAngle_->value();
    edit.azimuth_deg = newAzimuth_->value();
    edit.copies = static_cast<int>(newCopies_->value());
    edit.mirrored = newMirrored_->isChecked();
    // Where a plane of that direction would only touch the cut.
    const double across = std::sin(radians(edit.angle_deg));
    const Eigen::Vector3d normal(across * std::cos(radians(edit.azimuth_deg)),
                                 across * std::sin(radians(edit.azimuth_deg)),
                                 (edit.crown ? 1.0 : -1.0) * std::cos(radians(edit.angle_deg)));
    double reach = 0.0;
    for (const ConvexSolid& solid : solids_)
        for (const Eigen::Vector3d& v : solid.vertices)
            reach = std::max(reach, normal.dot(v));
    edit.distance_percent = 100.0 * reach - newDepth_->value();
    std::vector<FacetEdit> edits = shown_.edits;
    edits.push_back(edit);
    Q_EMIT changed(QString::fromStdString(describe(edit)), edits, {});
}

void FacetDialog::takeOutChosen() {
    const int at = done_->currentRow();
    if (at < 0 || at >= static_cast<int>(shown_.edits.size())) return;
    std::vector<FacetEdit> edits = shown_.edits;
    const QString what = QString::fromStdString(describe(edits[static_cast<std::size_t>(at)]));
    edits.erase(edits.begin() + at);
    Q_EMIT changed(tr("Take out: %1").arg(what), edits, {});
}

}  // namespace macle::app
