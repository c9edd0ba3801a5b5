#include "app/terminal/divide_joint.h"

#include <limits>
#include <optional>
#include <sstream>

#include "app/terminal/appraise_inputs.h"
#include "app/terminal/fit.h"
#include "app/terminal/inputs.h"
#include "app/terminal/output.h"
#include "core/appraise/facet_body.h"
#include "core/appraise/reference_bands.h"
#include "core/appraise/whole_layout.h"
#include "core/appraise/worth.h"
#include "core/archive/layout_file.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/cut/library.h"
#include "core/divide/joint_search.h"

namespace macle::app {

namespace {

constexpr double kWidestKerf_mm = 5.0;
constexpr double kWidestAllowance_mm = 5.0;
constexpr double kDefaultSeconds = 20.0;
constexpr int kMostDifferent = 30;

std::vector<std::string> cutNames(const std::string& text, const char* option) {
    std::vector<std::string> names;
    std::istringstream stream(text);
    for (std::string name; std::getline(stream, name, ',');) {
        checkCutName(name);
        names.push_back(name);
    }
    if (names.empty())
        throw Error(ErrorCode::BadUsage, std::string("--") + option + " names no cut.",
                    "Give cuts with commas between them, such as round,oval.");
    return names;
}

std::size_t indexOf(std::vector<JointCut>& cuts, const std::string& name) {
    for (std::size_t i = 0; i < cuts.size(); ++i)
        if (cuts[i].cut == name) return i;
    cuts.push_back({name, {}, {}});
    return cuts.size() - 1;
}

JointRules rulesFrom(const Arguments& arguments) {
    for (const char* other :
         {"saws", "second", "level", "pieces", "placement", "layout", "stone", "cut"})
        if (arguments.has(other))
            throw Error(ErrorCode::BadUsage,
                        std::string("--") + other +
                            " does not go with --stones or --count, which seek every stone anew.",
                        "Leave one of them out.");
    JointRules rules;
    rules.cuts.clear();
    rules.stones.clear();
    const auto count = arguments.integer("count", 2, kMostStones);
    const auto among = arguments.text("among");
    if (const auto stones = arguments.text("stones")) {
        if (count || among)
            throw Error(ErrorCode::BadUsage, "--stones already names the cut of every stone.",
                        "Leave out --count and --among, or leave out --stones.");
        for (const std::string& name : cutNames(*stones, "stones"))
            rules.stones.push_back({indexOf(rules.cuts, name)});
        if (rules.stones.size() < 2)
            throw Error(ErrorCode::BadUsage, "--stones names only one stone.",
                        "Name two or more, such as round,round; one alone is sought by `fit`.");
    } else {
        if (!count)
            throw Error(ErrorCode::BadUsage, "--among is given without --count.",
                        "Add --count N, the number of stones.");
        std::vector<std::size_t> any;
        for (const std::string& name : cutNames(among.value_or("round"), "among"))
            any.push_back(indexOf(rules.cuts, name));
        rules.stones.assign(static_cast<std::size_t>(*count), any);
    }
    for (JointCut& cut : rules.cuts) {
        cut.proportions = givenProportions(arguments, cut.cut);
        cut.edits = givenEdits(arguments);
    }
    rules.fewer = arguments.has("fewer");
    rules.kerf_mm = arguments.number("kerf", 0.0, kWidestKerf_mm).value_or(0.0);
    rules.exit_mm = arguments.number("exit", 0.0, kWidestKerf_mm);
    if (rules.exit_mm && *rules.exit_mm > rules.kerf_mm)
        throw Error(ErrorCode::BadUsage, "--exit is wider than --kerf, but a V narrows.",
                    "Give --kerf, the width where the beam enters, and an --exit no wider.");
    rules.mechanical = arguments.has("mechanical");
    rules.fit.allowance_mm = arguments.number("allowance", 0.0, kWidestAllowance_mm).value_or(0.0);
    return rules;
}

// What the stones are worth by the user's prices.
class Worths {
  public:
    Worths(const Arguments& arguments, const Stone& stone, const JointRules& rules)
        : inputs_(valueInputs(arguments)) {
        const std::string word = arguments.text("seek").value_or("weight");
        if (word != "weight" && word != "value")
            throw Error(ErrorCode::BadUsage,
                        "--seek: \"" + word + "\" is not sought over several stones.",
                        "Give weight or value.");
        if (word == "weight") return;
        for (const JointCut& cut : rules.cuts) {
            const Design design = makeDesign(cut.cut, cut.proportions, cut.edits);
            ValueQuery query;
            query.cut = cut.cut;
            query.colour = inputs_.colour.empty() ? stone.colour.body.letter : inputs_.colour;
            query.fluorescence = stone.colour.fluorescence.strength;
            query.rounding = inputs_.rounding;
            query.cutBand = worstBand(againstBands(measureProportions(facetBody(design))));
            worths_.emplace_back(stone, design, inputs_.scale,
                                 inputs_.prices ? &*inputs_.prices : nullptr, query, Sought::Value);
        }
    }
    Worths(const Worths&) = delete;
    Worths& operator=(const Worths&) = delete;

