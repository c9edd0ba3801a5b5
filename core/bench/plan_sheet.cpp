#include "core/bench/plan_sheet.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <ctime>
#include <map>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/part_progress.h"
#include "core/bench/drawn_faces.h"
#include "core/bench/sheet_words.h"
#include "core/bench/step_cautions.h"
#include "core/cut/library.h"

namespace macle {

namespace {

// Shares of the whole that are shown as done after each part.
constexpr double kAfterFigures = 0.6;
constexpr double kAfterSteps = 0.85;

constexpr int kToleranceSamples = 200;  // 5 and 95 of 100 to about a tenth of their distance

std::string today() {
    const std::time_t now = std::time(nullptr);
    std::tm parts{};
    localtime_r(&now, &parts);
    std::array<char, 16> text{};
    std::strftime(text.data(), text.size(), "%Y-%m-%d", &parts);
    return text.data();
}

void checkPlacement(const Placement& placement) {
    const bool sound = placement.rotation.coeffs().allFinite() &&
                       std::abs(placement.rotation.norm() - 1.0) < 1e-6 &&  // a unit quaternion
                       placement.translation_mm.allFinite() && std::isfinite(placement.size_mm) &&
                       placement.size_mm > 0.0;
    if (!sound)
        throw Error(ErrorCode::BadInput, "The placement is not usable.",
                    "Give a unit quaternion, a translation in mm and a size above 0 mm.");
}

// What touches where the cut is as large as it can be at its place; else nothing does.
std::vector<FitLimit> limitsOf(const Stone& piece, const PlannedStone& planned,
                               const Design& design) {
    const Obstacles obstacles(piece);
    const Gauge gauge(obstacles, design, planned.rules);
    const Placement& p = planned.placement;
    const GaugeAnswer answer = gauge.largest(p.rotation, p.translation_mm);
    constexpr double kTouching = 1e-3;  // of the size
    if (answer.source < 0 || std::abs(answer.size_mm - p.size_mm) > kTouching * p.size_mm)
        return {};
    return limitsAt(gauge, p.rotation, p.translation_mm);
}

class Making {
  public:
    Making(const Stone& stone, const RoughCutter& cutter, const Layout& layout,
           const SheetRequest& request, Progress* progress)
        : stone_(stone), cutter_(cutter), layout_(layout), request_(request), progress_(progress) {}

    PlanSheet run() {
        for (const PlannedStone& planned : layout_.stones)
            checkPlacement(planned.placement);
        if (!(request_.tolerances.angle_deg >= 0.0 && request_.tolerances.length_mm >= 0.0))
            throw Error(ErrorCode::BadUsage, "A tolerance is below zero.",
                        "Give degrees and millimetres of 0 or more.");
        PartProgress figuring(progress_, 0.0, kAfterFigures);
        whole_ = request_.inputs
                     ? appraiseWhole(stone_, cutter_, layout_, *request_.inputs, &figuring)
                     : weighWhole(stone_, cutter_, layout_, &figuring);
        for (const PlannedStone& planned : layout_.stones)
            designs_.push_back(designOf(planned));
        heading();
        steps();
        sums();
        for (std::size_t i = 0; i < layout_.stones.size(); ++i) {
            step(kAfterSteps + (1.0 - kAfterSteps) * static_cast<double>(i) /
                                   static_cast<double>(layout_.stones.size()));
            sheet_.stones.push_back(stoneOf(i));
        }
        overview();
        cautions();
        step(1.0);
        return std::move(sheet_);
    }

  private:
    void step(double fraction) const {
        if (!progress_) return;
        progress_->throwIfCancelled();
        progress_->advanceTo(fraction);
    }

    void heading() {
        sheet_.stoneName = stone_.name;
        sheet_.layoutName = layout_.name;
        sheet_.state = request_.state;
        sheet_.date = request_.date.empty() ? today() : request_.date;
        sheet_.hash = layoutHash(stone_, layout_);
        sheet_.tolerances = request_.tolerances;
        sheet_.open = whole_.open;
        if (request_.inputs) sheet_.lines = figureLines(whole_);
    }

