// Which defects of a stone are seen in a cut, and what each counts.
#include <algorithm>

#include "core/appraise/clarity.h"
#include "core/base/error.h"

namespace macle {

namespace {

constexpr double kMicrometresPerMm = 1000.0;

double factorIn(const std::map<std::string, double>& factors, const std::string& name) {
    const auto found = factors.find(name);
    require(found != factors.end(), "the clarity scale has a factor for each kind and place");
    return found->second;
}

void weighIn(SeenDefect& seen, const ClarityScale& scale) {
    seen.relief = factorIn(scale.relief, seen.kind);
    seen.place = factorIn(scale.place, seen.zone);
    const int images = std::min(seen.reflections.value_or(0), scale.most_reflections);
    const double mirrored = 1.0 + scale.each_reflection * images;
    seen.counts_um = seen.seen_um * seen.relief * seen.place * mirrored;
    seen.reasons = {{"Seen face-up", seen.seen_um, "um", 0},
                    {"Depth below the nearest facet", seen.depth_mm, "mm", 3},
                    {"Relief of a " + seen.kind, seen.relief, "", 2},
                    {"Place " + seen.zone, seen.place, "", 2}};
    if (seen.reflections)
        seen.reasons.push_back(
            {"Reflections seen: " + std::to_string(*seen.reflections) + ", which count", mirrored,
             "", 2});
    else
        seen.reasons.push_back({"Reflections not traced", std::nullopt, "", 0});
    seen.reasons.push_back({"Counts as", seen.counts_um, "um", 0});
}

}  // namespace

std::vector<SeenDefect> seenDefects(const std::vector<Defect>& defects, const PlacedDesign& placed,
                                    const ClarityScale& scale, const ReflectionsOf& reflections) {
    std::vector<SeenDefect> seen;
    for (int i = 0; i < static_cast<int>(defects.size()); ++i) {
        const Defect& defect = defects[static_cast<std::size_t>(i)];
        const std::optional<Glimpse> glimpse = placed.glimpse(defect);
        if (!glimpse) continue;
        SeenDefect one;
        one.defect = i;
        one.name = defect.name;
        one.kind = kindName(defect.kind);
        one.zone = glimpse->zone;
        one.depth_mm = glimpse->depth_mm;
        one.seen_um = kMicrometresPerMm * glimpse->seen_mm;
        if (reflections) one.reflections = reflections(i);
        weighIn(one, scale);
        seen.push_back(std::move(one));
    }
    return seen;
}

}  // namespace macle