    bool byValue() const { return !worths_.empty(); }
    std::string currency() const { return byValue() ? inputs_.prices->currency : "ct"; }
    StoneWorth function() const {
        if (!byValue()) return {};
        return [this](std::size_t cut, const Placement& placement) {
            return worths_[cut].read(placement).worth;
        };
    }

  private:
    ValueInputs inputs_;
    std::vector<PlacementWorth> worths_;
};

Json stoneJson(const WholeStone& stone, const PlannedStone& planned) {
    Json object;
    object["piece"] = stone.piece + 1;
    object["cut"] = planned.cut;
    object["size_mm"] = finite(planned.placement.size_mm);
    object["weight_ct"] = finite(stone.weight.finished_ct);
    object["placement"] = placementJson(planned.placement);
    return object;
}

Json layoutJson(const Layout& layout, const WholeLayout& whole, std::optional<double> value) {
    Json object;
    object["name"] = layout.name;
    object["weight_ct"] = finite(whole.finished_ct);
    object["recovery_percent"] = finite(whole.recovery_percent);
    object["kerf_ct"] = finite(whole.kerf_ct);
    object["outside_ct"] = finite(whole.outside_ct);
    object["value"] = value ? finite(*value) : Json(nullptr);
    double apart = std::numeric_limits<double>::infinity();
    for (const StonePair& pair : whole.pairs)
        apart = std::min(apart, pair.distance_mm);
    object["apart_mm"] = finite(apart);
    object["stones"] = Json::array();
    for (std::size_t i = 0; i < whole.stones.size(); ++i)
        object["stones"].push_back(stoneJson(whole.stones[i], layout.stones[i]));
    object["saws"] = Json::array();
    for (std::size_t s = 0; s < layout.saws.size(); ++s) {
        const Saw& saw = layout.saws[s];
        Json one = {{"piece", saw.piece + 1},
                    {"normal", array(saw.normal)},
                    {"offset_mm", finite(saw.offset_mm)},
                    {"kerf_mm", finite(saw.kerf_mm)}};
        if (saw.v) {
            one["beam"] = array(saw.v->beam);
            one["exit_mm"] = finite(saw.v->exit_mm);
        }
        one["lost_ct"] = finite(whole.kerfs_ct[s]);
        object["saws"].push_back(std::move(one));
    }
    return object;
}

std::string stonesText(const WholeLayout& whole, const Layout& layout) {
    std::string text;
    for (std::size_t i = 0; i < whole.stones.size(); ++i)
        text += (i == 0 ? "" : ", ") + layout.stones[i].cut + " " +
                formatFixed(whole.stones[i].weight.finished_ct, 3);
    return text;
}

// All that is shown.
struct Outcome {
    const Stone& stone;
    const Worths& worths;
    const JointResult& found;
    const std::vector<Layout>& layouts;
    const std::vector<WholeLayout>& wholes;
    bool stopped = false;
};

Json outcomeJson(const Outcome& o) {
    Json object;
    object["rough_ct"] = finite(o.wholes.front().rough_ct);
    object["sought"] = o.worths.byValue() ? "value" : "weight";
    object["currency"] = o.worths.byValue() ? Json(o.worths.currency()) : Json(nullptr);
    object["layouts"] = Json::array();
    for (std::size_t i = 0; i < o.layouts.size(); ++i)
        object["layouts"].push_back(layoutJson(
            o.layouts[i], o.wholes[i],
            o.worths.byValue() ? std::optional(o.found.layouts[i].worth) : std::nullopt));
    object["seconds"] = finite(o.found.seconds);
    object["poses"] = o.found.poses;
    addWeightBasis(object, o.stone);
    if (o.stopped) object["stopped"] = true;
    return object;
}

std::string outcomeText(const Outcome& o) {
    const bool byValue = o.worths.byValue();
    std::vector<std::string> heading = {"Layout", "Weight ct", "Recovery %", "Kerf ct", "Stones"};
    if (byValue) heading.insert(heading.begin() + 1, "Value " + o.worths.currency());
    std::vector<std::vector<std::string>> rows;
    for (std::size_t i = 0; i < o.layouts.size(); ++i) {
        const WholeLayout& whole = o.wholes[i];
        rows.push_back({o.layouts[i].name, formatFixed(whole.finished_ct, 3),
                        formatFixed(whole.recovery_percent, 2), formatFixed(whole.kerf_ct, 3),
                        stonesText(whole, o.layouts[i])});
        if (byValue)
            rows.back().insert(rows.back().begin() + 1, formatFixed(o.found.layouts[i].worth, 0));
    }
    const std::string searched = o.stopped ? "stopped; the best until then"
                                           : std::to_string(o.found.poses) + " poses in " +
                                                 formatFixed(o.found.seconds, 2) + " s";
    return fields({{"Stone", o.stone.name + ", " + caratText(o.wholes.front().rough_ct)},
                   {"Searched", searched}}) +
           "\n" + table(heading, rows) +
           "\nWeights and values are planning estimates. Sawing with blades or lasers is work for "
           "trained\nhands behind guards and with eye protection; local codes and licensed "
           "practice come first.\n";
}

}  // namespace

std::vector<OptionSpec> jointOptions() {
    std::vector<OptionSpec> options = {
        {"stones", "CUT,CUT", "look for these stones at once, and for the saws between them"},
        {"count", "N", "look for so many stones at once, in the cuts of --among"},
        {"among", "CUT,CUT", "cuts that each of them may have (round)"},
        {"fewer", "", "fewer stones, though two or more, are an answer too"},
        {"exit", "MM", "a V kerf: its width where the beam leaves; --kerf is that at the entry"},
        {"different", "N", "so many clearly different layouts (4)"},
        {"seek", "WHAT", "weight (default), or value by your prices"}};
    const auto more = valueOptions();
    options.insert(options.end(), more.begin(), more.end());
    return options;
}

bool asksForStones(const Arguments& arguments) {
    return arguments.has("stones") || arguments.has("count") || arguments.has("among");
}

void divideIntoStones(const Arguments& arguments, Console& console) {
    const std::string& input = arguments.soleInput("a stone");
    const JointRules rules = rulesFrom(arguments);
    const FitOptions given = searchOptionsFrom(arguments);
    JointOptions options;
    options.poses = given.poses;
    options.seconds = arguments.has("seconds") || given.poses > 0 ? given.seconds : kDefaultSeconds;
    options.seed = given.seed;
    options.threads = given.threads;
    options.different =
        static_cast<std::size_t>(arguments.integer("different", 1, kMostDifferent).value_or(4));
    const StoneFile file = openStoneArgument(arguments, input, console);
    const Stone& stone = file.stone;
    const Worths worths(arguments, stone, rules);
    const RoughCutter cutter(stone.rough);
    std::optional<JointLayout> best;
    options.onBetter = [&](const JointLayout& better) {
        best = better;
        console.note("best so far " + caratText(caratsOf(stone, better.volume_mm3)));
    };
    JointResult found;
    bool stopped = false;
    try {
        found = findJoint(stone, cutter, rules, worths.function(), options,
                          &console.phase("Looking for stones and saws"));
    } catch (const Error& error) {
        if (error.code() != ErrorCode::Cancelled || !best) throw;
        stopped = true;  // the best until then
        found.layouts = {*best};
    }
    std::vector<Layout> layouts;
    std::vector<WholeLayout> wholes;
    for (const JointLayout& one : found.layouts) {
        layouts.push_back(one.layout);
        wholes.push_back(weighWhole(stone, cutter, one.layout));
    }
    if (const auto out = arguments.text("out")) writeLayouts(layouts, *out);

    const Outcome outcome{stone, worths, found, layouts, wholes, stopped};
    if (arguments.json())
        printJson(outcomeJson(outcome));
    else
        print(outcomeText(outcome));
    if (stopped)
        throw Error(ErrorCode::Cancelled, "The search was stopped.",
                    arguments.has("out") ? "The best division so far is printed and saved."
                                         : "The best division so far is printed.");
}

}  // namespace macle::app