    void steps() {
        OrderRequest order;
        if (request_.inputs) {
            order.rates = request_.inputs->rates;
            order.grain = request_.inputs->grain;
        }
        std::map<int, std::vector<std::string>> worked;  // per stone
        order.onStep = [&](const BenchStep& step, const std::vector<const TriangleMesh*>& before,
                           const std::vector<const TriangleMesh*>& after) {
            if (step.saw >= 0) {
                const Saw& saw = layout_.saws[static_cast<std::size_t>(step.saw)];
                sections_.push_back(sectionHull(*before[0], saw.normal, saw.offset_mm));
                views_[step.number] = sawViews(*before[0], after, saw.normal, saw.offset_mm,
                                               {"piece " + std::to_string(saw.piece + 1),
                                                "piece " + std::to_string(step.saw + 2)});
                return;
            }
            const auto planned = static_cast<std::size_t>(step.stone);
            std::vector<std::string>& done = worked[step.stone];
            done.insert(done.end(), step.works.begin(), step.works.end());
            views_[step.number] = stepViews(*before[0], *after[0], designs_[planned],
                                            layout_.stones[planned].placement, done, step.works);
        };
        PartProgress ordering(progress_, kAfterFigures, kAfterSteps);
        order_ = orderWork(stone_, cutter_, layout_, whole_, order, &ordering);
        sheet_.minutes = order_.minutes;
        sheet_.minutesMissing = order_.minutesMissing;
        sheet_.grainMissing = order_.grainMissing;
        for (const BenchStep& step : order_.steps)
            sheet_.steps.push_back({step, views_[step.number]});
    }

    void sums() {
        sheet_.rough_ct = whole_.rough_ct;
        sheet_.finished_ct = whole_.finished_ct;
        sheet_.kerf_ct = whole_.kerf_ct;
        sheet_.leftOver_ct = whole_.leftOver_ct;
        sheet_.outside_ct = whole_.outside_ct;
        sheet_.recovery_percent = whole_.recovery_percent;
        sheet_.figures = wholeFigures(stone_, whole_, order_);
        for (const BenchStep& step : order_.steps) {
            if (step.saw < 0) continue;
            sheet_.saws.push_back({step.saw + 1, layout_.saws[static_cast<std::size_t>(step.saw)],
                                   step.entering_ct, step.removed_ct, step.saw + 1});
        }
    }

    SheetStone stoneOf(std::size_t i) const {
        const PlannedStone& planned = layout_.stones[i];
        const WholeStone& weighed = whole_.stones[i];
        const Design& design = designs_[i];
        const Stone& piece = *weighed.stone;
        const Box box = boundsOf(solidsInCutFrame(design, planned.placement.size_mm));
        SheetStone one;
        one.name = stoneName(i);
        one.piece = planned.piece;
        one.cut = planned.cut;
        one.cutTitle = findCut(planned.cut).title;
        one.placement = planned.placement;
        one.allowance_mm = planned.rules.allowance_mm;
        one.piece_ct = caratsOf(piece, piece.rough.volume_mm3);
        one.appraisal = weighed.weight;
        one.figures =
            stoneFigures(piece, weighed.weight, box.extent(), planned, layout_.saws.empty());
        one.proportions = proportionFigures(fullProportions(design), planned.cut, box.extent(),
                                            planned.placement.size_mm);
        one.changes = design.changes;
        if (!design.changes.empty())
            one.proportions.emplace_back("Facets changed after that",
                                         std::to_string(design.changes.size()) + ", see cautions");
        one.facets = facetRows(design, planned.placement.size_mm, facetGroups(design));
        one.limits = limitsOf(piece, planned, design);
        one.removed = removedDefects(i);
        one.referenceFace = referenceLines(
            referenceFaceOf(stone_.rough.mesh, layout_, whole_.divided->division, i));
        if (weighed.figures) one.lines = figureLines(*weighed.figures);
        one.toleranceWorth = toleranceWorth(i);
        one.views = stoneViews(piece, design, planned.placement);
        return one;
    }

