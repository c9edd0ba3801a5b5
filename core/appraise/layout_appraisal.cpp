#include "core/appraise/layout_appraisal.h"

#include <algorithm>

#include "core/appraise/measured_proportions.h"
#include "core/appraise/mirrored.h"
#include "core/base/error.h"
#include "core/base/part_progress.h"
#include "core/cut/library.h"

namespace macle {

namespace {

// Shares of the whole that are shown as done after each part.
constexpr double kAfterWeight = 0.02;
constexpr double kAfterClarity = 0.3;
constexpr double kAfterLight = 0.5;
constexpr double kAfterTurns = 0.6;

class Collecting {
  public:
    Collecting(const Subject& subject, const AppraisalInputs& inputs, Progress* progress)
        : subject_(subject),
          inputs_(inputs),
          progress_(progress),
          design_(makeDesign(subject.cut, subject.proportions, subject.edits)) {}

    LayoutAppraisal run() {
        found_.weight = appraise(subject_.stone, subject_.cutter, design_, subject_.placement);
        found_.bands =
            againstBands(measureProportions(facetBody(design_, subject_.placement.size_mm)));
        found_.worstBand = worstBand(found_.bands);
        done(kAfterWeight);
        clarity();
        done(kAfterClarity);
        light();
        done(kAfterLight);
        value();
        work();
        margin();
        grain();
        done(kAfterTurns);
        doubt();
        done(1.0);
        return std::move(found_);
    }

  private:
    void done(double fraction) const {
        if (!progress_) return;
        progress_->throwIfCancelled();
        progress_->advanceTo(fraction);
    }

    const Stone& stone() const { return subject_.stone; }

    void clarity() {
        if (!inputs_.scale) {
            found_.clarity.missing = "No clarity scale is given.";
            return;
        }
        std::string untraced = "Reflections were not asked for";
        if (inputs_.mirrored && stone().material.sellmeier.empty())
            untraced = "Reflections cannot be traced: no refractive index is known";
        if (inputs_.mirrored && !stone().material.sellmeier.empty()) {
            PartProgress part(progress_, kAfterWeight, kAfterClarity);
            images_ = mirroredImages(stone().defects, design_, subject_.placement, stone().material,
                                     inputs_.threads, &part);
            untraced.clear();
        }
        const PlacedDesign placed(design_, subject_.placement);
        found_.clarity.figure = gradeClarity(
            *inputs_.scale, seenDefects(stone().defects, placed, *inputs_.scale, reflections()),
            found_.weight.finished_ct);
        if (!found_.weight.inside)
            found_.clarity.figure->reasons.push_back(
                {"Naturals left on the stone, which are not counted", found_.weight.naturals_mm2,
                 "mm2", 2});
        if (!untraced.empty())
            found_.clarity.figure->reasons.push_back({untraced, std::nullopt, "", 0});
    }

    void light() {
        if (!inputs_.light || stone().material.sellmeier.empty()) {
            found_.light.missing = inputs_.light
                                       ? "Light cannot be followed: no refractive index is known."
                                       : "Light was not asked for.";
            found_.faceColour.missing = found_.light.missing;
            return;
        }
        const std::string& hue = stone().colour.body.hue;
        const auto spectrum = inputs_.spectrum ? inputs_.spectrum : spectrumOfHue(hue);
        PartProgress part(progress_, kAfterClarity, kAfterLight);
        LightAppraisal found =
            lightOf(stone(), design_, subject_.placement, spectrum, inputs_.threads, &part);
        found_.light.figure = std::move(found.light);
        found_.faceColour.figure = std::move(found.colour);
        if (!found_.faceColour.figure)
            found_.faceColour.missing =
                hue.empty()
                    ? "No hue is recorded with the stone, and no spectrum was given."
                    : "No model of absorption is known for \"" + hue + "\"; give a spectrum.";
    }

    ReflectionsOf reflections() const {
        return [this](int defect) {
            return images_.empty() ? std::nullopt : images_[static_cast<std::size_t>(defect)];
        };
    }

