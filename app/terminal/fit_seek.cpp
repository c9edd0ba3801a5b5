#include "app/terminal/fit_seek.h"

#include "app/terminal/appraise_inputs.h"
#include "core/appraise/reference_bands.h"
#include "core/appraise/worth.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/cut/library.h"
#include "core/fit/crystal_tables.h"
#include "core/fit/worth_fit.h"

namespace macle::app {

namespace {

constexpr double kLargestAllowance_mm = 100.0;

Sought soughtBy(const Arguments& arguments) {
    const auto word = arguments.text("seek");
    if (!word) return Sought::Weight;
    try {
        return soughtFromName(*word);
    } catch (const Error& error) {
        throw Error(ErrorCode::BadUsage, "--seek: \"" + *word + "\" cannot be searched for.",
                    error.remedy());
    }
}

}  // namespace

std::vector<OptionSpec> seekOptions() {
    std::vector<OptionSpec> options = {
        {"seek", "WHAT", "weight (default), value by your prices, or clarity and then weight"}};
    const auto more = valueOptions();
    options.insert(options.end(), more.begin(), more.end());
    return options;
}

bool seeksOther(const Arguments& arguments) {
    if (soughtBy(arguments) == Sought::Weight) return false;
    for (const char* other : {"free", "bound", "others"})
        if (arguments.has(other))
            throw Error(ErrorCode::BadUsage,
                        std::string("--") + other + " goes with a search by weight only.",
                        "Leave it out, or leave out --seek.");
    return true;
}

FitOutcome runSeek(const Arguments& arguments, const Stone& stone, Layout& layout, Console& console,
                   Json& sought, std::string& text) {
    const Sought by = soughtBy(arguments);
    const ValueInputs inputs = valueInputs(arguments);
    if (const auto allowance = arguments.number("allowance", 0.0, kLargestAllowance_mm))
        layout.rules.allowance_mm = *allowance;
    const Design design = makeDesign(layout.cut, layout.proportions);
    ValueQuery query;
    query.cut = layout.cut;
    query.colour = inputs.colour.empty() ? stone.colour.body.letter : inputs.colour;
    query.fluorescence = stone.colour.fluorescence.strength;
    query.cutBand = worstBand(againstBands(measureProportions(facetBody(design))));
    query.rounding = inputs.rounding;
    const PriceTable* prices = inputs.prices ? &*inputs.prices : nullptr;
    const PlacementWorth worth(stone, design, inputs.scale, prices, query, by);

    const Obstacles obstacles(stone, &console.phase("Preparing the skin"));
    const Gauge gauge(obstacles, design, layout.rules);
    FitOptions options = searchOptionsFrom(arguments);
    options.tableDirections = crystalTables(stone);
    const WorthFitResult found = findWorthiest(
        gauge, [&](const Placement& p) { return worth.read(p).worth; }, options,
        &console.phase("Fitting"));
    FitOutcome outcome;
    outcome.result = found.fit;
    outcome.result.others.clear();
    layout.placement = found.fit.placement;

    const WorthReading reading = worth.read(layout.placement);
    sought = {{"by", soughtName(by)},
              {"clarity", reading.clarity},
              {"value", nullptr},
              {"value_of_heaviest", nullptr},
              {"currency", nullptr}};
    text = std::string(soughtName(by)) + ": clarity may be " + reading.clarity +
           " (reflections not traced)";
    if (reading.value) {
        sought["value"] = finite(*reading.value);
        sought["currency"] = prices->currency;
        text += ", " + formatFixed(*reading.value, 0) + " " + prices->currency;
        if (by == Sought::Value) {
            sought["value_of_heaviest"] = finite(found.heaviest);
            text +=
                "; the heaviest found " + formatFixed(found.heaviest, 0) + " " + prices->currency;
        }
    }
    text += ". Planning estimate, not a grading report.";
    return outcome;
}

}  // namespace macle::app
