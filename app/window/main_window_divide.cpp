// Dividing the rough: the panel of stones and saws, dragging a saw on the stage, and the search for
// a second stone.
#include <QAction>
#include <QDockWidget>
#include <QScrollArea>
#include <QTabBar>
#include <algorithm>

#include "app/window/dividing_panel.h"
#include "app/window/first_place.h"
#include "app/window/main_window.h"
#include "core/cut/library.h"
#include "core/divide/second_stone.h"

namespace macle::app {
namespace {

constexpr double kFirstKerf_mm = 0.08;  // of a saw that is new; common practice, no source
constexpr long long kDirections = 20;   // that a second stone is looked for in, about
constexpr double kSlack_px = 6.0;       // a plane seen edge-on is taken hold of beside its line

}  // namespace

void MainWindow::makeDividing() {
    dividing_ = new DividingPanel;
    auto* scroll = new QScrollArea;
    scroll->setWidget(dividing_);
    scroll->setWidgetResizable(true);
    scroll->setFrameShape(QFrame::NoFrame);
    scroll->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
    scroll->setMinimumWidth(dividing_->minimumSizeHint().width() + 18);
    dividingDock_ = new QDockWidget(tr("Dividing"), this);
    dividingDock_->setObjectName("dividingDock");
    dividingDock_->setWidget(scroll);
    dividingDock_->setAllowedAreas(Qt::LeftDockWidgetArea | Qt::RightDockWidgetArea);
    addDockWidget(Qt::RightDockWidgetArea, dividingDock_);
    tabifyDockWidget(appraisalDock_, dividingDock_);
    for (QTabBar* bar : findChildren<QTabBar*>())
        bar->setAccessibleName(tr("Panels beside the figures"));
    dividingDock_->hide();
    connect(showDividing_, &QAction::triggered, this, [this](bool shown) {
        dividingDock_->setVisible(shown);
        if (shown) dividingDock_->raise();
    });
    connect(dividingDock_, &QDockWidget::visibilityChanged, this,
            [this](bool shown) { showDividing_->setChecked(shown || !dividingDock_->isHidden()); });
    connect(dividing_, &DividingPanel::stoneChosen, this, [this](int index) {
        if (!job_) document_.chooseStone(index);
    });
    connect(dividing_, &DividingPanel::sawChosen, this, [this](int index) {
        chosenSaw_ = index;
        displaySaws();
        displayDividing();
    });
    connect(
        dividing_, &DividingPanel::sawEdited, this,
        [this](const QString& name, const Saw& saw) { changeSaw(name, saw, stepGesture(name)); });
    connect(dividing_, &DividingPanel::addSawAsked, addSaw_, &QAction::trigger);
    connect(dividing_, &DividingPanel::removeSawAsked, removeSaw_, &QAction::trigger);
    connect(dividing_, &DividingPanel::addStoneAsked, addStone_, &QAction::trigger);
    connect(dividing_, &DividingPanel::removeStoneAsked, removeStone_, &QAction::trigger);
    connect(dividing_, &DividingPanel::pieceChosen, this, [this](int piece) {
        edit([&] {
            PlannedStone planned = document_.planned();
            planned.piece = piece;
            document_.changePlanned(tr("Cut from piece %1").arg(piece + 1), planned);
        });
    });
    connect(addSaw_, &QAction::triggered, this, &MainWindow::addSaw);
    connect(removeSaw_, &QAction::triggered, this, &MainWindow::removeSaw);
    connect(addStone_, &QAction::triggered, this, &MainWindow::addStone);
    connect(removeStone_, &QAction::triggered, this, &MainWindow::removeStone);
    connect(secondStone_, &QAction::triggered, this, &MainWindow::findSecond);
}

void MainWindow::displayDividing() {
    if (!document_.isOpen()) {
        dividing_->displayNothing();
        return;
    }
    const int saws = static_cast<int>(document_.layout().saws.size());
    if (chosenSaw_ >= saws) chosenSaw_ = saws - 1;
    dividing_->display(*document_.stone(), document_.layout(), document_.currentStone(),
                       chosenSaw_);
}

// Where the division is known, the planes in their pieces; until then those before.
void MainWindow::displaySaws() {
    render::Scene& scene = view()->scene();
    if (!document_.isOpen()) {
        scene.setSaws({});
        scene.setOtherStones({});
        return;
    }
    const Layout& layout = document_.layout();
    const auto prepared = workshop_.prepared();
    if (layout.saws.empty()) {
        scene.setSaws({});
    } else if (prepared && prepared->of == document_.stone() && prepared->saws == layout.saws) {
        scene.setSaws(render::sawOutlines(document_.stone()->rough.mesh, layout.saws,
                                          prepared->divided->division),
                      chosenSaw_);
    }
    std::vector<render::OtherStone> others;
    for (std::size_t i = 0; i < layout.stones.size(); ++i) {
        if (static_cast<int>(i) == document_.currentStone()) continue;
        render::OtherStone other;
        other.placement = layout.stones[i].placement;
        for (const ConvexPart& part : designOf(layout.stones[i]).parts)
            other.partsForSizeOne.push_back(makeSolid(part));
        others.push_back(std::move(other));
    }
    scene.setOtherStones(others);
    view()->refresh();
}

void MainWindow::changeSaw(const QString& name, const Saw& saw, int gesture) {
    edit([&] {
        Layout layout = document_.layout();
        layout.saws.at(static_cast<std::size_t>(chosenSaw_)) = saw;
        document_.changeLayout(name, layout, gesture);
    });
}

// Above the table of the stone at hand, so that it stays whole in the lower piece.
void MainWindow::addSaw() {
    edit([&] {
        Layout layout = document_.layout();
        const PlannedStone& planned = document_.planned();
        Saw saw = sawBeside(designOf(planned), planned.placement,
                            planned.placement.rotation * Eigen::Vector3d::UnitZ(), kFirstKerf_mm,
                            planned.rules.allowance_mm);
        saw.piece = planned.piece;
        layout.saws.push_back(saw);
        chosenSaw_ = static_cast<int>(layout.saws.size()) - 1;
        document_.changeLayout(tr("Add a saw"), layout);
    });
    dividingDock_->show();
    dividingDock_->raise();
}

void MainWindow::removeSaw() {
    edit([&] {
        Layout layout = document_.layout();
        if (layout.saws.empty()) return;
        // What was cut from its piece goes back to the piece that it divided.
        const int piece = static_cast<int>(layout.saws.size());
        const int back = layout.saws.back().piece;
        layout.saws.pop_back();
        for (PlannedStone& stone : layout.stones)
            if (stone.piece == piece) stone.piece = back;
        document_.changeLayout(tr("Remove saw %1").arg(piece), layout);
    });
}

// In the largest piece that gives no stone yet: the cut of the stone at hand, in its middle.
void MainWindow::addStone() {
    const auto prepared = workshop_.prepared();
    if (!prepared || !prepared->about(document_)) return;
    edit([&] {
        Layout layout = document_.layout();
        const auto& pieces = prepared->divided->division.pieces;
        int best = -1;
        for (std::size_t i = 0; i < pieces.size(); ++i) {
            const bool taken = std::any_of(
                layout.stones.begin(), layout.stones.end(),
                [&](const PlannedStone& stone) { return stone.piece == static_cast<int>(i); });
            if (!taken && (best < 0 || pieces[i].volume_mm3 >
                                           pieces[static_cast<std::size_t>(best)].volume_mm3))
                best = static_cast<int>(i);
        }
        if (best < 0)
            throw Error(ErrorCode::BadUsage, "Every piece gives a stone already.",
                        "Add a saw first: it makes one piece more.");
        PlannedStone stone = document_.planned();
        stone.piece = best;
        const StonePiece& piece = prepared->divided->pieces[static_cast<std::size_t>(best)];
        const Obstacles obstacles(*piece.stone);
        stone.placement = firstPlace(*piece.stone, obstacles, stone);
        layout.stones.push_back(std::move(stone));
        document_.changeLayout(tr("Add a stone"), layout);
        document_.chooseStone(static_cast<int>(document_.layout().stones.size()) - 1);
    });
}

void MainWindow::removeStone() {
    edit([&] {
        Layout layout = document_.layout();
        if (layout.stones.size() < 2)
            throw Error(ErrorCode::BadUsage, "The last stone of a layout stays.",
                        "Remove the layout instead.");
        layout.stones.erase(layout.stones.begin() + document_.currentStone());
        document_.changeLayout(tr("Remove stone %1").arg(document_.currentStone() + 1), layout);
    });
}

// The heaviest stone of the same cut beside the one at hand, in its piece.
void MainWindow::findSecond() {
    const auto prepared = workshop_.prepared();
    if (!prepared || job_) return;
    const Layout layout = document_.layout();
    const PlannedStone planned = document_.planned();
    const SearchBudget budget = cutPanel_->searchBudget();
    const double kerf_mm = layout.saws.empty() ? kFirstKerf_mm : layout.saws.back().kerf_mm;
    startJob(
        tr("Looking for a second stone"),
        [this, prepared, layout, planned, budget, kerf_mm](Progress& progress) -> Job::HandOver {
            const Design design = designOf(planned);
            SecondStoneRules rules;
            rules.kerf_mm = kerf_mm;
            rules.fit = planned.rules;
            rules.firstAllowance_mm = planned.rules.allowance_mm;
            FitOptions options;
            options.seconds = budget.seconds;
            options.poses = budget.poses / kDirections;
            options.seed = 1;
            options.threads = searchThreads();
            const auto found =
                findSecondStone(*prepared->stone, *prepared->cutter, design, planned.placement,
                                design, rules, options, &progress);
            if (!found)
                throw Error(ErrorCode::NoSolution, "No second stone of this cut fits beside it.",
                            "Try another cut, a narrower kerf or another place for the first.");
            Layout divided = layout;
            Saw saw = found->saw;
            saw.piece = planned.piece;
            divided.saws.push_back(saw);
            PlannedStone second = planned;
            second.placement = found->placement;
            second.piece = static_cast<int>(divided.saws.size());
            divided.stones.push_back(second);
            return [this, divided] {
                edit([&] {
                    chosenSaw_ = static_cast<int>(divided.saws.size()) - 1;
                    document_.changeLayout(tr("Second stone"), divided);
                });
                dividingDock_->show();
                dividingDock_->raise();
            };
        });
}

// The chosen saw, or any where none is chosen, when it lies under the pointer beside the cut.
std::optional<MainWindow::SawDrag> MainWindow::sawUnder(const Ray& ray) const {
    if (!document_.isOpen() || job_ || dividingDock_->isHidden()) return std::nullopt;
    const render::Scene& scene = view()->scene();
    const Sight sight = view()->sight();
    const double reach_mm = kSlack_px * millimetresPerPixel(sight, ray.origin_mm);
    const auto pick = scene.pickSaw(ray.origin_mm, ray.direction, reach_mm);
    if (!pick) return std::nullopt;
    if (pick->saw >= static_cast<int>(document_.layout().saws.size())) return std::nullopt;
    SawDrag drag;
    drag.saw = pick->saw;
    drag.place_mm = pick->place_mm;
    drag.outline = scene.saws()[static_cast<std::size_t>(pick->saw)];
    return drag;
}

bool MainWindow::beginSawDrag(const Ray& ray) {
    auto drag = sawUnder(ray);
    if (!drag) return false;
    sawDrag_ = std::move(*drag);
    if (chosenSaw_ != sawDrag_->saw) {
        chosenSaw_ = sawDrag_->saw;
        displayDividing();
        displaySaws();
    }
    return true;
}

// The plane alone follows the pointer; the rough is divided anew when it is let go.
void MainWindow::dragSaw(const Ray& ray) {
    SawDrag& drag = *sawDrag_;
    const auto slid =
        render::slidAlong(drag.place_mm, drag.outline.normal, ray.origin_mm, ray.direction);
    if (!slid) return;
    drag.by_mm = *slid;
    std::vector<render::SawOutline> saws = view()->scene().saws();
    saws.at(static_cast<std::size_t>(drag.saw)) =
        render::movedAlong(drag.outline, document_.stone()->rough.mesh, drag.by_mm);
    view()->scene().setSaws(saws, drag.saw);
    view()->refresh();
    stage_->setHint(tr("Saw %1 at %2 mm, moved by %3 mm   ·   Esc: leave it where it was")
                        .arg(drag.saw + 1)
                        .arg(locale().toString(drag.outline.offset_mm + drag.by_mm, 'f', 3),
                             locale().toString(drag.by_mm, 'f', 3)));
}

void MainWindow::endSawDrag(bool keep) {
    const SawDrag drag = std::move(*sawDrag_);
    sawDrag_.reset();
    stage_->setHint({});
    if (keep && drag.by_mm != 0.0) {
        Saw saw = document_.layout().saws.at(static_cast<std::size_t>(drag.saw));
        saw.offset_mm += drag.by_mm;
        changeSaw(tr("Move saw"), saw, document_.newGesture());
    }
    displaySaws();
}

}  // namespace macle::app
