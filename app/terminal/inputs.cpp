#include "app/terminal/inputs.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <nlohmann/json.hpp>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/text_file.h"
#include "core/cut/library.h"
#include "core/divide/division.h"
#include "core/divide/piece_stone.h"

namespace macle::app {

namespace {

using ReadJson = nlohmann::json;

constexpr double kSmallestSize_mm = 0.001;
constexpr double kLargestSize_mm = 1000.0;
constexpr std::uintmax_t kLargestPlacementFile = 4u << 20;  // far above any layout
constexpr std::uintmax_t kLargestEdits = 1u << 20;          // far above any list

[[noreturn]] void badFile(const std::filesystem::path& file, const std::string& what,
                          const std::string& remedy) {
    throw Error(ErrorCode::BadInput, "The placement file " + file.string() + ": " + what, remedy);
}

double numberAt(const ReadJson& value, const std::filesystem::path& file, const std::string& name) {
    if (!value.is_number())
        badFile(file, "\"" + name + "\" is not a number.", "Give a plain JSON number.");
    const double number = value.get<double>();
    if (!std::isfinite(number))
        badFile(file, "\"" + name + "\" is too large.", "Give a finite number.");
    return number;
}

std::vector<double> numbersAt(const ReadJson& object, const std::filesystem::path& file,
                              const std::string& name, std::size_t count) {
    const auto found = object.find(name);
    if (found == object.end() || !found->is_array() || found->size() != count)
        badFile(file, "\"" + name + "\" must be a list of " + std::to_string(count) + " numbers.",
                "Use a file written by `macle fit --out`, or one like it.");
    std::vector<double> numbers;
    for (const ReadJson& item : *found)
        numbers.push_back(numberAt(item, file, name));
    return numbers;
}

}  // namespace

std::vector<OptionSpec> proportionOptions() {
    std::vector<OptionSpec> options;
    const std::vector<CutInfo> cuts = cutLibrary();
    for (const CutInfo& cut : cuts)
        for (const ProportionInfo& p : cut.proportions) {
            const bool known = std::any_of(options.begin(), options.end(),
                                           [&](const OptionSpec& o) { return o.name == p.option; });
            if (known) continue;
            // Ranges and standards are each cut's own: `macle shape --list` tells them.
            std::string whose;
            std::size_t having = 0;
            for (const CutInfo& other : cuts)
                for (const ProportionInfo& q : other.proportions)
                    if (q.option == p.option) {
                        whose += (whose.empty() ? "" : ", ") + other.name;
                        ++having;
                    }
            options.push_back(
                {p.option, p.unit == "deg" ? "DEG" : "P",
                 p.label + ", " + p.unit + (2 * having > cuts.size() ? "" : " (" + whose + ")")});
        }
    return options;
}

std::vector<OptionSpec> cutOptions() {
    std::string names;
    for (const CutInfo& cut : cutLibrary())
        names += (names.empty() ? "" : ", ") + cut.name;
    std::vector<OptionSpec> options = {{"cut", "CUT", "the cut: " + names},
                                       {"edits", "FILE", "change facets: a JSON list of edits"},
                                       materialOption()};
    const auto more = proportionOptions();
    options.insert(options.end(), more.begin(), more.end());
    return options;
}

void checkCutName(const std::string& cut) {
    std::vector<std::string> names;
    std::string list;
    for (const CutInfo& info : cutLibrary()) {
        if (info.name == cut) return;
        names.push_back(info.name);
        list += (list.empty() ? "" : ", ") + info.name;
    }
    const auto near = nearestWord(cut, names);
    throw Error(ErrorCode::BadUsage, "There is no cut named \"" + cut + "\".",
                near ? "Did you mean \"" + *near + "\"?" : "The cuts are: " + list + ".");
}

std::map<std::string, double> givenProportions(const Arguments& arguments, const std::string& cut) {
    constexpr double kAny = 1e6;  // the library knows each range and says it
    const CutInfo& info = findCut(cut);
    std::map<std::string, double> given;
    for (const OptionSpec& option : proportionOptions()) {
        const auto value = arguments.number(option.name, -kAny, kAny);
        if (!value) continue;
        const auto p =
            std::find_if(info.proportions.begin(), info.proportions.end(),
                         [&](const ProportionInfo& i) { return i.option == option.name; });
        if (p == info.proportions.end())
            throw Error(ErrorCode::BadUsage,
                        "The cut \"" + cut + "\" has no proportion --" + option.name + ".",
                        "Leave it out; `macle shape --list` shows what each cut has.");
        given[p->key] = *value;
    }
    return given;
}

std::vector<FacetEdit> givenEdits(const Arguments& arguments) {
    const auto file = arguments.text("edits");
    if (!file) return {};
    return parseFacetEdits(readTextFile(*file, "list of edits", kLargestEdits), *file);
}

PlacementFile readPlacementFile(const std::filesystem::path& file) {
    const ReadJson root = ReadJson::parse(
        readTextFile(file, "placement file", kLargestPlacementFile,
                     "Check the name; `macle fit STONE --cut round --out FILE.json` writes one."),
        nullptr, false);
    if (root.is_discarded() || !root.is_object())
        badFile(file, "it is not a JSON object.",
                "Use a file written by `macle fit --out`, or one like it.");
    // One placement is asked for: nothing of a whole layout is left out unsaid.
    for (const char* more : {"layouts", "more_stones", "saws"})
        if (root.contains(more) && !root.at(more).empty())
            badFile(
                file, std::string("it holds \"") + more + "\", so it is more than one placement.",
                "Give a list of layouts with --layouts FILE, and --layout NAME for one of them.");
    PlacementFile result;
    const ReadJson* pose = &root;
    if (const auto nested = root.find("placement"); nested != root.end()) {
        if (!nested->is_object())
            badFile(file, "\"placement\" is not an object.",
                    "Give quaternion_wxyz and "
                    "translation_mm in it.");
        pose = &*nested;
    }
    const std::vector<double> q = numbersAt(*pose, file, "quaternion_wxyz", 4);
    const std::vector<double> t = numbersAt(*pose, file, "translation_mm", 3);
    const Eigen::Quaterniond rotation(q[0], q[1], q[2], q[3]);
    constexpr double kUnitWithin = 1e-3;  // hand-written digits; more would mean another rotation
    if (!(std::abs(rotation.norm() - 1.0) <= kUnitWithin))
        badFile(file,
                "\"quaternion_wxyz\" is not a unit quaternion (its length is " +
                    formatFixed(rotation.norm(), 6) + ").",
                "Divide its four numbers by their length.");
    // Digits that are already exact to the last place stay as they are.
    result.placement.rotation =
        std::abs(rotation.norm() - 1.0) < 1e-14 ? rotation : rotation.normalized();
    result.placement.translation_mm = {t[0], t[1], t[2]};

    const auto sizeAt = [&](const ReadJson& object) {
        if (const auto size = object.find("size_mm"); size != object.end())
            result.size_mm = numberAt(*size, file, "size_mm");
    };
    sizeAt(*pose);
    if (!result.size_mm) sizeAt(root);
    if (result.size_mm && !(*result.size_mm > 0.0 && *result.size_mm <= kLargestSize_mm))
        badFile(file, "\"size_mm\" is " + formatExact(*result.size_mm) + ".",
                "Give a size above 0 mm and up to 1000 mm.");
    if (result.size_mm) result.placement.size_mm = *result.size_mm;

    if (const auto cut = root.find("cut"); cut != root.end()) {
        if (!cut->is_string()) badFile(file, "\"cut\" is not a text.", "Give a cut's name.");
        result.cut = cut->get<std::string>();
    }
    if (const auto allowance = root.find("allowance_mm"); allowance != root.end())
        result.allowance_mm = numberAt(*allowance, file, "allowance_mm");
    if (const auto list = root.find("proportions"); list != root.end()) {
        if (!list->is_object())
            badFile(file, "\"proportions\" is not an object.", "Give a number for each name.");
        for (const auto& [key, value] : list->items())
            result.proportions[key] = numberAt(value, file, key);
    }
    if (const auto list = root.find("facet_edits"); list != root.end())
        result.edits = parseFacetEdits(list->dump(), "The placement file " + file.string());
    return result;
}

std::vector<OptionSpec> layoutOptions() {
    std::vector<OptionSpec> options = {
        {"placement", "FILE", "where the cut sits: JSON as printed by `macle fit --json`"},
        {"layouts", "FILE", "layouts of a list (JSON) instead of those of the stone file"},
        {"layout", "NAME", "which layout of them (default: the first)"},
        {"stone", "N", "which stone of that layout, in the piece it is cut from (1)"}};
    const auto more = cutOptions();
    options.insert(options.end(), more.begin(), more.end());
    return options;
}

std::optional<double> sizeOption(const Arguments& arguments) {
    return arguments.number("size", kSmallestSize_mm, kLargestSize_mm);
}

std::size_t chosenStone(const Arguments& arguments, const Layout& layout) {
    const auto given = arguments.integer("stone", 1, static_cast<long long>(layout.stones.size()));
    return given ? static_cast<std::size_t>(*given - 1) : 0;
}

std::optional<Layout> chosenLayout(const Arguments& arguments, StoneFile& file,
                                   std::optional<double> size_mm) {
    std::optional<Layout> layout = chosenWholeLayout(arguments, file, size_mm);
    if (!layout) return std::nullopt;
    PlannedStone stone = layout->stones[chosenStone(arguments, *layout)];
    if (!layout->saws.empty()) {
        const RoughCutter cutter(file.stone.rough);
        const Division division = divide(file.stone.rough, cutter, layout->saws);
        file.stone = stoneOf(file.stone, division.pieces.at(static_cast<std::size_t>(stone.piece)));
        layout->saws.clear();
    }
    stone.piece = 0;
    layout->stones = {std::move(stone)};
    return layout;
}

std::optional<Layout> chosenWholeLayout(const Arguments& arguments, const StoneFile& file,
                                        std::optional<double> size_mm) {
    std::optional<Layout> layout;
    const auto placementFile = arguments.text("placement");
    const auto name = arguments.text("layout");
    const auto list = arguments.text("layouts");
    if (list && placementFile)
        throw Error(ErrorCode::BadUsage, "Both --layouts and --placement are given.",
                    "Keep one: they both say where the cut sits.");
    const std::vector<Layout> layouts = list ? readLayouts(*list) : file.layouts;
    if (name && placementFile)
        throw Error(ErrorCode::BadUsage, "Both --layout and --placement are given.",
                    "Keep one: they both say where the cut sits.");
    if (placementFile) {
        const PlacementFile given = readPlacementFile(*placementFile);
        layout.emplace();
        const auto cut = arguments.text("cut");
        if (cut || given.cut)
            layout->main().cut = cut ? *cut : *given.cut;
        else
            throw Error(ErrorCode::BadUsage,
                        "The placement file " + *placementFile + " does not name a cut.",
                        "Add --cut, with its proportions where they are not the standard ones.");
        if (!cut || given.cut == cut) {
            layout->main().proportions = given.proportions;
            layout->main().edits = given.edits;
        }
        layout->main().placement = given.placement;
        layout->main().rules.allowance_mm = given.allowance_mm.value_or(0.0);
        if (!given.size_mm && !size_mm)
            throw Error(ErrorCode::BadUsage,
                        "The placement file " + *placementFile +
                            " does not say how large the "
                            "cut is.",
                        "Add \"size_mm\" to it (or --size MM where the verb has it).");
    } else if (!layouts.empty()) {
        const auto found = std::find_if(layouts.begin(), layouts.end(),
                                        [&](const Layout& l) { return !name || l.name == *name; });
        if (found == layouts.end()) {
            std::string names;
            for (const Layout& l : layouts)
                names += (names.empty() ? "" : ", ") + l.name;
            throw Error(ErrorCode::BadUsage, "The stone has no layout named \"" + *name + "\".",
                        "It has: " + names + ".");
        }
        layout = *found;
        PlannedStone& stone = layout->stones[chosenStone(arguments, *layout)];
        if (const auto cut = arguments.text("cut"); cut && *cut != stone.cut) {
            stone.cut = *cut;
            stone.proportions.clear();
            stone.edits.clear();
        }
    } else if (name) {
        throw Error(ErrorCode::BadUsage, "The stone has no layouts yet.",
                    "Leave out --layout, or run `macle fit` with --out first.");
    }
    if (!layout) return std::nullopt;
    PlannedStone& stone = layout->stones[chosenStone(arguments, *layout)];
    if (size_mm) stone.placement.size_mm = *size_mm;
    checkCutName(stone.cut);
    for (const auto& [key, value] : givenProportions(arguments, stone.cut))
        stone.proportions[key] = value;
    if (arguments.has("edits")) stone.edits = givenEdits(arguments);
    return layout;
}

Layout layoutWithoutPlacement(const Arguments& arguments) {
    const auto cut = arguments.text("cut");
    if (!cut)
        throw Error(ErrorCode::BadUsage, "No cut is given.",
                    "Add --cut CUT; `macle shape --list` shows the cuts.");
    checkCutName(*cut);
    Layout layout;
    layout.main().cut = *cut;
    layout.main().proportions = givenProportions(arguments, *cut);
    layout.main().edits = givenEdits(arguments);
    return layout;
}

OptionSpec materialOption() {
    return {"material", "NAME", "what the stone is made of (diamond, or as its file says)"};
}

Material givenMaterial(const Arguments& arguments, const Material& otherwise) {
    const auto name = arguments.text("material");
    return name ? loadMaterial(*name) : otherwise;
}

StoneFile openStoneArgument(const Arguments& arguments, const std::string& file, Console& console) {
    if (const auto name = arguments.text("material"))
        (void)loadMaterial(*name);  // before a long read
    StoneFile stone = openStone(file, &console.phase("Reading the stone"));
    stone.stone.material = givenMaterial(arguments, stone.stone.material);
    return stone;
}

}  // namespace macle::app
