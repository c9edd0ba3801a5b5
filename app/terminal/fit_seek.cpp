#include "app/terminal/fit_seek.h"

#include <cmath>

#include "app/terminal/appraise_inputs.h"
#include "app/terminal/fit_findings.h"
#include "core/appraise/reason.h"
#include "core/appraise/reference_bands.h"
#include "core/appraise/worth.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/cut/library.h"
#include "core/fit/crystal_tables.h"
#include "core/fit/worth_fit.h"
#include "core/fit/worth_free.h"
#include "core/light/spectrum.h"

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

bool isColour(Sought sought) {
    return sought == Sought::DeepColour || sought == Sought::PaleColour;
}

// What the worth of any design of the search is made from.
class Seeking {
  public:
    Seeking(const Arguments& arguments, const Stone& stone, const std::string& cut)
        : stone_(stone), by_(soughtBy(arguments)), inputs_(valueInputs(arguments)) {
        query_.cut = cut;
        query_.colour = inputs_.colour.empty() ? stone.colour.body.letter : inputs_.colour;
        query_.fluorescence = stone.colour.fluorescence.strength;
        query_.rounding = inputs_.rounding;
        if (const auto spectrum = arguments.text("spectrum")) spectrum_ = loadSpectrum(*spectrum);
    }

    Sought by() const { return by_; }
    const PriceTable* prices() const { return inputs_.prices ? &*inputs_.prices : nullptr; }

    PlacementWorth of(const Design& design) const {
        ValueQuery query = query_;
        query.cutBand = worstBand(againstBands(measureProportions(facetBody(design))));
        return PlacementWorth(stone_, design, inputs_.scale, prices(), query, by_,
                              spectrum_ ? &*spectrum_ : nullptr);
    }

  private:
    const Stone& stone_;
    Sought by_;
    ValueInputs inputs_;
    ValueQuery query_;
    std::optional<AbsorptionSpectrum> spectrum_;
};

}  // namespace

std::vector<OptionSpec> seekOptions() {
    std::vector<OptionSpec> options = {
        {"seek", "WHAT",
         "weight (default), value by your prices, clarity and then weight, or with --free also "
         "deep-colour or pale-colour"},
        {"spectrum", "NAME", "absorption of the body colour: a name of the program's or a file"}};
    const auto more = valueOptions();
    options.insert(options.end(), more.begin(), more.end());
    return options;
}

bool seeksOther(const Arguments& arguments) {
    const Sought by = soughtBy(arguments);
    if (by == Sought::Weight) return false;
    for (const char* other : {"bound", "others"})
        if (arguments.has(other))
            throw Error(ErrorCode::BadUsage,
                        std::string("--") + other + " goes with a search by weight only.",
                        "Leave it out, or leave out --seek.");
    if (isColour(by) && !arguments.has("free"))
        throw Error(ErrorCode::BadUsage,
                    "The colour follows from the proportions, but none is free.",
                    "Add --free, such as --free pavilion,crown.");
    return true;
}

FitOutcome runSeek(const Arguments& arguments, const Stone& stone, Layout& layout, Console& console,
                   Json& sought, std::string& text) {
    const Seeking seeking(arguments, stone, layout.main().cut);
    if (const auto allowance = arguments.number("allowance", 0.0, kLargestAllowance_mm))
        layout.main().rules.allowance_mm = *allowance;
    const std::vector<FreeProportion> free =
        freeProportions(arguments, findCut(layout.main().cut), layout.main().proportions);
    FitOptions options = searchOptionsFrom(arguments);
    options.tableDirections = crystalTables(stone);
    // Complains before the search when the figure cannot be had.
    const PlacementWorth pinned = seeking.of(designOf(layout.main()));
    const Obstacles obstacles(stone, &console.phase("Preparing the skin"));
    Progress& progress = console.phase("Fitting");
    FitOutcome outcome;
    double before = 0.0;
    if (free.empty()) {
        const Gauge gauge(obstacles, designOf(layout.main()), layout.main().rules);
        WorthFitResult found = findWorthiest(
            gauge, [&](const Placement& p) { return pinned.read(p).worth; }, options, &progress);
        outcome.result = std::move(found.fit);
        before = found.heaviest;
    } else {
        WorthFreeResult found = findWorthiestFree(
            obstacles, layout.main().cut, layout.main().proportions, layout.main().edits, free,
            layout.main().rules,
            [&](const Design& design, const Placement& p) {
                return seeking.of(design).read(p).worth;
            },
            options, &progress);
        outcome.result = std::move(found.fit);
        layout.main().proportions = std::move(found.proportions);
        before = found.before;
    }
    outcome.result.others.clear();
    layout.main().placement = outcome.result.placement;

    const WorthReading reading = seeking.of(designOf(layout.main())).read(layout.main().placement);
    sought = {{"by", soughtName(seeking.by())}, {"clarity", reading.clarity}, {"value", nullptr},
              {"value_of_heaviest", nullptr},   {"currency", nullptr},        {"chroma", nullptr},
              {"chroma_of_heaviest", nullptr}};
    text = std::string(soughtName(seeking.by())) + ": clarity may be " + reading.clarity +
           " (reflections not traced)";
    if (reading.value) {
        const std::string& currency = seeking.prices()->currency;
        sought["value"] = finite(*reading.value);
        sought["currency"] = currency;
        text += ", " + formatFixed(*reading.value, 0) + " " + currency;
        if (seeking.by() == Sought::Value) {
            sought["value_of_heaviest"] = finite(before);
            text += "; the heaviest found " + formatFixed(before, 0) + " " + currency;
        }
    }
    if (reading.chroma) {
        sought["chroma"] = finite(*reading.chroma);
        sought["chroma_of_heaviest"] = finite(std::abs(before));
        text += ", face-up chroma " + formatFixed(*reading.chroma, 2) +
                "; of the heaviest found with the proportions given " +
                formatFixed(std::abs(before), 2);
    }
    text += ". " + std::string(kPlanningEstimate);
    return outcome;
}

}  // namespace macle::app
