// The plan sheet as a vector PDF, A4. Works without a display (needs a QGuiApplication, platform
// `offscreen` will do). Throws Error{Io} when the file cannot be written and what drawing throws.
#pragma once

#include <filesystem>

#include "core/bench/plan_sheet.h"

namespace macle::app {

void writePlanSheetPdf(const PlanSheet& sheet, const std::filesystem::path& file);

}  // namespace macle::app
