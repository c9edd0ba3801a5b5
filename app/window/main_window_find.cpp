// What more can be found out about a cut in a stone: other placements, free proportions, a proven
// bound, and what defects cost.
#include <QLocale>
#include <algorithm>
#include <cmath>

#include "app/window/choice_dialog.h"
#include "app/window/free_dialog.h"
#include "app/window/main_window.h"
#include "app/window/sketch.h"
#include "core/appraise/clarity_curve.h"
#include "core/base/units.h"
#include "core/cut/library.h"
#include "core/fit/crystal_tables.h"
#include "core/fit/explain.h"

namespace macle::app {
namespace {

constexpr std::uint64_t kSeed = 1;
// Of the length chosen for a search.
constexpr double kBoundTimes = 6.0;
constexpr double kClarityTimes = 2.0;
constexpr double kPriceTimes = 0.3;  // for each defect
constexpr double kPosesPerCell = 20.0;
constexpr double kBoundGap_percent = 0.5;
constexpr double kSamePlace = 1e-6;  // of the size

bool sameCut(const PlannedStone& a, const PlannedStone& b) {
    return a.cut == b.cut && a.proportions == b.proportions && a.edits == b.edits &&
           a.rules.allowance_mm == b.rules.allowance_mm;
}

double weight_ct(double unitVolume, double size_mm, const Stone& stone) {
    return caratsOf(stone, unitVolume * size_mm * size_mm * size_mm);
}

FitOptions optionsOf(const SearchBudget& budget, double times, int threads, const Stone& stone) {
    FitOptions options;
    options.seconds = times * budget.seconds;
    options.poses = static_cast<long long>(times * static_cast<double>(budget.poses));
    options.seed = kSeed;
    options.threads = threads;
    options.tableDirections = crystalTables(stone);
    return options;
}

bool samePlace(const Placement& a, const Placement& b) {
    return std::abs(a.size_mm - b.size_mm) < kSamePlace * a.size_mm &&
           (a.translation_mm - b.translation_mm).norm() < kSamePlace * a.size_mm &&
           a.rotation.angularDistance(b.rotation) < kSamePlace;
}

}  // namespace

bool MainWindow::Findings::about(const Document& document) const {
    return prepared->about(document) && sameCut(document.planned(), planned);
}

void MainWindow::keepFindings(const std::shared_ptr<const Prepared>& prepared,
                              const PlannedStone& planned, std::vector<Placement> placements) {
    const bool same = findings_ && findings_->prepared->of == prepared->of &&
                      findings_->prepared->saws == prepared->saws &&
                      findings_->prepared->piece == prepared->piece &&
                      sameCut(findings_->planned, planned);
    if (!same) findings_ = Findings{prepared, planned, {}, std::nullopt};
    if (!placements.empty()) {
        // Where the planner stood may have been better than all that was found.
        const Placement& now = document_.planned().placement;
        if (now.size_mm > placements.front().size_mm) placements.insert(placements.begin(), now);
        findings_->placements = std::move(placements);
    }
    stripDrawn_ = false;
    displayFindings();
}

void MainWindow::displayFindings() {
    const bool valid = findings_ && findings_->about(document_);
    const bool some = valid && findings_->placements.size() > 1;
    strip_->setVisible(some);
    if (!valid) {
        stripDrawn_ = false;
        resultPanel_->displayProof({}, {});
        return;
    }
    const Design design = designOf(findings_->planned);
    const double unit = designVolume(design);
    const Stone& stone = *findings_->prepared->stone;
    if (some) {
        int current = -1;
        for (std::size_t i = 0; i < findings_->placements.size(); ++i)
            if (samePlace(findings_->placements[i], document_.planned().placement))
                current = static_cast<int>(i);
        if (!stripDrawn_) {
            std::vector<ConvexSolid> solids;
            for (const ConvexPart& part : design.parts)
                solids.push_back(makeSolid(part));
            const double ratio = devicePixelRatioF();
            const auto pixels = [ratio](int length) {
                return static_cast<int>(std::lround(ratio * length));
            };
            const Sketch sketch(stone.rough.mesh, pixels(PlacementsStrip::kPictureWidth),
                                pixels(PlacementsStrip::kPictureHeight), ratio, sketchColours());
            std::vector<PlacementsStrip::Entry> entries;
            for (const Placement& p : findings_->placements)
                entries.push_back(
                    {sketch.draw({{solids, p}}),
                     tr("%1\u00a0ct")
                         .arg(locale().toString(weight_ct(unit, p.size_mm, stone), 'f', 2)),
                     tr("%1\u00a0mm").arg(locale().toString(p.size_mm, 'f', 3))});
            strip_->display(entries, current);
            stripDrawn_ = true;
        } else {
            strip_->setCurrent(current);
        }
    }
    QString proof, certificate;
    if (findings_->bound) {
        const Bound& bound = *findings_->bound;
        double best = bound.incumbent_mm;
        for (const Placement& p : findings_->placements)
            best = std::max(best, p.size_mm);
        const double gap = 100.0 * (std::pow(bound.size_mm / best, 3) - 1.0);
        proof = tr("Proven: no placement of this cut exceeds %1\u00a0ct, %2\u00a0% above the best "
                   "found.")
                    .arg(locale().toString(weight_ct(unit, bound.size_mm, stone), 'f', 2),
                         locale().toString(std::max(0.0, gap), 'f', 1));
        certificate = QStringLiteral("<p>%1</p>")
                          .arg(QString::fromStdString(bound.certificate).toHtmlEscaped());
    }
    resultPanel_->displayProof(proof, certificate);
}

void MainWindow::choosePlacement(int index) {
    if (job_ || !findings_ || !findings_->about(document_) || index < 0 ||
        index >= static_cast<int>(findings_->placements.size()))
        return;
    const Placement placement = findings_->placements[static_cast<std::size_t>(index)];
    if (samePlace(placement, document_.planned().placement)) return;
    const int gesture = stepGesture(QStringLiteral("placements"));
    edit([&] { document_.placeCut(tr("Placement %1").arg(index + 1), placement, gesture); });
}

void MainWindow::putFindingsAway() {
    if (findings_) findings_->placements.clear();
    displayFindings();
}

void MainWindow::findWithFreeProportions() {
    const auto prepared = workshop_.prepared();
    if (!prepared || job_) return;
    const PlannedStone planned = document_.planned();
    FreeDialog dialog(findCut(planned.cut), planned.proportions, freeLast_, this);
    if (dialog.exec() != QDialog::Accepted) return;
    freeLast_ = dialog.chosen();
    const SearchBudget budget = cutPanel_->searchBudget();
    startJob(
        tr("Looking for the best proportions and placement"),
        [this, prepared, planned, budget, free = freeLast_](Progress& progress) -> Job::HandOver {
            const FitOptions options = optionsOf(budget, 1.0, searchThreads(), *prepared->stone);
            const FreeFitResult found =
                findBestFree(*prepared->obstacles, planned.cut, planned.proportions, planned.edits,
                             free, planned.rules, options, &progress);
            PlannedStone best = planned;
            best.proportions = found.proportions;
            best.placement = found.fit.placement;
            return [this, best] {
                edit([&] { document_.changePlanned(tr("Best fit with free proportions"), best); });
            };
        });
}

void MainWindow::proveABound() {
    const auto prepared = workshop_.prepared();
    if (!prepared) return;
    const PlannedStone planned = document_.planned();
    double known_mm = 0.0;
    if (findings_ && findings_->about(document_))
        for (const Placement& p : findings_->placements)
            known_mm = std::max(known_mm, p.size_mm);
    const SearchBudget budget = cutPanel_->searchBudget();
    startJob(tr("Proving a bound"),
             [this, prepared, planned, budget, known_mm](Progress& progress) -> Job::HandOver {
                 const Design design = designOf(planned);
                 const Gauge gauge(*prepared->obstacles, design, planned.rules);
                 BoundOptions options;
                 options.seconds = kBoundTimes * budget.seconds;
                 options.cells = static_cast<long long>(kBoundTimes / kPosesPerCell *
                                                        static_cast<double>(budget.poses));
                 options.threads = searchThreads();
                 options.targetGap_percent = kBoundGap_percent;
                 options.incumbent_mm = known_mm;
                 const Placement& now = planned.placement;
                 const GaugeAnswer here = gauge.largest(now.rotation, now.translation_mm);
                 if (here.source >= 0)
                     options.incumbent_mm = std::max(options.incumbent_mm, here.size_mm);
                 const Bound bound = proveBound(gauge, options, &progress);
                 return [this, prepared, planned, bound] {
                     keepFindings(prepared, planned, {});
                     findings_->bound = bound;
                     if (bound.better)
                         edit([&] {
                             document_.placeCut(tr("Better fit met while proving"), *bound.better);
                         });
                     displayFindings();
                 };
             });
}

void MainWindow::weighClarity() {
    const auto prepared = workshop_.prepared();
    if (!prepared) return;
    const PlannedStone planned = document_.planned();
    const SearchBudget budget = cutPanel_->searchBudget();
    startJob(
        tr("Weighing clarity against weight"),
        [this, prepared, planned, budget](Progress& progress) -> Job::HandOver {
            const FitOptions options =
                optionsOf(budget, kClarityTimes, searchThreads(), *prepared->stone);
            const auto curve = clarityCurve(*prepared->stone, *prepared->cutter, designOf(planned),
                                            planned.rules, options, &progress);
            return [this, curve] {
                ChoiceTable table;
                table.title = tr("Weight against clarity");
                table.head =
                    tr("The heaviest stone found for each clarity that is worth its "
                       "price in weight. Taking one also lets its defects stay.");
                table.caution =
                    tr("Severities are the planner's own. A planning estimate, not a "
                       "grading report.");
                table.columns = {tr("Weight"), tr("Size"), tr("Worst left"), tr("Left inside")};
                for (const ClarityPoint& point : curve) {
                    QStringList names;
                    for (const DefectInside& defect : point.appraisal.defects)
                        names << QString::fromStdString(defect.name);
                    table.rows.push_back(
                        {tr("%1\u00a0ct")
                             .arg(locale().toString(point.appraisal.finished_ct, 'f', 2)),
                         tr("%1\u00a0mm").arg(locale().toString(point.placement.size_mm, 'f', 3)),
                         point.worst_severity > 0 ? severityLabel(point.worst_severity)
                                                  : tr("none"),
                         names.isEmpty() ? tr("no recorded defect") : names.join(", ")});
                }
                showChoices(
                    table,
                    [this, curve](int row) {
                        const ClarityPoint& point = curve[static_cast<std::size_t>(row)];
                        edit([&] {
                            std::vector<Defect> defects = document_.stone()->defects;
                            bool changed = false;
                            for (const int i : point.permitted) {
                                Defect& defect = defects.at(static_cast<std::size_t>(i));
                                if (defect.policy != DefectPolicy::MustBeCutAway) continue;
                                defect.policy = DefectPolicy::MayStay;
                                changed = true;
                            }
                            if (changed)
                                document_.changeDefects(tr("Let defects stay"), std::move(defects),
                                                        document_.stone()->clusters);
                            document_.placeCut(tr("Placement for a clarity"), point.placement);
                        });
                    },
                    this);
            };
        });
}

void MainWindow::priceDefects() {
    const auto prepared = workshop_.prepared();
    if (!prepared) return;
    const PlannedStone planned = document_.planned();
    const SearchBudget budget = cutPanel_->searchBudget();
    startJob(tr("Pricing the defects that hold the cut"),
             [this, prepared, planned, budget](Progress& progress) -> Job::HandOver {
                 const Design design = designOf(planned);
                 const Gauge gauge(*prepared->obstacles, design, planned.rules);
                 const FitOptions options =
                     optionsOf(budget, kPriceTimes, searchThreads(), *prepared->stone);
                 const Explanation found =
                     explain(*prepared->stone, gauge, planned.placement, options, &progress);
                 return [this, prepared, found] {
                     ChoiceTable table;
                     table.title = tr("What defects cost here");
                     table.head =
                         found.defects.empty()
                             ? tr("No defect holds the cut where it is: only the skin does.")
                             : tr("If one of these might stay, at least so much heavier a stone "
                                  "was found. Taking one lets it stay and puts the cut there.");
                     table.caution = tr("A planning estimate, not a grading report.");
                     table.columns = {tr("Gain"), tr("Defect")};
                     for (const DefectCost& cost : found.defects)
                         table.rows.push_back(
                             {tr("+%1\u00a0ct")
                                  .arg(locale().toString(caratsOf(*prepared->stone, cost.gain_mm3),
                                                         'f', 3)),
                              QString::fromStdString(cost.name)});
                     showChoices(
                         table,
                         [this, found](int row) {
                             const DefectCost& cost = found.defects[static_cast<std::size_t>(row)];
                             edit([&] {
                                 std::vector<Defect> defects = document_.stone()->defects;
                                 defects.at(static_cast<std::size_t>(cost.defect)).policy =
                                     DefectPolicy::MayStay;
                                 document_.changeDefects(
                                     tr("Let %1 stay").arg(QString::fromStdString(cost.name)),
                                     std::move(defects), document_.stone()->clusters);
                                 document_.placeCut(tr("Placement without it"), cost.then);
                             });
                         },
                         this);
                 };
             });
}

}  // namespace macle::app
