// Largest here, settle, and the search for the best placement.
#include <algorithm>
#include <thread>

#include "app/window/main_window.h"
#include "core/cut/library.h"
#include "core/fit/crystal_tables.h"

namespace macle::app {
namespace {

constexpr std::uint64_t kSeed = 1;
constexpr std::size_t kOthers = 7;  // placements shown beside the best

}  // namespace

int MainWindow::searchThreads() {
    // One processor stays free, so that the window answers while the search runs.
    const int machine = static_cast<int>(std::thread::hardware_concurrency());
    return std::max(1, machine - 1);
}

void MainWindow::largestHere() {
    const auto prepared = workshop_.prepared();
    if (!prepared) return;
    edit([&] {
        const PlannedStone& planned = document_.planned();
        const Design design = designOf(planned);
        const Gauge gauge(*prepared->obstacles, design, planned.rules);
        const GaugeAnswer answer =
            gauge.largest(planned.placement.rotation, planned.placement.translation_mm);
        if (answer.source < 0 || answer.size_mm < kSmallestSize_mm)
            throw Error(ErrorCode::NoSolution, "No size of this cut fits around its centre.",
                        "Move the centre into the stone and out of the defects that must be cut "
                        "away, or use Find the best.");
        Placement placement = planned.placement;
        placement.size_mm = answer.size_mm;
        document_.placeCut(tr("Largest here"), placement);
    });
}

void MainWindow::settleHere() {
    const auto prepared = workshop_.prepared();
    if (!prepared) return;
    const PlannedStone planned = document_.planned();
    startJob(tr("Settling"), [this, prepared, planned](Progress& progress) -> Job::HandOver {
        const Design design = designOf(planned);
        const Gauge gauge(*prepared->obstacles, design, planned.rules);
        const Placement settled = settle(gauge, planned.placement, &progress);
        return [this, settled] { edit([&] { document_.placeCut(tr("Settle"), settled); }); };
    });
}

void MainWindow::findTheBest() {
    const auto prepared = workshop_.prepared();
    if (!prepared) return;
    const PlannedStone planned = document_.planned();
    const SearchBudget budget = cutPanel_->searchBudget();
    searching_ = true;
    keepBest_ = false;
    preview_.reset();
    startJob(
        tr("Looking for the best placement"),
        [this, prepared, planned, budget](Progress& progress) -> Job::HandOver {
            const Design design = designOf(planned);
            const Gauge gauge(*prepared->obstacles, design, planned.rules);
            FitOptions options;
            options.seconds = budget.seconds;
            options.poses = budget.poses;
            options.seed = kSeed;
            options.threads = searchThreads();
            options.different = kOthers;
            options.tableDirections = crystalTables(*prepared->stone);
            options.onBetter = [this](const Placement& better) {
                QMetaObject::invokeMethod(
                    this, [this, better] { showBestSoFar(better); }, Qt::QueuedConnection);
            };
            const FitResult found = findBest(gauge, options, &progress);
            std::vector<Placement> all{found.placement};
            all.insert(all.end(), found.others.begin(), found.others.end());
            return [this, prepared, planned, all] {
                takeFound(all.front());
                keepFindings(prepared, planned, all);
            };
        },
        true);
    stage_->view()->setTurning(true);
}

void MainWindow::showBestSoFar(const Placement& placement) {
    if (!searching_ || (preview_ && preview_->size_mm >= placement.size_mm)) return;
    preview_ = placement;
    stage_->view()->setPlacement(placement);
    requestFigures(false);
}

void MainWindow::takeFound(const Placement& found) {
    const auto prepared = workshop_.prepared();
    const PlannedStone planned = document_.planned();
    preview_.reset();
    Placement best = found;
    if (prepared) {
        // The place the planner had may be better than all that was found.
        const Design design = designOf(planned);
        const Gauge gauge(*prepared->obstacles, design, planned.rules);
        const GaugeAnswer here =
            gauge.largest(planned.placement.rotation, planned.placement.translation_mm);
        if (here.source >= 0 && here.size_mm >= found.size_mm) {
            best = planned.placement;
            best.size_mm = here.size_mm;
        }
    }
    edit([&] { document_.placeCut(tr("Best fit found"), best); });
}

void MainWindow::endSearch() {
    if (!searching_) return;
    searching_ = false;
    stage_->view()->setTurning(false);
    const std::optional<Placement> best = preview_;
    preview_.reset();
    if (keepBest_ && best) takeFound(*best);
    keepBest_ = false;
    if (document_.isOpen()) displayLayout();
}

}  // namespace macle::app
