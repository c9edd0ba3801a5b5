// The cautions that go with a kind of work (common practice, no source; local codes and licensed
// practice prevail). Pure; any thread.
#pragma once

#include <string>
#include <vector>

#include "core/bench/working_order.h"

namespace macle {

std::vector<std::string> stepCautions(BenchStepKind kind);

// All of them, as they stand at the end of a plan sheet.
std::vector<std::string> usualCautions();

}  // namespace macle
