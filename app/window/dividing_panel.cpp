#include "app/window/dividing_panel.h"

#include <QCheckBox>
#include <QComboBox>
#include <QFormLayout>
#include <QGridLayout>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QLabel>
#include <QLocale>
#include <QPushButton>
#include <QTableWidget>
#include <QVBoxLayout>
#include <cmath>

#include "app/window/number_box.h"
#include "app/window/saw_angles.h"
#include "app/window/theme.h"
#include "core/cut/library.h"

namespace macle::app {
namespace {

constexpr double kWidestKerf_mm = 5.0;
constexpr double kFarthest_mm = 1000.0;
constexpr double kSamePlane_deg = 1e-6;
constexpr int kTableHeight = 118;  // three rows and the head
constexpr int kAny = -1;           // of the planes in the list: none of the crystal's

QTableWidget* makeTable(const char* name, const QString& spoken, const QStringList& columns) {
    auto* table = new QTableWidget(0, static_cast<int>(columns.size()));
    table->setObjectName(name);
    table->setAccessibleName(spoken);
    table->setHorizontalHeaderLabels(columns);
    table->verticalHeader()->hide();
    table->setSelectionBehavior(QAbstractItemView::SelectRows);
    table->setSelectionMode(QAbstractItemView::SingleSelection);
    table->setEditTriggers(QAbstractItemView::NoEditTriggers);
    table->setTabKeyNavigation(false);
    table->setFixedHeight(kTableHeight);
    table->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
    table->horizontalHeader()->setStretchLastSection(true);
    return table;
}

QLabel* heading(const QString& text) {
    auto* label = new QLabel(text);
    QFont font = label->font();
    font.setWeight(QFont::DemiBold);
    label->setFont(font);
    return label;
}

}  // namespace

DividingPanel::DividingPanel(QWidget* parent) : QWidget(parent) {
    setObjectName("dividing");
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(8, 6, 8, 8);
    column->addWidget(heading(tr("Stones of this layout")));
    column->addWidget(makeStones());
    column->addWidget(heading(tr("Saws, in working order")));
    column->addWidget(makeSaws());
    numbers_ = makeSawNumbers();
    column->addWidget(numbers_);
    column->addWidget(heading(tr("What becomes of the rough")));
    sums_ = new QLabel;
    sums_->setObjectName("dividingSums");
    sums_->setTextFormat(Qt::RichText);
    column->addWidget(sums_);
    open_ = new QLabel;
    open_->setObjectName("dividingOpen");
    open_->setWordWrap(true);
    column->addWidget(open_);
    caution_ = new QLabel(
        tr("Sawing with blades or lasers is work for trained hands behind guards and with eye "
           "protection; local codes and licensed practice come first."));
    caution_->setWordWrap(true);
    column->addWidget(caution_);
    column->addStretch(1);
    themeChanged();
    displayNothing();
}

QWidget* DividingPanel::makeStones() {
    auto* box = new QWidget;
    auto* column = new QVBoxLayout(box);
    column->setContentsMargins(0, 0, 0, 0);
    stones_ = makeTable("layoutStones", tr("Stones of this layout"),
                        {tr("Stone"), tr("Piece"), tr("Weight"), tr("Cut")});
    column->addWidget(stones_);
    auto* row = new QHBoxLayout;
    addStone_ = new QPushButton(tr("Add a stone"));
    addStone_->setObjectName("addStone");
    addStone_->setToolTip(tr("A further stone, in the largest piece that gives none yet"));
    removeStone_ = new QPushButton(tr("Remove the stone"));
    removeStone_->setObjectName("removeStone");
    piece_ = new QComboBox;
    piece_->setObjectName("stonePiece");
    piece_->setAccessibleName(tr("Piece that the chosen stone is cut from"));
    piece_->setToolTip(tr("Piece that the chosen stone is cut from"));
    row->addWidget(addStone_);
    row->addWidget(removeStone_);
    row->addStretch(1);
    column->addLayout(row);
    auto* from = new QHBoxLayout;
    from->addWidget(new QLabel(tr("The chosen stone is cut from")));
    from->addWidget(piece_);
    from->addStretch(1);
    column->addLayout(from);
    connect(stones_, &QTableWidget::currentCellChanged, this, [this](int now) {
        if (!filling_ && now >= 0) Q_EMIT stoneChosen(now);
    });
    connect(addStone_, &QPushButton::clicked, this, &DividingPanel::addStoneAsked);
    connect(removeStone_, &QPushButton::clicked, this, &DividingPanel::removeStoneAsked);
    connect(piece_, &QComboBox::activated, this, &DividingPanel::pieceChosen);
    return box;
}

QWidget* DividingPanel::makeSaws() {
    auto* box = new QWidget;
    auto* column = new QVBoxLayout(box);
    column->setContentsMargins(0, 0, 0, 0);
    saws_ = makeTable("layoutSaws", tr("Saws in working order"),
                      {tr("Saw"), tr("Divides"), tr("Lost"), tr("Plane")});
    column->addWidget(saws_);
    auto* row = new QHBoxLayout;
    addSaw_ = new QPushButton(tr("Add a saw"));
    addSaw_->setObjectName("addSaw");
    addSaw_->setToolTip(tr("Through the piece of the chosen stone, above its table"));
    removeSaw_ = new QPushButton(tr("Remove the last saw"));
    removeSaw_->setObjectName("removeSaw");
    removeSaw_->setToolTip(tr("Later pieces hang on earlier saws, so the last one goes first"));
    row->addWidget(addSaw_);
    row->addWidget(removeSaw_);
    row->addStretch(1);
    column->addLayout(row);
    connect(saws_, &QTableWidget::currentCellChanged, this, [this](int now) {
        if (!filling_) Q_EMIT sawChosen(now);
    });
    connect(addSaw_, &QPushButton::clicked, this, &DividingPanel::addSawAsked);
    connect(removeSaw_, &QPushButton::clicked, this, &DividingPanel::removeSawAsked);
    return box;
}

QWidget* DividingPanel::makeSawNumbers() {
    auto* box = new QWidget;
    box->setObjectName("sawNumbers");
    auto* form = new QFormLayout(box);
    form->setContentsMargins(0, 0, 0, 0);
    auto* row = new QHBoxLayout;
    runs_ = new QComboBox;
    runs_->setObjectName("sawRuns");
    runs_->setAccessibleName(tr("Plane the saw runs along"));
    snap_ = new QPushButton(tr("Nearest"));
    snap_->setObjectName("sawSnap");
    snap_->setToolTip(
        tr("Turn to the nearest cube or dodecahedron plane, which a mechanical saw "
           "can follow; the crystal axes must be known"));
    row->addWidget(runs_, 1);
    row->addWidget(snap_);
    form->addRow(tr("Along"), row);
    azimuth_ = addNumberField(form, tr("Azimuth"), "sawAzimuth", tr(" °"), -360.0, 360.0, 3, 1.0,
                              tr("Of the plane's normal about the z axis of the scan, from x"));
    tilt_ = addNumberField(form, tr("Tilt"), "sawTilt", tr(" °"), 0.0, 180.0, 3, 1.0,
                           tr("Of the plane's normal from the z axis of the scan"));
    offset_ =
        addNumberField(form, tr("At"), "sawOffset", tr(" mm"), -kFarthest_mm, kFarthest_mm, 3, 0.05,
                       tr("Of the kerf's middle along the normal, from the origin of the "
                          "scan; or drag the plane on the stage"));
    kerf_ = addNumberField(form, tr("Kerf"), "sawKerf", tr(" mm"), 0.0, kWidestKerf_mm, 3, 0.01,
                           tr("Width of what turns to dust; of a V where the beam enters"));
    narrowing_ = new QCheckBox(tr("narrowing to a V"));
    narrowing_->setObjectName("sawNarrowing");
    narrowing_->setToolTip(tr("A dry laser leaves a kerf that narrows along the beam"));
    form->addRow(QString(), narrowing_);
    exit_ = addNumberField(form, tr("Leaves with"), "sawExit", tr(" mm"), 0.0, kWidestKerf_mm, 3,
                           0.01, tr("Width of the kerf where the beam leaves the piece"));
    beam_ = addNumberField(form, tr("Beam"), "sawBeam", tr(" °"), -360.0, 360.0, 1, 5.0,
                           tr("The way the beam runs in the plane, from its level direction"));
    connect(runs_, &QComboBox::activated, this, [this] {
        const int index = runs_->currentData().toInt();
        if (index == kAny || !axes_) return;
        const auto planes = sawableDirections(*axes_);
        editSaw(tr("Turn saw"), [&](Saw& one) {
            turnSaw(one, planes.at(static_cast<std::size_t>(index)).normal, middle_mm_);
        });
    });
    connect(snap_, &QPushButton::clicked, this, [this] {
        if (!axes_) return;
        editSaw(tr("Turn saw"), [&](Saw& one) {
            turnSaw(one, nearestSawable(*axes_, one.normal).normal, middle_mm_);
        });
    });
    for (NumberBox* field : {azimuth_, tilt_})
        connect(field, &NumberBox::edited, this, [this] {
            editSaw(tr("Turn saw"), [this](Saw& one) {
                turnSaw(one, normalOf({azimuth_->value(), tilt_->value()}), middle_mm_);
            });
        });
    connect(offset_, &NumberBox::edited, this, [this](double value) {
        editSaw(tr("Move saw"), [value](Saw& one) { one.offset_mm = value; });
    });
    connect(kerf_, &NumberBox::edited, this, [this](double value) {
        editSaw(tr("Change kerf"), [value](Saw& one) {
            one.kerf_mm = value;
            if (one.v) one.v->exit_mm = std::min(one.v->exit_mm, value);
        });
    });
    connect(narrowing_, &QCheckBox::clicked, this, [this](bool on) {
        editSaw(tr("Change kerf"), [on](Saw& one) {
            one.v.reset();
            if (on) one.v = VKerf{beamAt(one.normal, 0.0), 0.5 * one.kerf_mm};
        });
    });
    connect(exit_, &NumberBox::edited, this, [this](double value) {
        editSaw(tr("Change kerf"), [value](Saw& one) {
            if (one.v) one.v->exit_mm = std::min(value, one.kerf_mm);
        });
    });
    connect(beam_, &NumberBox::edited, this, [this](double value) {
        editSaw(tr("Turn beam"), [value](Saw& one) {
            if (one.v) one.v->beam = beamAt(one.normal, value);
        });
    });
    return box;
}

const Saw* DividingPanel::saw() const {
    if (!layout_ || saw_ < 0 || saw_ >= static_cast<int>(layout_->saws.size())) return nullptr;
    return &layout_->saws[static_cast<std::size_t>(saw_)];
}

void DividingPanel::editSaw(const QString& name, const std::function<void(Saw&)>& change) {
    if (filling_ || saw() == nullptr) return;
    Saw changed = *saw();
    change(changed);
    if (changed != *saw()) Q_EMIT sawEdited(name, changed);
    fillSawNumbers();
}

void DividingPanel::display(const Stone& stone, const Layout& layout, int currentStone,
                            int chosenSaw) {
    if (!layout_ || *layout_ != layout) whole_.reset();
    layout_ = layout;
    axes_ = stone.axes;
    middle_mm_ = bounds(stone.rough.mesh).centre();
    stone_ = currentStone;
    saw_ = chosenSaw;
    trouble_.clear();
    writeStones();
    fillSawNumbers();
    writeSums();
}

void DividingPanel::displayWeights(const std::shared_ptr<const WholeLayout>& whole) {
    // Figures of a layout that has changed meanwhile are not this one's.
    if (!layout_ || !whole || whole->stones.size() != layout_->stones.size() ||
        whole->divided->saws != layout_->saws)
        return;
    whole_ = whole;
    trouble_.clear();
    writeStones();
    writeSums();
}

void DividingPanel::displayTrouble(const QString& trouble) {
    whole_.reset();
    trouble_ = trouble;
    writeStones();
    writeSums();
}

void DividingPanel::displayNothing() {
    layout_.reset();
    axes_.reset();
    whole_.reset();
    trouble_.clear();
    writeStones();
    fillSawNumbers();
    writeSums();
}

void DividingPanel::writeStones() {
    filling_ = true;
    const auto weight = [this](double ct) {
        return tr("%1\u00a0ct").arg(locale().toString(ct, 'f', 2));
    };
    const auto put = [](QTableWidget* table, int row, const QStringList& cells) {
        for (int column = 0; column < cells.size(); ++column) {
            auto* item = new QTableWidgetItem(cells[column]);
            item->setToolTip(cells[column]);
            table->setItem(row, column, item);
        }
    };
    const int stones = layout_ ? static_cast<int>(layout_->stones.size()) : 0;
    const int saws = layout_ ? static_cast<int>(layout_->saws.size()) : 0;
    stones_->setRowCount(stones);
    for (int i = 0; i < stones; ++i) {
        const auto at = static_cast<std::size_t>(i);
        const PlannedStone& stone = layout_->stones[at];
        put(stones_, i,
            {QString::number(i + 1), QString::number(stone.piece + 1),
             whole_ ? weight(whole_->stones[at].weight.finished_ct) : tr("…"),
             tr("%1, %2\u00a0mm")
                 .arg(QString::fromStdString(findCut(stone.cut).title),
                      locale().toString(stone.placement.size_mm, 'f', 3))});
    }
    saws_->setRowCount(saws);
    for (int i = 0; i < saws; ++i) {
        const auto at = static_cast<std::size_t>(i);
        const Saw& one = layout_->saws[at];
        put(saws_, i,
            {QString::number(i + 1), tr("piece %1").arg(one.piece + 1),
             whole_ ? weight(whole_->kerfs_ct[at]) : tr("…"),
             tr("%1, kerf %2\u00a0mm")
                 .arg(planeWords(one, axes_), locale().toString(one.kerf_mm, 'f', 3))});
    }
    for (QTableWidget* table : {stones_, saws_})
        for (int column = 0; column < 3; ++column)
            table->resizeColumnToContents(column);
    stones_->setCurrentCell(stones > 0 ? stone_ : -1, 0);
    if (saw_ >= 0 && saw_ < saws)
        saws_->setCurrentCell(saw_, 0);
    else {
        saws_->setCurrentCell(-1, -1);
        saws_->clearSelection();
    }
    piece_->clear();
    for (int i = 0; i <= saws; ++i)
        piece_->addItem(saws == 0 ? tr("the whole rough") : tr("piece %1").arg(i + 1));
    if (stones > 0)
        piece_->setCurrentIndex(layout_->stones[static_cast<std::size_t>(stone_)].piece);
    filling_ = false;
    setChangeable(changeable_);
}

void DividingPanel::fillSawNumbers() {
    filling_ = true;
    const Saw* one = saw();
    numbers_->setVisible(one != nullptr);
    if (one != nullptr) {
        runs_->clear();
        runs_->addItem(tr("any plane (laser)"), kAny);
        snap_->setEnabled(axes_.has_value());
        if (axes_) {
            const auto planes = sawableDirections(*axes_);
            for (std::size_t i = 0; i < planes.size(); ++i) {
                runs_->addItem(planeName(planes, i), static_cast<int>(i));
                if (betweenPlanes_deg(planes[i].normal, one->normal) < kSamePlane_deg)
                    runs_->setCurrentIndex(runs_->count() - 1);
            }
        }
        runs_->setToolTip(axes_ ? tr("Cube and dodecahedron planes can be sawn mechanically")
                                : tr("With crystal axes the planes of a mechanical saw are "
                                     "offered here"));
        const SawAngles angles = anglesOf(one->normal);
        azimuth_->display(angles.azimuth_deg);
        tilt_->display(angles.tilt_deg);
        offset_->display(one->offset_mm);
        kerf_->display(one->kerf_mm);
        narrowing_->setChecked(one->v.has_value());
        exit_->setEnabled(one->v.has_value());
        beam_->setEnabled(one->v.has_value());
        exit_->display(one->v ? one->v->exit_mm : one->kerf_mm);
        beam_->display(one->v ? beamAngle_deg(one->normal, one->v->beam) : 0.0);
    }
    filling_ = false;
}

void DividingPanel::writeSums() {
    QString rows;
    QStringList open;
    if (whole_) {
        const auto row = [&](const QString& what, double ct) {
            rows +=
                QStringLiteral(
                    "<tr><td>%1&nbsp;&nbsp;&nbsp;</td><td align=right>%2</td>"
                    "<td align=right>&nbsp;&nbsp;&nbsp;%3</td></tr>")
                    .arg(what.toHtmlEscaped(), tr("%1\u00a0ct").arg(locale().toString(ct, 'f', 3)),
                         tr("%1\u00a0%")
                             .arg(locale().toString(100.0 * ct / whole_->rough_ct, 'f', 1)));
        };
        row(tr("Finished stones"), whole_->finished_ct);
        row(tr("Lost in kerfs"), whole_->kerf_ct);
        row(tr("Lost around the stones"), whole_->outside_ct);
        row(tr("Pieces left over"), whole_->leftOver_ct);
        row(tr("Rough"), whole_->rough_ct);
        for (const std::string& words : whole_->open)
            open << QString::fromStdString(words);
    } else if (layout_ && trouble_.isEmpty()) {
        rows = QStringLiteral("<tr><td>%1</td></tr>").arg(tr("being computed").toHtmlEscaped());
    }
    sums_->setText(QStringLiteral("<table>%1</table>").arg(rows));
    if (!trouble_.isEmpty()) open << trouble_;
    open_->setText(open.join(QLatin1Char('\n')));
    open_->setVisible(!open.isEmpty());
}

void DividingPanel::setChangeable(bool changeable) {
    changeable_ = changeable;
    const bool on = changeable && layout_.has_value();
    numbers_->setEnabled(on);
    addSaw_->setEnabled(on && layout_->saws.size() < kMostSaws);
    removeSaw_->setEnabled(on && !layout_->saws.empty());
    addStone_->setEnabled(on && layout_->stones.size() < layout_->saws.size() + 1);
    removeStone_->setEnabled(on && layout_->stones.size() > 1);
    piece_->setEnabled(on && !layout_->saws.empty());
}

void DividingPanel::themeChanged() {
    colourText(caution_, quietText());
    colourText(open_, attentionColour());
}

}  // namespace macle::app