    ValueQuery query() const {
        ValueQuery query;
        query.cut = subject_.cut;
        query.weight_ct = found_.weight.finished_ct;
        query.colour = inputs_.colour.empty() ? stone().colour.body.letter : inputs_.colour;
        if (found_.clarity.figure) query.clarity = found_.clarity.figure->name;
        query.fluorescence = stone().colour.fluorescence.strength;
        query.cutBand = found_.worstBand;
        query.rounding = inputs_.rounding;
        return query;
    }

    void value() {
        if (!inputs_.prices) {
            found_.value.missing = "No price table is given.";
            return;
        }
        ValueFigure figure = valueOf(*inputs_.prices, query());
        found_.value.missing = figure.missing;
        if (figure.value) found_.value.figure = std::move(figure);
    }

    void work() {
        if (!inputs_.rates) {
            found_.work.missing = "No shop rates are given.";
            return;
        }
        found_.work.figure = estimateWork(
            workStages(stone(), subject_.cutter, design_, subject_.placement), *inputs_.rates);
    }

    void margin() {
        std::optional<Amount> value, cost;
        if (found_.value.figure)
            value = Amount{*found_.value.figure->value, found_.value.figure->currency};
        if (found_.work.figure)
            cost = Amount{found_.work.figure->cost, found_.work.figure->currency};
        found_.margin = marginOf(value, cost);
    }

    void grain() {
        if (!stone().axes) {
            found_.grain.missing =
                "The crystal's axes are not known. Pick two natural faces or type the axes.";
            found_.turns.missing = found_.grain.missing;
            return;
        }
        found_.grain.figure = readGrain(*stone().axes, design_, subject_.placement, inputs_.grain);
        if (!inputs_.turnStep_deg) {
            found_.turns.missing = "Turning the cut was not asked for.";
            return;
        }
        const Obstacles obstacles(stone());
        const Gauge gauge(obstacles, design_, subject_.rules);
        PartProgress part(progress_, kAfterLight, kAfterTurns);
        try {
            found_.turns.figure =
                turnAgainstGrain(*stone().axes, gauge, subject_.placement,
                                 stone().material.density_g_cm3 * weightFactor(stone()),
                                 *inputs_.turnStep_deg, inputs_.grain, &part);
        } catch (const Error& error) {
            if (error.code() != ErrorCode::NoSolution) throw;
            found_.turns.missing = error.message();
        }
    }

    void doubt() {
        if (!inputs_.doubt) {
            found_.doubt.missing = "Doubt was not asked for.";
            return;
        }
        if (!inputs_.scale) {
            found_.doubt.missing = "No clarity scale is given.";
            return;
        }
        PartProgress part(progress_, kAfterTurns, 1.0);
        DoubtRules rules = *inputs_.doubt;
        if (rules.threads == 0) rules.threads = inputs_.threads;
        found_.doubt.figure =
            doubtOf(subject_, *inputs_.scale, inputs_.prices, query(), rules, reflections(), &part);
    }

    const Subject& subject_;
    const AppraisalInputs& inputs_;
    Progress* progress_;
    Design design_;
    std::vector<std::optional<int>> images_;
    LayoutAppraisal found_;
};

}  // namespace

Known<Margin> marginOf(const std::optional<Amount>& value, const std::optional<Amount>& cost) {
    Known<Margin> known;
    if (!value || !cost) {
        known.missing = value ? "No cost is known." : "No value is known.";
        return known;
    }
    if (value->currency != cost->currency) {
        known.missing = "Prices are in " + value->currency + " and rates in " + cost->currency +
                        ", so the one is not taken from the other.";
        return known;
    }
    Margin margin{value->amount, cost->amount, value->amount - cost->amount, value->currency, {}};
    margin.reasons = {{"Value", margin.value, margin.currency, 0},
                      {"less the cost of the work", margin.cost, margin.currency, 0},
                      {"The price of the rough is not in it", std::nullopt, "", 0}};
    known.figure = std::move(margin);
    return known;
}

LayoutAppraisal appraiseLayout(const Subject& subject, const AppraisalInputs& inputs,
                               Progress* progress) {
    return Collecting(subject, inputs, progress).run();
}

}  // namespace macle
