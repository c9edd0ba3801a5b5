// --defects FILE: a defect list, a mesh, or a scanned volume with the grey values of its defects.
#pragma once

#include "app/terminal/arguments.h"
#include "app/terminal/console.h"
#include "app/terminal/output.h"
#include "core/stone/stone.h"

namespace macle::app {

std::vector<OptionSpec> defectOptions();

// Adds what the file holds to the stone and tells of it in `defects_added` of the object; nothing
// without --defects. Throws Error{BadUsage} for a volume without --threshold, and for --threshold
// or --smallest without a volume; what readDefects, readVolume and defectsFromVolume throw.
void addDefects(const Arguments& arguments, Stone& stone, Console& console, Json& object);

}  // namespace macle::app
