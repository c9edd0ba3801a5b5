// ClarityCurve: how much heavier the stone gets as more of its defects may stay. Each point is a
// layout of its own. A planning estimate, not a grading report.
#pragma once

#include <string>
#include <vector>

#include "core/appraise/appraisal.h"
#include "core/base/progress.h"
#include "core/fit/search.h"

namespace macle {

struct ClarityPoint {
    std::vector<int> permitted;  // indices of the stone's defects that may stay, ascending
    Placement placement;
    Appraisal appraisal;     // of the stone with these permitted
    int worst_severity = 0;  // of the defects left inside; 0: none is
    int total_severity = 0;  // and the sum over them
};

// The sets of defects tried: what the policies allow; those and every defect up to each severity;
// those and each cluster (or defect in none), the kMostClusters largest; all. Each is a search of
// an equal part of the options' time and poses, which begins from the best of the smaller sets.
// Returned are the points that no other beats in both weight and clarity (the worst severity left,
// then the sum), cleanest and lightest first. Sets in which nothing fits are left out; Error{
// NoSolution} when none is left. `cutter` must be made from stone.rough.
inline constexpr std::size_t kMostClusters = 12;
std::vector<ClarityPoint> clarityCurve(const Stone& stone, const RoughCutter& cutter,
                                       const Design& design, const FitRules& rules,
                                       const FitOptions& options, Progress* progress = nullptr);

}  // namespace macle
