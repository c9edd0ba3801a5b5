// Layout appraisal: every figure that decides about a layout, each with how it came about, and for
// each that is missing why. One call for the window, the command line and the sheet. Takes seconds;
// the quick readouts come from appraise().
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/appraise/appraisal.h"
#include "core/appraise/clarity.h"
#include "core/appraise/doubt.h"
#include "core/appraise/grain.h"
#include "core/appraise/grain_turn.h"
#include "core/appraise/light_figure.h"
#include "core/appraise/reference_bands.h"
#include "core/appraise/subject.h"
#include "core/appraise/value.h"
#include "core/appraise/work_estimate.h"
#include "core/base/progress.h"

namespace macle {

// What the figures are made from; the pointers must outlive the call. What is not given leaves its
// figures out.
struct AppraisalInputs {
    const ClarityScale* scale = nullptr;
    const PriceTable* prices = nullptr;
    const ShopRates* rates = nullptr;
    std::string colour;  // letter; empty: that of the stone's record
    WeightRounding rounding = WeightRounding::UpAtNine;
    bool mirrored = true;  // trace how often facets show each defect
    bool light = true;     // follow light through the cut
    // None: the model that suits the hue recorded with the stone, if one does.
    std::optional<AbsorptionSpectrum> spectrum;
    GrainRules grain;
    std::optional<double> turnStep_deg;  // also look for a turn that avoids octahedral planes
    std::optional<DoubtRules> doubt;
    int threads = 0;  // 0: as many as the machine has
};

template <class Figure>
struct Known {
    std::optional<Figure> figure;
    std::string missing;  // why there is none, in words
};

struct Margin {
    double value = 0.0;
    double cost = 0.0;
    double margin = 0.0;  // value less the cost of the work; the rough's own price is not in it
    std::string currency;
    Reasons reasons;
};

// An amount of money.
struct Amount {
    double amount = 0.0;
    std::string currency;
};
Known<Margin> marginOf(const std::optional<Amount>& value, const std::optional<Amount>& cost);

struct LayoutAppraisal {
    Appraisal weight;
    std::vector<BandReading> bands;  // of the planned proportions; round cuts only
    int worstBand = 0;               // 0: no bands apply
    Known<ClarityFigure> clarity;
    Known<ValueFigure> value;
    Known<WorkEstimate> work;
    Known<Margin> margin;
    Known<LightFigure> light;
    Known<FaceColourFigure> faceColour;
    Known<GrainReading> grain;
    Known<GrainTurns> turns;
    Known<DoubtFigure> doubt;
};

// Throws what appraise, readGrain, turnAgainstGrain and doubtOf throw; Error{Cancelled}.
LayoutAppraisal appraiseLayout(const Subject& subject, const AppraisalInputs& inputs,
                               Progress* progress = nullptr);

// One figure ready to show: "Value", "4284 EUR", and how it came about.
struct FigureLine {
    std::string title;
    std::string text;
    bool known = true;  // false: `text` says why it is missing
    Reasons reasons;
};
std::vector<FigureLine> figureLines(const LayoutAppraisal& appraisal);

}  // namespace macle
