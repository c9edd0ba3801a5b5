#include "core/cut/cut_recipe.h"

#include <cmath>
#include <cstdint>
#include <nlohmann/json.hpp>
#include <set>
#include <utility>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/text_file.h"
#include "core/cut/facet_edit_json.h"

namespace macle {

namespace {

using Json = nlohmann::ordered_json;

constexpr std::uintmax_t kLargestFile = 1u << 20;
constexpr int kMostTurns = 64;
constexpr int kMostFlats = 256;
constexpr int kMostRepeats = 64;
constexpr std::size_t kMostRules = 2000;

[[noreturn]] void bad(const std::string& what, const std::string& remedy = "Correct the file.") {
    throw Error(ErrorCode::BadInput, what, remedy);
}

void checkKeys(const Json& object, const std::set<std::string>& allowed) {
    for (const auto& [key, value] : object.items())
        if (!allowed.contains(key)) {
            std::string list;
            for (const std::string& name : allowed)
                list += (list.empty() ? "" : ", ") + name;
            bad("The word \"" + key + "\" is not known here.", "Known are: " + list + ".");
        }
}

const Json& member(const Json& object, const std::string& key) {
    const auto found = object.find(key);
    if (found == object.end()) bad("\"" + key + "\" is missing.");
    return *found;
}

std::string textAt(const Json& object, const std::string& key) {
    const Json& value = member(object, key);
    if (!value.is_string() || value.get<std::string>().empty())
        bad("\"" + key + "\" must be a text.");
    return value.get<std::string>();
}

// A plain number, or a text with a formula.
std::string formula(const Json& value, const std::string& key) {
    if (value.is_number()) return "(" + formatExact(value.get<double>()) + ")";
    if (value.is_string() && !value.get<std::string>().empty()) return value.get<std::string>();
    bad("\"" + key + "\" must be a number or a formula.");
}
std::string formulaAt(const Json& object, const std::string& key) {
    return formula(member(object, key), key);
}

const Json& listAt(const Json& object, const std::string& key, std::size_t least,
                   std::size_t most) {
    const Json& value = member(object, key);
    if (!value.is_array() || value.size() < least || value.size() > most)
        bad("\"" + key + "\" must be a list of " +
            (least == most ? std::to_string(least)
                           : std::to_string(least) + " to " + std::to_string(most)) +
            " entries.");
    return value;
}
std::vector<std::string> namesAt(const Json& object, const std::string& key, std::size_t least,
                                 std::size_t most) {
    std::vector<std::string> names;
    for (const Json& item : listAt(object, key, least, most)) {
        if (!item.is_string() || item.get<std::string>().empty())
            bad("\"" + key + "\" must be a list of names.");
        names.push_back(item.get<std::string>());
    }
    return names;
}
std::vector<std::string> formulasAt(const Json& object, const std::string& key, std::size_t count) {
    std::vector<std::string> formulas;
    for (const Json& item : listAt(object, key, count, count))
        formulas.push_back(formula(item, key));
    return formulas;
}

double numberAt(const Json& object, const std::string& key) {
    const Json& value = member(object, key);
    if (!value.is_number() || !std::isfinite(value.get<double>()))
        bad("\"" + key + "\" must be a number.");
    return value.get<double>();
}

long long wholeAt(const Json& object, const std::string& key, long long low, long long high) {
    const Json& value = member(object, key);
    if (!value.is_number_integer() || value.get<long long>() < low || value.get<long long>() > high)
        bad("\"" + key + "\" must be a whole number, " + std::to_string(low) + " to " +
            std::to_string(high) + ".");
    return value.get<long long>();
}

// --- The rules ----------------------------------------------------------------------------------

ValueRule valueRule(const Json& j) {
    checkKeys(j, {"value", "is", "when"});
    return {textAt(j, "value"), formulaAt(j, "is")};
}

RequireRule requireRule(const Json& j) {
    checkKeys(j, {"require", "otherwise", "remedy", "when"});
    return {formulaAt(j, "require"), textAt(j, "otherwise"), textAt(j, "remedy")};
}

PlaceRule placeRule(const Json& j) {
    using Way = PlaceRule::Way;
    checkKeys(j, {"place", "at", "outline", "facing", "towards", "between", "share", "tangents",
                  "lines", "tangent_deg", "when"});
    PlaceRule rule;
    rule.name = textAt(j, "place");
    int ways = 0;
    const auto has = [&](const char* key) {
        const bool given = j.contains(key);
        ways += given ? 1 : 0;
        return given;
    };
    if (has("at")) {
        rule.way = Way::At;
        rule.numbers = formulasAt(j, "at", 2);
    }
    if (has("outline")) {
        rule.way = Way::Outline;
        rule.numbers = {formulaAt(j, "outline")};
    }
    if (has("facing")) {
        rule.way = Way::Facing;
        rule.numbers = {formulaAt(j, "facing")};
    }
    if (has("towards")) {
        rule.way = Way::Towards;
        rule.places = {textAt(j, "towards")};
    }
    if (has("between")) {
        rule.way = Way::Between;
        rule.places = namesAt(j, "between", 2, 2);
        rule.numbers = {formulaAt(j, "share")};
    }
    if (has("tangents")) {
        rule.way = Way::Tangents;
        rule.places = namesAt(j, "tangents", 2, 2);
    }
    if (has("lines")) {
        rule.way = Way::Lines;
        rule.places = namesAt(j, "lines", 4, 4);
    }
    if (ways != 1)
        bad("A place is told in one way.",
            "Give one of: at, outline, facing, towards, between, tangents, lines.");
    if (j.contains("tangent_deg")) rule.tangent_deg = formulaAt(j, "tangent_deg");
    return rule;
}

PointRule pointRule(const Json& j) {
    checkKeys(j, {"point", "over", "on", "meet", "at", "when"});
    PointRule rule;
    rule.name = textAt(j, "point");
    if (j.contains("over")) {
        rule.way = PointRule::Way::OnFacet;
        rule.names = {textAt(j, "over"), textAt(j, "on")};
    } else if (j.contains("meet")) {
        rule.way = PointRule::Way::Meet;
        rule.names = namesAt(j, "meet", 3, 3);
    } else {
        rule.way = PointRule::Way::At;
        rule.numbers = formulasAt(j, "at", 3);
    }
    return rule;
}

FacetRule facetRule(const Json& j) {
    checkKeys(
        j, {"facet", "id", "level", "through", "along", "along_deg", "angle_deg", "side", "when"});
    FacetRule rule;
    rule.name = textAt(j, "facet");
    if (rowOf(rule.name) != rule.name)
        bad("The facet \"" + rule.name + "\" ends in a number; numbers are added round the stone.");
    if (j.contains("id")) rule.id = textAt(j, "id");
    if (j.contains("level")) {
        rule.level = formulaAt(j, "level");
        return rule;
    }
    rule.points = namesAt(j, "through", 1, 3);
    if (j.contains("along")) {
        const Json& along = j.at("along");
        rule.along = along.is_array() ? namesAt(j, "along", 2, 2)
                                      : std::vector<std::string>{textAt(j, "along")};
    }
    if (j.contains("along_deg")) rule.along_deg = formulaAt(j, "along_deg");
    if (j.contains("angle_deg")) {
        rule.angle_deg = formulaAt(j, "angle_deg");
        const std::string side = textAt(j, "side");
        if (side != "crown" && side != "pavilion") bad("\"side\" is crown or pavilion.");
        rule.crown = side == "crown";
    }
    const std::size_t directions = (rule.along.empty() ? 0u : 1u) +
                                   (rule.along_deg.empty() ? 0u : 1u) +
                                   (rule.angle_deg.empty() ? 0u : 1u);
    if (rule.points.size() + directions != 3 || (!rule.along.empty() && !rule.along_deg.empty()) ||
        (!rule.angle_deg.empty() && directions < 2))
        bad("These do not fix a plane.",
            "Give three points, two points and a direction (along or along_deg), or one point, a "
            "direction and angle_deg with side.");
    return rule;
}

GirdleRule girdleRule(const Json& j) {
    checkKeys(j, {"girdle", "flats", "when"});
    GirdleRule rule;
    rule.places = namesAt(j, "girdle", 2, 200);
    const Json& flats = member(j, "flats");
    const std::size_t gaps = rule.places.size() - 1;
    for (const Json& count : flats.is_array() ? flats : Json::array({flats})) {
        if (!count.is_number_integer() || count.get<int>() < 1 || count.get<int>() > kMostFlats)
            bad("\"flats\" must be whole numbers, 1 to " + std::to_string(kMostFlats) + ".");
        rule.flats.push_back(count.get<int>());
    }
    if (rule.flats.size() != 1 && rule.flats.size() != gaps)
        bad("\"flats\" must be one number, or one for each of the " + std::to_string(gaps) +
            " gaps.");
    return rule;
}

CutRule cutRule(const Json& j, const std::string& label) {
    CutRule rule;
    rule.label = label;
    if (j.contains("when")) rule.when = formulaAt(j, "when");
    if (j.contains("value"))
        rule.what = valueRule(j);
    else if (j.contains("require"))
        rule.what = requireRule(j);
    else if (j.contains("place"))
        rule.what = placeRule(j);
    else if (j.contains("point"))
        rule.what = pointRule(j);
    else if (j.contains("facet"))
        rule.what = facetRule(j);
    else if (j.contains("girdle"))
        rule.what = girdleRule(j);
    else if (j.contains("round_brilliant")) {
        checkKeys(j, {"round_brilliant"});
        rule.what = RoundBrilliantRule{};
    } else
        bad("This is none of the rules.",
            "A rule is a value, require, place, point, facet, girdle or round_brilliant.");
    return rule;
}

// {k}, {k+1}, {k-1} in every text.
Json substituted(const Json& json, const std::string& letter, int value) {
    if (json.is_string()) {
        std::string text = json.get<std::string>();
        for (const int step : {0, 1, -1}) {
            const std::string mark = "{" + letter +
                                     (step == 0   ? ""
                                      : step == 1 ? "+1"
                                                  : "-1") +
                                     "}";
            for (std::size_t at = text.find(mark); at != std::string::npos; at = text.find(mark))
                text.replace(at, mark.size(), std::to_string(value + step));
        }
        return text;
    }
    Json result = json;
    if (json.is_array() || json.is_object())
        for (Json& item : result)
            item = substituted(item, letter, value);
    return result;
}

// Adds what the error is about to its message.
template <class Action>
auto within(const std::string& where, Action action) {
    try {
        return action();
    } catch (const Error& error) {
        throw Error(error.code(), where + ": " + error.message(), error.remedy());
    } catch (const nlohmann::json::exception& fault) {
        throw Error(ErrorCode::BadInput, where + ": " + fault.what(), "Correct the file.");
    }
}

std::string ruleLabel(const Json& j, std::size_t number) {
    std::string label = "rule " + std::to_string(number);
    for (const char* kind : {"value", "place", "point", "facet"})
        if (j.is_object() && j.contains(kind) && j.at(kind).is_string())
            label += std::string(", ") + kind + " \"" + j.at(kind).get<std::string>() + "\"";
    return label;
}

std::vector<CutRule> rulesFrom(const Json& list) {
    std::vector<CutRule> rules;
    std::size_t number = 0;
    for (const Json& item : list) {
        ++number;
        within(ruleLabel(item, number), [&] {
            if (!item.is_object()) bad("A rule must be an object.");
            if (!item.contains("for")) {
                rules.push_back(cutRule(item, ruleLabel(item, number)));
                return;
            }
            const Json& loop = item.at("for");
            if (!loop.is_object() || loop.size() != 1) bad("\"for\" must be like {\"k\": [0, 3]}.");
            const std::string letter = loop.begin().key();
            const Json& range = loop.begin().value();
            if (!range.is_array() || range.size() != 2 || !range[0].is_number_integer() ||
                !range[1].is_number_integer() || range[1].get<int>() < range[0].get<int>() ||
                range[1].get<int>() - range[0].get<int>() > kMostRepeats)
                bad("\"for\" must be like {\"k\": [0, 3]}.");
            Json body = item;
            body.erase("for");
            for (int k = range[0].get<int>(); k <= range[1].get<int>(); ++k) {
                const Json one = substituted(body, letter, k);
                rules.push_back(cutRule(one, ruleLabel(one, number)));
            }
        });
        if (rules.size() > kMostRules) bad("There are more rules than any cut needs.");
    }
    return rules;
}

std::vector<OutlineStep> outlineFrom(const Json& list) {
    std::vector<OutlineStep> steps;
    std::size_t number = 0;
    for (const Json& item : list) {
        OutlineStep step;
        step.label = "outline piece " + std::to_string(number++);
        step.centre = {"0", "0"};
        within(step.label, [&] {
            checkKeys(item, {"start", "line_to", "arc_to", "quarter_to", "centre"});
            const auto pair = [&](const char* key) {
                const auto both = formulasAt(item, key, 2);
                return std::array<std::string, 2>{both[0], both[1]};
            };
            if (steps.empty()) {
                step.to = pair("start");
            } else if (item.contains("line_to")) {
                step.kind = OutlineStep::Kind::Line;
                step.to = pair("line_to");
            } else if (item.contains("arc_to")) {
                step.kind = OutlineStep::Kind::Arc;
                step.to = pair("arc_to");
                step.centre = pair("centre");
            } else {
                step.kind = OutlineStep::Kind::Quarter;
                step.to = pair("quarter_to");
                step.centre = pair("centre");
            }
        });
        steps.push_back(step);
    }
    if (steps.size() == 1) bad("The outline has a start but no piece.");
    return steps;
}

ProportionInfo proportionFrom(const Json& j) {
    checkKeys(j, {"key", "option", "label", "unit", "standard", "low", "high", "measure"});
    ProportionInfo info{textAt(j, "key"),        textAt(j, "option"),
                        textAt(j, "label"),      textAt(j, "unit"),
                        numberAt(j, "standard"), numberAt(j, "low"),
                        numberAt(j, "high"),     j.contains("measure") ? textAt(j, "measure") : ""};
    const auto plain = [](const std::string& text, const char* letters) {
        return text.find_first_not_of(letters) == std::string::npos;
    };
    if (!plain(info.key, "abcdefghijklmnopqrstuvwxyz_"))
        bad("\"key\" is of small letters and _ only.");
    if (!plain(info.option, "abcdefghijklmnopqrstuvwxyz-"))
        bad("\"option\" is of small letters and - only.");
    if (info.unit != "%" && info.unit != "deg") bad("\"unit\" is % or deg.");
    if (!(info.low < info.high && info.low <= info.standard && info.standard <= info.high))
        bad("The range " + formatExact(info.low) + " to " + formatExact(info.high) +
            " does not hold the standard " + formatExact(info.standard) + ".");
    return info;
}

void readProportions(const Json& list, CutInfo& info) {
    std::set<std::string> keys;
    std::set<std::string> options;
    std::size_t number = 0;
    for (const Json& item : list)
        within("proportion " + std::to_string(++number), [&] {
            info.proportions.push_back(proportionFrom(item));
            if (!keys.insert(info.proportions.back().key).second ||
                !options.insert(info.proportions.back().option).second)
                bad("Its key or option is used twice.");
        });
}

CutRecipe recipeFrom(const Json& root, const std::string& file) {
    if (!root.is_object())
        bad("It is not a JSON object.", "See resources/schemas/cut.schema.json.");
    checkKeys(root, {"cut", "title", "note", "proportions", "symmetry", "outline", "rules",
                     "based_on", "edits", "standards"});
    CutRecipe recipe;
    recipe.file = file;
    recipe.info.name = textAt(root, "cut");
    if (recipe.info.name.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789_") !=
        std::string::npos)
        bad("\"cut\" is a name of small letters, digits and _ only.");
    recipe.info.title = textAt(root, "title");
    if (root.contains("note")) recipe.info.note = textAt(root, "note");
    if (root.contains("based_on")) {
        for (const char* key : {"proportions", "symmetry", "outline", "rules"})
            if (root.contains(key))
                bad("A cut based on another takes its " + std::string(key) + " from there.",
                    "Leave out \"" + std::string(key) + "\" or \"based_on\".");
        recipe.basedOn = textAt(root, "based_on");
        if (root.contains("standards"))
            for (const auto& [key, value] : root.at("standards").items())
                recipe.standards[key] = numberAt(root.at("standards"), key);
        std::size_t number = 0;
        for (const Json& item : listAt(root, "edits", 0, 1000))
            within("edit " + std::to_string(++number),
                   [&] { recipe.edits.push_back(facetEditFrom(item)); });
        return recipe;
    }
    for (const char* key : {"edits", "standards"})
        if (root.contains(key)) bad("\"" + std::string(key) + "\" goes with \"based_on\" only.");
    readProportions(listAt(root, "proportions", 1, 100), recipe.info);
    const Json& symmetry = member(root, "symmetry");
    within("symmetry", [&] {
        checkKeys(symmetry, {"turns", "mirror"});
        recipe.turns = static_cast<int>(wholeAt(symmetry, "turns", 1, kMostTurns));
        const Json& mirror = member(symmetry, "mirror");
        if (!mirror.is_boolean()) bad("\"mirror\" is true or false.");
        recipe.mirror = mirror.get<bool>();
    });
    if (root.contains("outline")) recipe.outline = outlineFrom(listAt(root, "outline", 2, 200));
    recipe.rules = rulesFrom(listAt(root, "rules", 1, kMostRules));
    return recipe;
}

}  // namespace

CutRecipe parseCutRecipe(const std::string& text, const std::string& file) {
    return within(file, [&] {
        const Json root = Json::parse(text, nullptr, false);
        if (root.is_discarded()) {
            try {
                [[maybe_unused]] const Json again =
                    Json::parse(text);  // once more, for the place of the fault
            } catch (const nlohmann::json::exception& fault) {
                bad(std::string("It is not JSON: ") + fault.what());
            }
        }
        CutRecipe recipe = recipeFrom(root, file);
        recipe.text = text;
        return recipe;
    });
}

CutRecipe readCutRecipe(const std::string& file) {
    return parseCutRecipe(readTextFile(file, "cut file", kLargestFile), file);
}

}  // namespace macle
