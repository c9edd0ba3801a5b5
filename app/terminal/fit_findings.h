// What `fit` can find out beside the placement: what holds it, and what letting defects stay would
// bring.
#pragma once

#include <string>
#include <vector>

#include "app/terminal/arguments.h"
#include "app/terminal/console.h"
#include "app/terminal/output.h"
#include "core/archive/stone_file.h"
#include "core/cut/library.h"
#include "core/fit/free_fit.h"
#include "core/solid/finished_stone.h"

namespace macle::app {

// --free table,crown=32:36; empty when it is not given. Without a range, a modest one around the
// value in `proportions` or the standard one. Throws Error{BadUsage} naming the entry.
std::vector<FreeProportion> freeProportions(const Arguments& arguments, const CutInfo& cut,
                                            const std::map<std::string, double>& proportions);

// --explain and --clarity.
std::vector<OptionSpec> findingOptions();

// Adds what these options ask for to the result, as JSON and as text.
void addFindings(const Arguments& arguments, const Stone& stone, const RoughCutter& cutter,
                 const Layout& layout, Console& console, Json& object, std::string& text);

}  // namespace macle::app
