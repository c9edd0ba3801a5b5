// macle fit STONE --cut CUT: the largest placement of a cut in a stone.
#include "app/terminal/fit.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <set>

#include "app/terminal/defect_source.h"
#include "app/terminal/fit_findings.h"
#include "app/terminal/fit_seek.h"
#include "app/terminal/inputs.h"
#include "app/terminal/output.h"
#include "app/terminal/verbs.h"
#include "core/appraise/appraisal.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/units.h"
#include "core/cut/facet_edit_json.h"
#include "core/cut/library.h"
#include "core/fit/crystal_tables.h"
#include "core/fit/free_fit.h"

namespace macle::app {

namespace {

constexpr double kDefaultSeconds = 10.0;
constexpr double kLongest_s = 7.0 * 24.0 * 3600.0;
constexpr double kLargestAllowance_mm = 100.0;
constexpr int kMostOthers = 100;

std::string freeLayoutName(const StoneFile& file) {
    std::set<std::string> taken;
    for (const Layout& layout : file.layouts)
        taken.insert(layout.name);
    int number = 1;
    while (taken.contains("Layout " + std::to_string(number)))
        ++number;
    return "Layout " + std::to_string(number);
}

// Of the same design at another size, wholly inside.
double sizedWeight(double size_mm, const Layout& layout, const Appraisal& appraisal) {
    return appraisal.finished_ct * std::pow(size_mm / layout.main().placement.size_mm, 3);
}

Json resultJson(const Stone& stone, const Layout& layout, const FitOutcome& outcome,
                const Appraisal& appraisal) {
    Json object;
    addWeightBasis(object, stone);
    object["size_mm"] = finite(layout.main().placement.size_mm);
    object["weight_ct"] = finite(appraisal.finished_ct);
    object["recovery_percent"] = finite(appraisal.recovery_percent);
    object["loss_ct"] = finite(appraisal.loss_ct);
    object["placement"] = placementJson(layout.main().placement);
    object["limits"] = limitsJson(outcome.result.limits);
    object["seconds"] = finite(outcome.result.seconds);
    object["poses"] = outcome.result.poses;
    object["bound_ct"] = nullptr;
    object["gap_percent"] = nullptr;
    if (outcome.bound) {
        const double bound_ct = sizedWeight(outcome.bound->size_mm, layout, appraisal);
        object["bound_ct"] = finite(bound_ct);
        object["gap_percent"] = finite(100.0 * (bound_ct / appraisal.finished_ct - 1.0));
    }
    object["cut"] = layout.main().cut;
    object["proportions"] = Json::object();
    for (const auto& [key, value] : layout.main().proportions)
        object["proportions"][key] = finite(value);
    for (const FacetEdit& edit : layout.main().edits)
        object["facet_edits"].push_back(facetEditJson(edit));
    object["allowance_mm"] = finite(layout.main().rules.allowance_mm);
    if (!outcome.result.others.empty()) {
        object["others"] = Json::array();
        for (const Placement& other : outcome.result.others)
            object["others"].push_back(
                {{"size_mm", finite(other.size_mm)},
                 {"weight_ct", finite(sizedWeight(other.size_mm, layout, appraisal))},
                 {"placement", placementJson(other)}});
    }
    if (outcome.stopped) object["stopped"] = true;
    return object;
}

std::string resultText(const Stone& stone, const Layout& layout, const FitOutcome& outcome,
                       const Appraisal& appraisal) {
    const Placement& p = layout.main().placement;
    std::vector<std::pair<std::string, std::string>> figures = {
        {"Stone", stone.name + ", " + caratText(appraisal.rough_ct)},
        {"Cut", findCut(layout.main().cut).title},
        {"Size", lengthText(p.size_mm)},
        {"Weight", caratText(appraisal.finished_ct)},
        {"Recovery", formatFixed(appraisal.recovery_percent, 2) + " %"},
        {"Loss", caratText(appraisal.loss_ct)},
        {"Clarity", appraisal.clarity},
        {"Rotation (w x y z)",
         formatFixed(p.rotation.w(), 6) + "  " + formatFixed(p.rotation.x(), 6) + "  " +
             formatFixed(p.rotation.y(), 6) + "  " + formatFixed(p.rotation.z(), 6)},
        {"Centre", formatFixed(p.translation_mm.x(), 4) + "  " +
                       formatFixed(p.translation_mm.y(), 4) + "  " +
                       formatFixed(p.translation_mm.z(), 4) + " mm"},
        {"Searched", std::to_string(outcome.result.poses) + " poses in " +
                         formatFixed(outcome.result.seconds, 2) + " s"}};
    if (outcome.bound) {
        const double bound_ct = sizedWeight(outcome.bound->size_mm, layout, appraisal);
        figures.emplace_back("Bound",
                             "no placement of this cut exceeds " + caratText(bound_ct) + " (" +
                                 formatFixed(100.0 * (bound_ct / appraisal.finished_ct - 1.0), 2) +
                                 " % above this one)");
        figures.emplace_back("Proof", outcome.bound->certificate);
    }
    if (const std::string basis = weightBasis(stone); !basis.empty())
        figures.emplace_back("Basis", basis);
    std::string text = fields(figures);
    std::vector<std::vector<std::string>> rows;
    for (const FitLimit& limit : outcome.result.limits)
        rows.push_back({limit.facet, limit.source, formatFixed(limit.point_mm.x(), 3),
                        formatFixed(limit.point_mm.y(), 3), formatFixed(limit.point_mm.z(), 3)});
    if (!rows.empty())
        text += "\nStopped by\n" + table({"Facet", "At", "x mm", "y mm", "z mm"}, rows);
    std::vector<std::vector<std::string>> others;
    for (const Placement& other : outcome.result.others)
        others.push_back({formatFixed(other.size_mm, 3),
                          formatFixed(sizedWeight(other.size_mm, layout, appraisal), 3),
                          formatFixed(other.translation_mm.x(), 3),
                          formatFixed(other.translation_mm.y(), 3),
                          formatFixed(other.translation_mm.z(), 3)});
    if (!others.empty())
        text += "\nClearly different placements\n" +
                table({"Size mm", "Weight ct", "x mm", "y mm", "z mm"}, others);
    return text;
}

void fit(const Arguments& arguments, Console& console) {
    const std::string& input = arguments.soleInput("a stone");
    Layout layout = layoutWithoutPlacement(arguments);
    layout.main().proportions = designOf(layout.main()).proportions;
    const auto out = arguments.text("out");
    const bool asStone = out && std::filesystem::path(*out).extension() == ".macle";
    if (out && !asStone && std::filesystem::path(*out).extension() != ".json")
        throw Error(ErrorCode::BadUsage, "--out cannot write \"" + *out + "\".",
                    "Give FILE.json for the layout or FILE.macle for stone and layout.");
    searchOptionsFrom(arguments);  // complain before a long read
    arguments.number("bound", 0.01, kLongest_s);
    const bool seeking = seeksOther(arguments);

    StoneFile file = openStoneArgument(arguments, input, console);
    Json defects = Json::object();
    addDefects(arguments, file.stone, console, defects);
    const auto different = arguments.integer("others", 0, kMostOthers).value_or(0);
    Json sought;
    std::string soughtText;
    const FitOutcome outcome =
        seeking
            ? runSeek(arguments, file.stone, layout, console, sought, soughtText)
            : runFit(arguments, file.stone, layout, console, static_cast<std::size_t>(different));
    layout.name = freeLayoutName(file);

    const RoughCutter cutter(file.stone.rough);
    const Appraisal appraisal =
        appraise(file.stone, cutter, designOf(layout.main()), layout.main().placement);
    Json object = resultJson(file.stone, layout, outcome, appraisal);
    object.update(defects);
    std::string text = resultText(file.stone, layout, outcome, appraisal);
    if (seeking) {
        object["sought"] = sought;
        text += "\nSought by " + soughtText + "\n";
    }
    if (!outcome.stopped) addFindings(arguments, file.stone, cutter, layout, console, object, text);
    if (asStone) {
        file.layouts.push_back(layout);
        saveStoneFile(file, *out);
    } else if (out) {
        writeJson(object, *out);
    }
    if (arguments.json())
        printJson(object);
    else
        print(text);
    if (outcome.stopped)
        throw Error(ErrorCode::Cancelled, "The search was stopped.",
                    out ? "The best placement so far is printed and saved in " + *out + "."
                        : "The best placement so far is printed.");
}

}  // namespace

FitOptions searchOptionsFrom(const Arguments& arguments) {
    FitOptions options;
    options.poses = arguments.integer("poses", 1, 1'000'000'000'000).value_or(0);
    // Ended by poses alone unless a time is given too, so that the result can be had again.
    options.seconds = arguments.number("seconds", 0.01, kLongest_s)
                          .value_or(options.poses > 0 ? 0.0 : kDefaultSeconds);
    options.seed =
        std::uint64_t(arguments.integer("seed", 0, 9'000'000'000'000'000'000).value_or(1));
    options.threads = int(arguments.integer("threads", 0, 1024).value_or(0));
    return options;
}

std::vector<OptionSpec> searchOptions() {
    return {{"allowance", "MM", "kept between facets and skin or defects (0)"},
            {"seconds", "S", "search for so long (10, or no limit with --poses)"},
            {"poses", "N", "end after about N pose queries: same input and seed, same result"},
            {"seed", "N", "start of the random choices (1)"},
            {"threads", "N", "0: as many as the machine has"},
            {"free", "LIST",
             "proportions the search may choose, as in table,crown=32:36 (with no range, a little "
             "to each side)"},
            {"bound", "S", "then spend up to S seconds to prove how much better any could be"}};
}

FitOutcome runFit(const Arguments& arguments, const Stone& stone, Layout& layout, Console& console,
                  std::size_t different) {
    FitOptions options = searchOptionsFrom(arguments);
    if (const auto allowance = arguments.number("allowance", 0.0, kLargestAllowance_mm))
        layout.main().rules.allowance_mm = *allowance;
    options.different = different;
    options.tableDirections = crystalTables(stone);
    const std::vector<FreeProportion> free =
        freeProportions(arguments, findCut(layout.main().cut), layout.main().proportions);
    const auto unitWeight = [&] { return caratsOf(stone, designVolume(designOf(layout.main()))); };
    double unit_ct = unitWeight();
    const Obstacles obstacles(stone, &console.phase("Preparing the skin"));
    Progress& progress = console.phase("Fitting");

    std::optional<Placement> best;
    options.onBetter = [&](const Placement& placement) {
        best = placement;
        console.note("best so far " + caratText(unit_ct * std::pow(placement.size_mm, 3)));
    };
    const auto onBetterProportions = [&](const std::map<std::string, double>& proportions) {
        layout.main().proportions = proportions;
        unit_ct = unitWeight();
    };
    FitOutcome outcome;
    const auto start = std::chrono::steady_clock::now();
    try {
        if (free.empty()) {
            const Gauge gauge(obstacles, designOf(layout.main()), layout.main().rules);
            outcome.result = findBest(gauge, options, &progress);
        } else {
            FreeFitResult found = findBestFree(
                obstacles, layout.main().cut, layout.main().proportions, layout.main().edits, free,
                layout.main().rules, options, &progress, onBetterProportions);
            layout.main().proportions = std::move(found.proportions);
            outcome.result = std::move(found.fit);
        }
        outcome.stopped = progress.cancelled();
    } catch (const Error& error) {
        if (error.code() != ErrorCode::Cancelled || !best) throw;
        outcome.stopped = true;
        outcome.result.placement = *best;
        const Gauge gauge(obstacles, designOf(layout.main()), layout.main().rules);
        outcome.result.limits = limitsAt(gauge, best->rotation, best->translation_mm);
        outcome.result.seconds =
            std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
    }
    if (const auto seconds = arguments.number("bound", 0.01, kLongest_s);
        seconds && !outcome.stopped) {
        BoundOptions wanted;
        wanted.seconds = *seconds;
        wanted.threads = options.threads;
        wanted.incumbent_mm = outcome.result.placement.size_mm;
        Progress& proving = console.phase("Proving a bound");
        const Gauge gauge(obstacles, designOf(layout.main()), layout.main().rules);
        outcome.bound = proveBound(gauge, wanted, &proving);
        if (outcome.bound->better) {
            const Placement& better = *outcome.bound->better;
            outcome.result.placement = better;
            outcome.result.limits = limitsAt(gauge, better.rotation, better.translation_mm);
        }
        outcome.stopped = proving.cancelled();
    }
    layout.main().placement = outcome.result.placement;
    return outcome;
}

Verb fitVerb() {
    std::vector<OptionSpec> options = cutOptions();
    const auto search = searchOptions();
    options.insert(options.end(), search.begin(), search.end());
    const auto seek = seekOptions();
    options.insert(options.end(), seek.begin(), seek.end());
    options.push_back({"others", "N", "also up to N clearly different placements (0)"});
    const auto findings = findingOptions();
    options.insert(options.end(), findings.begin(), findings.end());
    const auto defects = defectOptions();
    options.insert(options.end(), defects.begin(), defects.end());
    options.push_back({"out", "FILE", "save the layout (.json) or stone and layout (.macle)"});
    return {"fit",
            "STONE",
            "Find the largest placement of a cut in a stone.",
            "macle fit stone.stl --cut round --allowance 0.05 --seconds 20 --out layout.json",
            options,
            fit};
}

}  // namespace macle::app
