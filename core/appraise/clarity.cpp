#include "core/appraise/clarity.h"

#include <algorithm>
#include <cmath>

#include "core/appraise/clarity_grades.h"
#include "core/base/error.h"
#include "core/base/numbers.h"

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

ClarityFigure gradeClarity(const ClarityScale& scale, std::vector<SeenDefect> seen,
                           double weight_ct) {
    ClarityFigure figure;
    std::stable_sort(seen.begin(), seen.end(), [](const SeenDefect& a, const SeenDefect& b) {
        return a.counts_um > b.counts_um;
    });
    double squares = 0.0;
    for (const SeenDefect& one : seen)
        squares += one.counts_um * one.counts_um;
    figure.counts_um = std::sqrt(squares);
    while (figure.grade < static_cast<int>(scale.up_to_um.size()) &&
           figure.counts_um > scale.up_to_um[static_cast<std::size_t>(figure.grade)])
        ++figure.grade;
    figure.subGrades = weight_ct >= scale.sub_grades_from_ct;
    figure.name = clarityName(figure.grade, figure.subGrades);
    for (const SeenDefect& one : seen)
        figure.reasons.push_back(
            {one.name + " (" + one.kind + ", " + one.zone + ") counts as", one.counts_um, "um", 0});
    figure.reasons.push_back(
        {"All together (root of the sum of squares)", figure.counts_um, "um", 0});
    if (figure.grade < static_cast<int>(scale.up_to_um.size()))
        figure.reasons.push_back({clarityName(figure.grade, true) + " reaches up to",
                                  scale.up_to_um[static_cast<std::size_t>(figure.grade)], "um", 0});
    if (!figure.subGrades)
        figure.reasons.push_back(
            {"Grades are not split in two below", scale.sub_grades_from_ct, "ct", 2});
    figure.reasons.push_back({"Scale: " + scale.note, std::nullopt, "", 0});
    if (seen.empty()) {
        figure.text = "May be " + figure.name + ": no recorded defect remains inside. ";
    } else {
        const SeenDefect& most = seen.front();
        figure.text = "May be " + figure.name + ": ";
        figure.text += seen.size() == 1
                           ? "1 defect remains, "
                           : std::to_string(seen.size()) + " defects remain; most counts ";
        figure.text += most.name + ", " + formatFixed(most.seen_um, 0) + " um face-up (" +
                       most.kind + ", " + most.zone + "). ";
    }
    figure.text += kPlanningEstimate;
    figure.defects = std::move(seen);
    return figure;
}

}  // namespace macle
