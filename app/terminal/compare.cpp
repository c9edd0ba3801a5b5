// macle compare STONE: its layouts side by side, figure by figure.
#include <algorithm>

#include "app/terminal/appraise_inputs.h"
#include "app/terminal/inputs.h"
#include "app/terminal/output.h"
#include "app/terminal/verbs.h"
#include "core/appraise/clarity_grades.h"
#include "core/appraise/comparison.h"
#include "core/archive/layout_file.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/part_progress.h"

namespace macle::app {

namespace {

constexpr int kMostThreads = 1024;

std::vector<Layout> layoutsOf(const Arguments& arguments, const StoneFile& file,
                              const std::string& input) {
    const auto list = arguments.text("layouts");
    std::vector<Layout> layouts = list ? readLayouts(*list) : file.layouts;
    if (layouts.size() < 2)
        throw Error(ErrorCode::BadUsage,
                    (list ? *list : input) + " holds " +
                        (layouts.empty() ? "no layout" : "one layout") +
                        ", so there is nothing to compare.",
                    "Add --layouts FILE.json with two or more, as `macle divide --out` writes it.");
    if (layouts.size() > kMostCompared)
        throw Error(ErrorCode::BadUsage,
                    std::to_string(layouts.size()) + " layouts are more than are compared.",
                    "Give at most " + std::to_string(kMostCompared) + ".");
    return layouts;
}

std::size_t baseOf(const Arguments& arguments, const std::vector<Layout>& layouts) {
    const auto name = arguments.text("against");
    if (!name) return 0;
    for (std::size_t i = 0; i < layouts.size(); ++i)
        if (layouts[i].name == *name) return i;
    std::string known;
    for (const Layout& layout : layouts)
        known += (known.empty() ? "\"" : ", \"") + layout.name + "\"";
    throw Error(ErrorCode::BadUsage, "--against: there is no layout \"" + *name + "\".",
                "It has: " + known + ".");
}

Json pointJson(const CandidatePoint& point) {
    Json object;
    object["name"] = point.name;
    object["stones"] = point.stones;
    object["weight_ct"] = finite(point.weight_ct);
    object["recovery_percent"] = finite(point.recovery_percent);
    object["value"] = point.value ? finite(*point.value) : Json(nullptr);
    object["clarity_rank"] = point.clarityRank ? Json(*point.clarityRank) : Json(nullptr);
    object["chroma"] = point.chroma ? finite(*point.chroma) : Json(nullptr);
    return object;
}

Json comparisonJson(const Comparison& comparison) {
    Json object;
    object["layouts"] = comparison.names;
    object["against"] = comparison.names[comparison.base];
    object["rows"] = Json::array();
    for (const ComparedRow& row : comparison.rows) {
        Json one;
        one["title"] = row.title;
        one["unit"] = row.unit;
        one["better"] = betterName(row.better);
        one["note"] = row.note;
        one["cells"] = Json::array();
        for (const ComparedCell& cell : row.cells)
            one["cells"].push_back(
                {{"value", cell.value ? finite(*cell.value) : Json(nullptr)},
                 {"text", cell.text},
                 {"best", cell.best},
                 {"difference", cell.difference ? finite(*cell.difference) : Json(nullptr)}});
        object["rows"].push_back(std::move(one));
    }
    object["points"] = Json::array();
    for (const CandidatePoint& point : comparison.points)
        object["points"].push_back(pointJson(point));
    return object;
}

std::string comparisonText(const Comparison& comparison) {
    std::vector<std::string> heading = {"Figure"};
    for (std::size_t i = 0; i < comparison.names.size(); ++i)
        heading.push_back(comparison.names[i]);
    std::vector<std::vector<std::string>> rows;
    std::string missing;
    for (const ComparedRow& row : comparison.rows) {
        std::vector<std::string> cells = {row.title + (row.unit.empty() ? "" : " " + row.unit)};
        for (std::size_t i = 0; i < row.cells.size(); ++i) {
            const ComparedCell& cell = row.cells[i];
            if (!cell.value) {
                cells.emplace_back("-");
                const std::string line = row.title + ": " + cell.text + "\n";
                if (missing.find(line) == std::string::npos) missing += line;
                continue;
            }
            std::string text =
                row.title == "Clarity" ? cell.text : formatFixed(*cell.value, row.decimals);
            if (cell.best) text += " *";
            if (!cell.differenceText.empty()) text += " (" + cell.differenceText + ")";
            cells.push_back(std::move(text));
        }
        rows.push_back(std::move(cells));
    }
    return table(heading, rows) + "\n* the best of its row; in brackets the difference from \"" +
           comparison.names[comparison.base] + "\".\n" + (missing.empty() ? "" : "\n" + missing) +
           "\nEvery grade, time and value here is a planning estimate.\n";
}

void compareVerbRun(const Arguments& arguments, Console& console) {
    const std::string& input = arguments.soleInput("a stone");
    const ValueInputs value = valueInputs(arguments);
    const ShopRates rates = shopRates(arguments);
    AppraisalInputs inputs;
    inputs.scale = &value.scale;
    inputs.prices = value.prices ? &*value.prices : nullptr;
    inputs.rates = &rates;
    inputs.colour = value.colour;
    inputs.rounding = value.rounding;
    inputs.mirrored = !arguments.has("untraced");
    inputs.light = !arguments.has("unlit");
    if (const auto samples = arguments.integer("doubt", 1, kMostSamples)) {
        inputs.doubt = DoubtRules{};
        inputs.doubt->samples = static_cast<int>(*samples);
    }
    inputs.threads = static_cast<int>(arguments.integer("threads", 0, kMostThreads).value_or(0));
    const StoneFile file = openStoneArgument(arguments, input, console);
    const std::vector<Layout> layouts = layoutsOf(arguments, file, input);
    const std::size_t base = baseOf(arguments, layouts);
    const RoughCutter cutter(file.stone.rough);
    Progress& progress = console.phase("Appraising");
    std::vector<WholeLayout> wholes;
    for (const Layout& layout : layouts) {
        const double each = 1.0 / static_cast<double>(layouts.size());
        const double from = each * static_cast<double>(wholes.size());
        PartProgress part(&progress, from, from + each);
        try {
            wholes.push_back(appraiseWhole(file.stone, cutter, layout, inputs, &part));
        } catch (const Error& error) {
            throw Error(error.code(), "\"" + layout.name + "\": " + error.message(),
                        error.remedy());
        }
    }
    const Comparison comparison = compareLayouts(wholes, base);
    if (!arguments.json()) {
        print(comparisonText(comparison));
        return;
    }
    Json object = comparisonJson(comparison);
    object["rough_ct"] = finite(wholes.front().rough_ct);
    addWeightBasis(object, file.stone);
    printJson(object);
}

}  // namespace

Verb compareVerb() {
    std::vector<OptionSpec> options = {
        {"layouts", "FILE", "a list of layouts (JSON) instead of those of the stone file"},
        {"against", "NAME", "the layout that differences are taken from (the first)"},
        {"rates", "FILE", "shop rates for time and cost, JSON (or $MACLE_RATES; else defaults)"},
        {"untraced", "", "leave out how often facets mirror each defect"},
        {"unlit", "", "leave out light and face-up colour"},
        {"doubt", "N", "also draw N samples of what scan, defects and polishing leave unsure"},
        {"threads", "N", "0: as many as the machine has"},
        materialOption()};
    const auto more = valueOptions();
    options.insert(options.end(), more.begin(), more.end());
    return {"compare",
            "STONE",
            "Put layouts of a stone side by side, figure by figure.",
            "macle compare stone.macle --layouts layouts.json --prices prices.csv",
            options,
            compareVerbRun};
}

}  // namespace macle::app
