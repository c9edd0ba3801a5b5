// Clarity: how each remaining defect is seen face-up and which word of the published scale the
// stone may get. Always a planning estimate, not a grading report: only recorded defects count, and
// the scale's numbers are the works' own. Pure; any thread.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "core/appraise/clarity_scale.h"
#include "core/appraise/defect_inside.h"
#include "core/appraise/reason.h"

namespace macle {

// One that remains, as it is seen through the table.
struct SeenDefect {
    int defect = -1;  // index into the stone's
    std::string name;
    std::string kind;
    std::string zone;
    double depth_mm = 0.0;           // shortest distance from its middle to a facet
    double seen_um = 0.0;            // widest extent face-up of what lies inside
    std::optional<int> reflections;  // images beside the direct one; nothing when not traced
    double relief = 1.0;
    double place = 1.0;
    double counts_um = 0.0;  // seen_um * relief * place * (1 + reflections * share)
    Reasons reasons;
};

struct ClarityFigure {
    int grade = 0;     // index into clarityGrades()
    std::string name;  // "VS1"; "VS" below the weight of sub-grades
    bool subGrades = true;
    double counts_um = 0.0;           // root of the sum of squares over the defects: areas add up
    std::vector<SeenDefect> defects;  // what counts most first
    Reasons reasons;
    std::string text;  // a sentence, with the caution
};

// How often the defect is seen beside directly; nothing when that is not known.
using ReflectionsOf = std::function<std::optional<int>(int defect)>;

// The defects left inside, in the order of the stone's. Each glimpse() of PlacedDesign.
std::vector<SeenDefect> seenDefects(const std::vector<Defect>& defects, const PlacedDesign& placed,
                                    const ClarityScale& scale,
                                    const ReflectionsOf& reflections = {});

// Throws Error{Internal} for a scale without factors for what is seen.
ClarityFigure gradeClarity(const ClarityScale& scale, std::vector<SeenDefect> seen,
                           double weight_ct);

}  // namespace macle
