#include "core/appraise/clarity.h"

#include <algorithm>
#include <cmath>

#include "core/appraise/clarity_grades.h"
#include "core/base/error.h"
#include "core/base/numbers.h"

namespace macle {

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
