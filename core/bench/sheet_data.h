// The plan sheet as data, for a spreadsheet or another program: the same figures as on paper.
// Pure; any thread.
#pragma once

#include <string>

#include "core/bench/plan_sheet.h"

namespace macle {

// One object (resources/schemas/plan_sheet.schema.json); numbers unrounded, units in the names.
std::string planSheetJson(const PlanSheet& sheet);

// One figure a row: part, stone, step, name, figure, value, unit. Parts: "sheet", "saw", "stone",
// "facet", "limit", "defect", "step", "caution". Stones, saws and steps are counted from 1; empty
// where they do not apply. Numbers unrounded.
std::string planSheetCsv(const PlanSheet& sheet);

}  // namespace macle
