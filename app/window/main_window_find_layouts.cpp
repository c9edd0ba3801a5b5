// The search for whole layouts of several stones, and taking over what it found.
#include <utility>

#include "app/window/appraisal_panel.h"
#include "app/window/choice_dialog.h"
#include "app/window/main_window.h"
#include "core/appraise/clarity_scale.h"
#include "core/appraise/price_table.h"
#include "core/appraise/worth.h"
#include "core/cut/library.h"

namespace macle::app {
namespace {

constexpr double kJointTimes = 2.0;  // of the length chosen for a search of one stone
constexpr std::size_t kDifferent = 6;

// What values are made of, kept for as long as the search asks.
struct Values {
    ClarityScale scale;
    PriceTable prices;
    std::vector<Design> designs;
    std::vector<PlacementWorth> worths;  // by cut
};

std::shared_ptr<Values> valuesOf(const Stone& stone, const std::filesystem::path& prices,
                                 const JointRules& rules) {
    auto values = std::make_shared<Values>();
    values->scale = readClarityScale(defaultClarityScale());
    values->prices = readPrices({prices});
    for (const JointCut& cut : rules.cuts) {
        ValueQuery query;
        query.cut = cut.cut;
        query.colour = stone.colour.body.letter;
        query.fluorescence = stone.colour.fluorescence.strength;
        values->worths.emplace_back(stone, makeDesign(cut.cut, cut.proportions, cut.edits),
                                    values->scale, &values->prices, query, Sought::Value);
    }
    return values;
}

JointRules rulesOf(const LayoutWish& wish, const PlannedStone& planned) {
    JointRules rules;
    rules.cuts.clear();
    for (const std::string& cut : wish.cuts) {
        // The cut at hand as it was changed, others as they come.
        if (cut == planned.cut)
            rules.cuts.push_back({cut, planned.proportions, planned.edits});
        else
            rules.cuts.push_back({cut});
    }
    std::vector<std::size_t> any;
    for (std::size_t i = 0; i < rules.cuts.size(); ++i)
        any.push_back(i);
    rules.stones.assign(static_cast<std::size_t>(wish.stones), any);
    rules.fewer = wish.fewer && wish.stones > 2;
    rules.kerf_mm = wish.kerf_mm;
    rules.exit_mm = wish.exit_mm;
    rules.mechanical = wish.mechanical;
    rules.fit = planned.rules;
    return rules;
}

}  // namespace

void MainWindow::askFindLayouts() {
    if (job_ || !document_.isOpen()) return;
    if (layoutWish_.cuts.empty()) layoutWish_.cuts = {document_.planned().cut};
    const Stone& stone = *document_.stone();
    const std::filesystem::path prices = appraisalPanel_->wishes().prices;
    FindLayoutsDialog dialog(
        layoutWish_,
        stone.axes ? QString() : tr("A mechanical saw needs the crystal axes of the stone."),
        prices.empty() ? tr("For values choose your price table in the appraisal.")
        : stone.colour.body.letter.empty() ? tr("For values record the colour of the stone.")
                                           : QString(),
        this);
    if (dialog.exec() != QDialog::Accepted) return;
    layoutWish_ = dialog.chosen();
    findLayouts(layoutWish_);
}

void MainWindow::findLayouts(const LayoutWish& wish) {
    const auto prepared = workshop_.prepared();
    if (!prepared || job_) return;
    keepBest_ = false;
    bestLayoutSoFar_.reset();
    const JointRules rules = rulesOf(wish, document_.planned());
    const SearchBudget budget = cutPanel_->searchBudget();
    const std::filesystem::path prices = appraisalPanel_->wishes().prices;
    startJob(
        tr("Looking for layouts of several stones"),
        [this, prepared, rules, budget, wish, prices](Progress& progress) -> Job::HandOver {
            JointOptions options;
            options.seconds = kJointTimes * budget.seconds;
            options.poses = static_cast<long long>(kJointTimes * static_cast<double>(budget.poses));
            options.threads = searchThreads();
            options.different = kDifferent;
            options.onBetter = [this, stone = prepared->of](const JointLayout& better) {
                QMetaObject::invokeMethod(
                    this, [this, stone, better] { showBestLayoutSoFar(stone, better); },
                    Qt::QueuedConnection);
            };
            std::shared_ptr<Values> values;
            StoneWorth worth;
            if (wish.byValue) {
                values = valuesOf(*prepared->of, prices, rules);
                worth = [values](std::size_t cut, const Placement& placement) {
                    return values->worths[cut].read(placement).worth;
                };
            }
            const JointResult found =
                findJoint(*prepared->of, *prepared->wholeCutter, rules, worth, options, &progress);
            const QString currency =
                values ? QString::fromStdString(values->prices.currency) : QString();
            return [this, prepared, found, currency] {
                bestLayoutSoFar_.reset();
                offerLayouts(prepared->of, found, currency);
            };
        },
        true);
}

void MainWindow::showBestLayoutSoFar(const std::shared_ptr<const Stone>& stone,
                                     const JointLayout& better) {
    if (!job_) return;
    bestLayoutSoFar_ = better;
    stage_->setJobText(tr("Looking for layouts: %1 ct in %2 stones so far")
                           .arg(locale().toString(caratsOf(*stone, better.volume_mm3), 'f', 2))
                           .arg(better.layout.stones.size()));
}

// Stopped by hand: the best so far is a layout like any other.
void MainWindow::endFindLayouts() {
    const auto best = std::exchange(bestLayoutSoFar_, std::nullopt);
    if (!best || !keepBest_ || !document_.isOpen()) return;
    edit([&] { document_.addLayout(tr("Take layout found"), best->layout); });
}

void MainWindow::offerLayouts(const std::shared_ptr<const Stone>& stone, const JointResult& found,
                              const QString& currency) {
    ChoiceTable table;
    table.title = tr("Layouts found");
    table.several = true;
    table.head =
        tr("Clearly different ways of dividing the rough, the best first. Taking one adds it to "
           "the layouts of the stone; several may be taken.");
    table.caution = currency.isEmpty()
                        ? tr("Weights are planning estimates.")
                        : tr("Weights and values are planning estimates; values leave out how "
                             "often facets mirror a defect.");
    table.columns = {tr("Weight"), tr("Recovery")};
    if (!currency.isEmpty()) table.columns << tr("Value");
    table.columns << tr("Stones");
    const double rough_ct = caratsOf(*stone, stone->rough.volume_mm3);
    for (const JointLayout& one : found.layouts) {
        const double weight_ct = caratsOf(*stone, one.volume_mm3);
        QStringList row = {
            tr("%1\u00a0ct").arg(locale().toString(weight_ct, 'f', 2)),
            tr("%1\u00a0%").arg(locale().toString(100.0 * weight_ct / rough_ct, 'f', 1))};
        if (!currency.isEmpty())
            row << tr("%1\u00a0%2").arg(locale().toString(one.worth, 'f', 0), currency);
        QStringList stones;
        for (std::size_t i = 0; i < one.layout.stones.size(); ++i)
            stones << tr("%1 %2\u00a0ct")
                          .arg(QString::fromStdString(findCut(one.layout.stones[i].cut).title),
                               locale().toString(caratsOf(*stone, one.volumes_mm3[i]), 'f', 2));
        table.rows.push_back(row << stones.join(", "));
    }
    foundStone_ = stone;
    foundLayouts_ = found.layouts;
    showChoices(
        table,
        [this, stone, found](int row) {
            if (!document_.isOpen() || document_.stone() != stone) return;
            edit([&] {
                Layout layout = found.layouts[static_cast<std::size_t>(row)].layout;
                document_.addLayout(tr("Take layout found"), std::move(layout));
            });
        },
        this);
}

}  // namespace macle::app
