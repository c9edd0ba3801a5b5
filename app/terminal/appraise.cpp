// macle appraise STONE: every figure that decides about a layout, and how each came about.
#include "app/terminal/appraise_inputs.h"
#include "app/terminal/appraise_json.h"
#include "app/terminal/inputs.h"
#include "app/terminal/output.h"
#include "app/terminal/verbs.h"
#include "core/appraise/layout_appraisal.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/cut/library.h"

namespace macle::app {

namespace {

constexpr double kWidestWarning_deg = 30.0;
constexpr double kLargestStep_deg = 90.0;
constexpr double kSmallestStep_deg = 0.1;
constexpr int kMostThreads = 1024;

std::optional<DoubtRules> doubtFrom(const Arguments& arguments) {
    const auto samples = arguments.integer("doubt", 1, kMostSamples);
    const auto scan = arguments.number("doubt-scan", 0.0, kWidestDoubt_mm);
    const auto defect = arguments.number("doubt-defect", 0.0, kWidestDoubt_mm);
    const auto angle = arguments.number("doubt-angle", 0.0, kWidestDoubt_deg);
    const auto length = arguments.number("doubt-length", 0.0, kWidestDoubt_mm);
    const auto seed = arguments.integer("seed", 0, 9'000'000'000'000'000'000);
    if (!samples && (scan || defect || angle || length || seed))
        throw Error(ErrorCode::BadUsage, "Deviations or a seed are given, but no --doubt.",
                    "Add --doubt N, the number of samples, such as 1000.");
    if (!samples) return std::nullopt;
    DoubtRules rules;
    rules.samples = static_cast<int>(*samples);
    rules.scan_mm = scan.value_or(rules.scan_mm);
    rules.defect_mm = defect.value_or(rules.defect_mm);
    rules.angle_deg = angle.value_or(rules.angle_deg);
    rules.length_mm = length.value_or(rules.length_mm);
    if (seed) rules.seed = static_cast<std::uint64_t>(*seed);
    return rules;
}

std::string textOf(const Subject& subject, const LayoutAppraisal& appraisal, bool briefly) {
    const std::vector<FigureLine> lines = figureLines(appraisal);
    std::vector<std::pair<std::string, std::string>> rows = {
        {"Stone", subject.stone.name},
        {"Cut", findCut(subject.cut).title + ", " + lengthText(subject.placement.size_mm)}};
    for (const FigureLine& line : lines)
        rows.emplace_back(line.title, (line.known ? "" : "not known: ") + line.text);
    std::string text = fields(rows);
    for (const FigureLine& line : lines) {
        if (briefly || !line.known || line.reasons.empty()) continue;
        text += "\n" + line.title + ", how it came about\n";
        for (const Reason& reason : line.reasons)
            text += "  " + reasonText(reason) + "\n";
    }
    return text + "\nEvery grade, time and value here is a planning estimate.\n";
}

void appraiseVerbRun(const Arguments& arguments, Console& console) {
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
    if (const auto spectrum = arguments.text("spectrum")) {
        inputs.spectrum = loadSpectrum(*spectrum);
        inputs.spectrum->strength = arguments.number("strength", 0.0, 1000.0).value_or(1.0);
    } else if (arguments.has("strength")) {
        throw Error(ErrorCode::BadUsage, "A strength is given but no spectrum.",
                    "Add --spectrum NAME or a file.");
    }
    inputs.grain.warn_deg =
        arguments.number("grain-limit", 0.0, kWidestWarning_deg).value_or(inputs.grain.warn_deg);
    inputs.turnStep_deg = arguments.number("turn", kSmallestStep_deg, kLargestStep_deg);
    inputs.doubt = doubtFrom(arguments);
    inputs.threads = static_cast<int>(arguments.integer("threads", 0, kMostThreads).value_or(0));
    const auto size = sizeOption(arguments);

    StoneFile file = openStoneArgument(arguments, input, console);
    if (const auto defects = arguments.text("defects")) {
        const std::vector<Defect> more = readDefects(*defects);
        file.stone.defects.insert(file.stone.defects.end(), more.begin(), more.end());
    }
    const auto layout = chosenLayout(arguments, file, size);
    if (!layout)
        throw Error(ErrorCode::BadUsage, "No placement is given.",
                    "Add --placement FILE.json, as written by `macle fit --out`.");
    const RoughCutter cutter(file.stone.rough);
    const Subject subject{file.stone,
                          cutter,
                          layout->main().cut,
                          layout->main().proportions,
                          layout->main().placement,
                          layout->main().rules,
                          layout->main().edits};
    const LayoutAppraisal appraisal = appraiseLayout(subject, inputs, &console.phase("Appraising"));
    if (arguments.json())
        printJson(appraisalJson(subject, appraisal));
    else
        print(textOf(subject, appraisal, arguments.has("brief")));
}

}  // namespace

Verb appraiseVerb() {
    std::vector<OptionSpec> options = {
        {"size", "MM", "mean girdle diameter or width (default: that of the placement)"}};
    for (const auto& more : {layoutOptions(), valueOptions()})
        options.insert(options.end(), more.begin(), more.end());
    const std::vector<OptionSpec> own = {
        {"rates", "FILE", "shop rates for time and cost, JSON (or $MACLE_RATES; else defaults)"},
        {"defects", "FILE", "defects to add: a mesh or a defect list (JSON)"},
        {"untraced", "", "leave out how often facets mirror each defect"},
        {"unlit", "", "leave out light and face-up colour"},
        {"spectrum", "NAME", "body colour: pink, cape_yellow, brown, or a file (as recorded)"},
        {"strength", "X", "how many times as strong the body colour is (1)"},
        {"grain-limit", "DEG", "warn of facets nearer to an octahedral plane (3)"},
        {"turn", "DEG", "also turn the cut about its axis in such steps to avoid these planes"},
        {"doubt", "N", "also draw N samples of what scan, defects and polishing leave unsure"},
        {"doubt-scan", "MM", "standard deviation of the skin (0.01)"},
        {"doubt-defect", "MM", "standard deviation of each defect's place (0.02)"},
        {"doubt-angle", "DEG", "standard deviation of polished angles (0.2)"},
        {"doubt-length", "MM", "standard deviation of polished lengths (0.02)"},
        {"seed", "N", "start of the random choices (1)"},
        {"threads", "N", "0: as many as the machine has"},
        {"brief", "", "figures only, without how they came about"}};
    options.insert(options.end(), own.begin(), own.end());
    return {"appraise",
            "STONE",
            "Give the figures that decide about a layout, and how each came about.",
            "macle appraise stone.macle --layout \"Layout 1\" --prices prices.csv --doubt 1000",
            options,
            appraiseVerbRun};
}

}  // namespace macle::app
