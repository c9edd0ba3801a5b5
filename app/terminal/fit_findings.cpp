#include "app/terminal/fit_findings.h"

#include <algorithm>
#include <sstream>

#include "app/terminal/appraise_inputs.h"
#include "app/terminal/fit.h"
#include "core/appraise/clarity_curve.h"
#include "core/appraise/measured_proportions.h"
#include "core/appraise/reference_bands.h"
#include "core/appraise/worth.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/units.h"
#include "core/fit/crystal_tables.h"
#include "core/fit/explain.h"

namespace macle::app {

namespace {

constexpr double kDefaultCurve_s = 20.0;
constexpr double kDefaultExplain_s = 2.0;  // for each defect
constexpr double kLongest_s = 7.0 * 24.0 * 3600.0;
constexpr double kHundredth_mm = 0.01;

// The search's own limits, or so many seconds where the option names none.
FitOptions optionsFor(const Arguments& arguments, const std::string& option, double standard_s,
                      const Stone& stone) {
    FitOptions options = searchOptionsFrom(arguments);
    options.tableDirections = crystalTables(stone);
    if (const auto seconds = arguments.number(option, 0.01, kLongest_s)) {
        options.seconds = *seconds;
        options.poses = 0;
    } else if (options.poses == 0) {
        options.seconds = standard_s;
    }
    return options;
}

void addExplanation(const Arguments& arguments, const Stone& stone, const Layout& layout,
                    Console& console, Json& object, std::string& text) {
    const Design design = designOf(layout.main());
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, design, layout.main().rules);
    const Explanation found = explain(stone, gauge, layout.main().placement,
                                      optionsFor(arguments, "explain", kDefaultExplain_s, stone),
                                      &console.phase("Explaining"));
    Json holds = Json::array(), defects = Json::array();
    std::vector<std::vector<std::string>> holdRows, defectRows;
    for (const FitHold& hold : found.holds) {
        const double rate_ct = caratsOf(stone, hold.gain_mm3_per_mm * kHundredth_mm);
        holds.push_back({{"facet", hold.limit.facet},
                         {"source", hold.limit.source},
                         {"point_mm", array(hold.limit.point_mm)},
                         {"outward", array(hold.outward)},
                         {"share", finite(hold.share)},
                         {"gain_ct_per_0.01mm", finite(rate_ct)}});
        holdRows.push_back({hold.limit.facet, hold.limit.source, formatFixed(100.0 * hold.share, 1),
                            formatFixed(rate_ct, 4)});
    }
    for (const DefectCost& cost : found.defects) {
        defects.push_back({{"name", cost.name},
                           {"gain_ct", finite(caratsOf(stone, cost.gain_mm3))},
                           {"size_mm", finite(cost.then.size_mm)},
                           {"placement", placementJson(cost.then)}});
        defectRows.push_back({cost.name, formatFixed(caratsOf(stone, cost.gain_mm3), 3)});
    }
    object["explanation"] = {{"free_to_move", found.free}, {"holds", holds}, {"defects", defects}};
    text += "\nHeld by\n" + table({"Facet", "At", "share %", "ct for 0.01 mm"}, holdRows);
    if (!defectRows.empty())
        text += "\nIf it might stay\n" + table({"Defect", "at least + ct"}, defectRows);
}

void addCurve(const Arguments& arguments, const Stone& stone, const RoughCutter& cutter,
              const Layout& layout, Console& console, Json& object, std::string& text) {
    const ValueInputs inputs = valueInputs(arguments);
    const Design design = designOf(layout.main());
    const std::vector<ClarityPoint> curve =
        clarityCurve(stone, cutter, design, layout.main().rules,
                     optionsFor(arguments, "clarity", kDefaultCurve_s, stone),
                     &console.phase("Weighing clarity"));
    const PriceTable* prices = inputs.prices ? &*inputs.prices : nullptr;
    ValueQuery query;
    query.cut = layout.main().cut;
    query.colour = inputs.colour.empty() ? stone.colour.body.letter : inputs.colour;
    query.fluorescence = stone.colour.fluorescence.strength;
    query.cutBand = worstBand(againstBands(measureProportions(facetBody(design))));
    query.rounding = inputs.rounding;
    const PlacementWorth worth(stone, design, inputs.scale, prices, query, Sought::Weight);
    Json points = Json::array();
    std::vector<std::vector<std::string>> rows;
    for (const ClarityPoint& point : curve) {
        Json left = Json::array();
        std::string names;
        for (const DefectInside& defect : point.appraisal.defects) {
            left.push_back(defect.name);
            names += (names.empty() ? "" : ", ") + defect.name;
        }
        const WorthReading reading = worth.read(point.placement);
        Json one = {{"weight_ct", finite(point.appraisal.finished_ct)},
                    {"size_mm", finite(point.placement.size_mm)},
                    {"worst_severity", point.worst_severity},
                    {"total_severity", point.total_severity},
                    {"clarity", reading.clarity},
                    {"value", nullptr},
                    {"left_inside", left},
                    {"placement", placementJson(point.placement)}};
        if (reading.value) one["value"] = finite(*reading.value);
        points.push_back(std::move(one));
        std::vector<std::string> row = {
            formatFixed(point.appraisal.finished_ct, 3), formatFixed(point.placement.size_mm, 3),
            point.worst_severity > 0 ? std::to_string(point.worst_severity) : "none",
            reading.clarity};
        if (prices) row.push_back(reading.value ? formatFixed(*reading.value, 0) : "-");
        row.push_back(names.empty() ? "no recorded defect" : names);
        rows.push_back(std::move(row));
    }
    object["clarity_curve"] = points;
    std::vector<std::string> heading = {"Weight ct", "Size mm", "Worst left", "May be"};
    if (prices) heading.push_back("Value, " + prices->currency);
    heading.emplace_back("Left inside");
    text += "\nWeight against clarity (a planning estimate, not a grading report)\n" +
            table(heading, rows);
}

}  // namespace

