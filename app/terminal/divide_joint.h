// `divide --stones round,oval` and `divide --count 3`: two and more stones sought at once.
#pragma once

#include <string>
#include <vector>

#include "app/terminal/arguments.h"
#include "app/terminal/console.h"

namespace macle::app {

// --stones, --count, --among, --fewer, --exit, --different, and --seek with what a value needs.
std::vector<OptionSpec> jointOptions();

bool asksForStones(const Arguments& arguments);

// Looks, writes the layouts to --out and prints them. Throws what findJoint throws, Error{BadUsage}
// for options that do not go together.
void divideIntoStones(const Arguments& arguments, Console& console);

}  // namespace macle::app
