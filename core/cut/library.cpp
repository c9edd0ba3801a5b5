#include "core/cut/library.h"

#include <algorithm>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/cut/round_brilliant.h"

namespace macle {

namespace {

std::string joined(const std::vector<std::string>& words) {
    std::string text;
    for (const std::string& word : words)
        text += (text.empty() ? "" : ", ") + word;
    return text;
}

void checkRange(const ProportionInfo& info, double value) {
    // Written so that a value that is not a number fails too.
    if (value >= info.low && value <= info.high) return;
    throw Error(ErrorCode::BadUsage,
                info.label + " (" + info.key + ") is " + formatExact(value) + " " + info.unit +
                    ", outside " + formatExact(info.low) + " to " + formatExact(info.high) + " " +
                    info.unit + ".",
                "Give a value in that range; " + formatExact(info.standard) + " " + info.unit +
                    " is the standard.");
}

}  // namespace

const std::vector<CutInfo>& cutLibrary() {
    static const std::vector<CutInfo> library{roundBrilliantInfo()};
    return library;
}

const CutInfo& findCut(const std::string& name) {
    std::vector<std::string> names;
    for (const CutInfo& cut : cutLibrary()) {
        if (cut.name == name) return cut;
        names.push_back(cut.name);
    }
    throw Error(ErrorCode::NotFound, "There is no cut named \"" + name + "\".",
                "The cuts are: " + joined(names) + ".");
}

std::map<std::string, double> completeProportions(const CutInfo& cut,
                                                  const std::map<std::string, double>& given) {
    std::map<std::string, double> complete;
    std::vector<std::string> keys;
    for (const ProportionInfo& info : cut.proportions) {
        complete[info.key] = info.standard;
        keys.push_back(info.key);
    }
    for (const auto& [key, value] : given) {
        const auto place = complete.find(key);
        if (place == complete.end())
            throw Error(ErrorCode::BadUsage,
                        "The cut \"" + cut.name + "\" has no proportion \"" + key +
                            "\" (given as " + formatExact(value) + ").",
                        "Its proportions are: " + joined(keys) + ".");
        place->second = value;
    }
    for (const ProportionInfo& info : cut.proportions)
        checkRange(info, complete.at(info.key));
    return complete;
}

Design makeDesign(const std::string& cut, const std::map<std::string, double>& proportions) {
    const CutInfo& info = findCut(cut);
    const std::map<std::string, double> complete = completeProportions(info, proportions);
    return roundBrilliant({.table_percent = complete.at("table_percent"),
                           .crown_deg = complete.at("crown_deg"),
                           .pavilion_deg = complete.at("pavilion_deg"),
                           .girdle_percent = complete.at("girdle_percent"),
                           .star_percent = complete.at("star_percent"),
                           .lower_half_percent = complete.at("lower_half_percent"),
                           .culet_percent = complete.at("culet_percent")});
}

}  // namespace macle