std::vector<FreeProportion> freeProportions(const Arguments& arguments, const CutInfo& cut,
                                            const std::map<std::string, double>& proportions) {
    std::vector<FreeProportion> free;
    const auto list = arguments.text("free");
    if (!list) return free;
    std::istringstream stream(*list);
    for (std::string entry; std::getline(stream, entry, ',');) {
        const auto equals = entry.find('=');
        const std::string name = entry.substr(0, equals);
        const auto info = std::find_if(
            cut.proportions.begin(), cut.proportions.end(),
            [&](const ProportionInfo& p) { return p.option == name || p.key == name; });
        if (info == cut.proportions.end()) {
            std::string names;
            for (const ProportionInfo& p : cut.proportions)
                names += (names.empty() ? "" : ", ") + p.option;
            throw Error(ErrorCode::BadUsage,
                        "--free: the cut \"" + cut.name + "\" has no proportion \"" + name + "\".",
                        "It has: " + names + ".");
        }
        const auto value = proportions.find(info->key);
        FreeProportion one =
            freeAround(*info, value != proportions.end() ? value->second : info->standard);
        if (equals != std::string::npos) {
            const std::string range = entry.substr(equals + 1);
            const auto colon = range.find(':');
            const auto low = parseNumber(range.substr(0, colon));
            const auto high = colon == std::string::npos ? std::optional<double>()
                                                         : parseNumber(range.substr(colon + 1));
            if (!low || !high)
                throw Error(ErrorCode::BadUsage,
                            "--free: \"" + range + "\" is not a range of " + info->label + ".",
                            "Write it as LOW:HIGH, such as " + formatExact(info->low) + ":" +
                                formatExact(info->high) + ".");
            one.low = *low;
            one.high = *high;
        }
        free.push_back(std::move(one));
    }
    if (free.empty())
        throw Error(ErrorCode::BadUsage, "--free names no proportion.",
                    "Give one or more, such as table,crown=32:36.");
    return free;
}

std::vector<OptionSpec> findingOptions() {
    return {{"explain", "S",
             "also show what holds the placement and what it costs, S seconds for each defect"},
            {"clarity", "S", "also spend S seconds on how weight grows as more defects may stay"}};
}

void addFindings(const Arguments& arguments, const Stone& stone, const RoughCutter& cutter,
                 const Layout& layout, Console& console, Json& object, std::string& text) {
    if (arguments.has("explain")) addExplanation(arguments, stone, layout, console, object, text);
    if (arguments.has("clarity")) addCurve(arguments, stone, cutter, layout, console, object, text);
}

}  // namespace macle::app