    // All defects but those the appraisal finds inside the finished stone.
    std::vector<DefectRemoved> removedDefects(std::size_t stone) const {
        std::map<std::string, int> staying;
        for (const DefectInside& inside : whole_.stones[stone].weight.defects)
            ++staying[inside.name];
        std::vector<DefectRemoved> list;
        for (const Defect& defect : stone_.defects) {
            if (int& left = staying[defect.name]; left > 0) {
                --left;
                continue;
            }
            DefectRemoved one{defect.name, kindName(defect.kind), defect.severity, 0,
                              "beside the stone when all is done"};
            for (const BenchStep& step : order_.steps) {
                if (step.stone != static_cast<int>(stone)) continue;
                if (std::find(step.defectsOff.begin(), step.defectsOff.end(), defect.name) ==
                    step.defectsOff.end())
                    continue;
                one.step = step.number;
                one.words = "with step " + std::to_string(step.number) + ", " + step.title;
                break;
            }
            list.push_back(std::move(one));
        }
        return list;
    }

    // The tolerances are taken for two standard deviations.
    std::string toleranceWorth(std::size_t i) const {
        if (!request_.inputs || !request_.inputs->scale)
            return "What the tolerances are worth in weight is told where the sheet is asked for "
                   "with appraisal.";
        const PlannedStone& planned = layout_.stones[i];
        const WholeStone& weighed = whole_.stones[i];
        DoubtRules rules;
        rules.scan_mm = 0.0;
        rules.defect_mm = 0.0;
        rules.angle_deg = 0.5 * request_.tolerances.angle_deg;
        rules.length_mm = 0.5 * request_.tolerances.length_mm;
        rules.samples = kToleranceSamples;
        rules.threads = request_.inputs->threads;
        try {
            const DoubtFigure doubt =
                doubtOf({*weighed.stone, *weighed.cutter, planned.cut, planned.proportions,
                         planned.placement, planned.rules, planned.edits},
                        *request_.inputs->scale, nullptr, {}, rules, {}, nullptr);
            return "Kept within these tolerances the stone weighs between " +
                   caratWords(doubt.weight_ct.p5) + " and " + caratWords(doubt.weight_ct.p95) +
                   " in 90 of 100 cases (planned " + caratWords(weighed.weight.finished_ct) + "; " +
                   std::to_string(doubt.samples) +
                   " draws, the tolerances taken for two standard deviations; a planning "
                   "estimate).";
        } catch (const Error& error) {
            if (error.code() != ErrorCode::NoSolution && error.code() != ErrorCode::BadUsage) throw;
            return "What the tolerances are worth in weight is not known: " + error.message();
        }
    }

    void overview() {
        std::vector<ViewedStone> stones;
        for (std::size_t i = 0; i < layout_.stones.size(); ++i)
            stones.push_back({&designs_[i], layout_.stones[i].placement, stoneName(i)});
        std::vector<ViewedSaw> saws;
        for (std::size_t s = 0; s < sections_.size(); ++s)
            saws.push_back({sections_[s], "Saw " + std::to_string(s + 1)});
        sheet_.overview = overviewOf(stone_, stones, saws);
    }

    void cautions() {
        for (const std::string& open : whole_.open)
            sheet_.cautions.push_back("Not in order yet: " + open);
        for (std::size_t i = 0; i < designs_.size(); ++i) {
            if (designs_[i].changes.empty()) continue;
            std::string changes;
            for (const std::string& change : designs_[i].changes)
                changes += (changes.empty() ? "" : "; ") + change;
            sheet_.cautions.push_back(
                (designs_.size() > 1 ? stoneName(i) + ": facets" : std::string("Facets")) +
                " were changed by hand after these proportions: " + changes +
                ". The facet table holds what is to be cut.");
        }
        if (const std::string basis = weightBasis(stone_); !basis.empty())
            sheet_.cautions.push_back(basis + " Measure the stone before you rely on a length.");
        const std::vector<std::string> usual = usualCautions();
        sheet_.cautions.insert(sheet_.cautions.end(), usual.begin(), usual.end());
    }

    const Stone& stone_;
    const RoughCutter& cutter_;
    const Layout& layout_;
    const SheetRequest& request_;
    Progress* progress_;
    WholeLayout whole_;
    std::vector<Design> designs_;
    WorkingOrder order_;
    std::vector<std::vector<Eigen::Vector3d>> sections_;  // of each saw
    std::map<int, std::vector<SheetView>> views_;         // of each step
    PlanSheet sheet_;
};

}  // namespace

PlanSheet makePlanSheet(const Stone& stone, const RoughCutter& cutter, const Layout& layout,
                        const SheetRequest& request, Progress* progress) {
    return Making(stone, cutter, layout, request, progress).run();
}

}  // namespace macle
