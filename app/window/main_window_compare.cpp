// Comparing layouts: side by side and in a chart.
#include <QAction>
#include <algorithm>
#include <utility>

#include "app/window/appraisal_panel.h"
#include "app/window/compare_window.h"
#include "app/window/comparison_views.h"
#include "app/window/layouts_strip.h"
#include "app/window/main_window.h"
#include "core/base/part_progress.h"

namespace macle::app {
namespace {

constexpr std::size_t kFewest = SideBySide::kFewest;
constexpr std::size_t kMost = SideBySide::kMost;

}  // namespace

// Those that are ticked; where fewer than two are, the one at hand and its neighbours.
std::vector<int> MainWindow::layoutsToCompare() const {
    std::vector<int> chosen = layoutsStrip_->ticked();
    const int count = static_cast<int>(document_.layouts().size());
    std::erase_if(chosen, [count](int index) { return index >= count; });
    if (chosen.size() < kFewest) {
        const int most = static_cast<int>(kMost);
        const int first = std::clamp(document_.currentLayout() - 1, 0, std::max(0, count - most));
        chosen.clear();
        for (int i = first; i < std::min(count, first + most); ++i)
            chosen.push_back(i);
    }
    if (chosen.size() > kMost) chosen.resize(kMost);
    return chosen;
}

void MainWindow::compareLayouts(bool chart) {
    const auto prepared = workshop_.prepared();
    if (!prepared || job_) return;
    const std::vector<int> chosen = layoutsToCompare();
    delete compareWindow_.data();
    compareWindow_ = new CompareWindow(this);
    compareWindow_->setAttribute(Qt::WA_DeleteOnClose);
    if (chart) compareWindow_->showChart();

    // All layouts, then what the last search found and is not among them.
    struct Candidate {
        Layout layout;
        QString state;
        bool kept = true;
    };
    std::vector<Candidate> all;
    for (const Layout& layout : document_.layouts())
        all.push_back(
            {layout, QString::fromLatin1(layoutStateName(document_.approvalBook().state(layout)))});
    if (foundStone_ == document_.stone())
        for (const JointLayout& found : foundLayouts_) {
            const bool kept = std::any_of(all.begin(), all.end(), [&](const Candidate& one) {
                return one.layout.saws == found.layout.saws &&
                       one.layout.stones == found.layout.stones;
            });
            if (kept || all.size() >= kMostCompared) continue;
            Candidate candidate{found.layout, tr("found, not taken yet"), false};
            candidate.layout.name =
                tr("found %1").arg(all.size() - document_.layouts().size() + 1).toStdString();
            all.push_back(std::move(candidate));
        }
    connect(compareWindow_->sideBySide(), &SideBySide::layoutChosen, this,
            [this, chosen](int index) {
                if (index >= 0 && index < static_cast<int>(chosen.size()))
                    chooseLayout(chosen[static_cast<std::size_t>(index)]);
            });
    connect(compareWindow_->chart(), &CandidateChart::candidateAsked, this, [this, all](int index) {
        if (job_ || index < 0 || index >= static_cast<int>(all.size())) return;
        const Candidate& candidate = all[static_cast<std::size_t>(index)];
        if (candidate.kept)
            chooseLayout(index);
        else
            edit([&] { document_.addLayout(tr("Take layout found"), candidate.layout); });
    });
    compareWindow_->chart()->setBeingComputed(tr("Figures are being computed"));
    comparing_ = true;
    const auto stone = document_.stone();
    const AppraisalWishes wishes = appraisalPanel_->wishes();
    startJob(tr("Comparing layouts"),
             [this, prepared, stone, chosen, all, wishes](Progress& progress) -> Job::HandOver {
                 std::vector<SideLayout> sides;
                 for (const int index : chosen) {
                     const Candidate& one = all[static_cast<std::size_t>(index)];
                     sides.push_back(readySide(*stone, *prepared->wholeCutter, one.layout,
                                               one.state, std::nullopt, &progress));
                 }
                 // The drawings stand while the figures are on their way.
                 QMetaObject::invokeMethod(
                     this,
                     [this, stone, sides] {
                         if (!compareWindow_) return;
                         compareWindow_->sideBySide()->display(stone, sides);
                         compareWindow_->sideBySide()->setBeingComputed(
                             tr("Figures are being computed"));
                         compareWindow_->show();
                     },
                     Qt::QueuedConnection);
                 const AppraisalFiles files = readAppraisalFiles(wishes);
                 std::vector<WholeLayout> wholes;
                 std::size_t done = 0;
                 for (const Candidate& one : all) {
                     PartProgress part(
                         &progress, static_cast<double>(done) / static_cast<double>(all.size()),
                         static_cast<double>(done + 1) / static_cast<double>(all.size()));
                     wholes.push_back(appraiseWhole(*stone, *prepared->wholeCutter, one.layout,
                                                    files.inputs(), &part));
                     wholes.back().name = one.layout.name;
                     ++done;
                 }
                 std::vector<WholeLayout> beside;
                 for (std::size_t i = 0; i < chosen.size(); ++i) {
                     beside.push_back(wholes[static_cast<std::size_t>(chosen[i])]);
                     sides[i].weight_ct = beside.back().finished_ct;
                 }
                 std::optional<Comparison> differences;
                 if (beside.size() >= kFewest) differences = macle::compareLayouts(beside);
                 ChartContent content;
                 if (wholes.size() >= kFewest)
                     content = chartOf(macle::compareLayouts(wholes));
                 else
                     content = chartOf({candidatePoint(wholes.front())});
                 for (std::size_t i = 0; i < content.candidates.size(); ++i) {
                     content.candidates[i].note = all[i].state;
                     content.candidates[i].isLayout = all[i].kept;
                 }
                 return [this, stone, sides, differences, content] {
                     comparing_ = false;
                     if (!compareWindow_) return;
                     SideBySide* view = compareWindow_->sideBySide();
                     view->setBeingComputed({});
                     view->display(stone, sides);
                     if (differences) view->displayComparison(*differences);
                     compareWindow_->chart()->setBeingComputed({});
                     compareWindow_->chart()->display(content.figures, content.candidates,
                                                      document_.currentLayout());
                     compareWindow_->show();
                 };
             });
}

// The job ended without its figures: the drawings that stand already stay.
void MainWindow::endComparing() {
    if (!std::exchange(comparing_, false) || !compareWindow_) return;
    if (!compareWindow_->isVisible()) {
        delete compareWindow_.data();
        return;
    }
    const QString stopped = tr("Stopped before the figures were computed");
    compareWindow_->sideBySide()->setBeingComputed(stopped);
    compareWindow_->chart()->setBeingComputed(stopped);
}

}  // namespace macle::app
