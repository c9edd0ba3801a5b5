// `fit --seek value` and the like: the placement that is best by another figure than weight.
#pragma once

#include "app/terminal/fit.h"
#include "app/terminal/output.h"

namespace macle::app {

// --seek and what it needs beside it.
std::vector<OptionSpec> seekOptions();

// Whether another figure than weight is sought. Throws Error{BadUsage} for one that is none, or
// together with --bound or --others, or
// for a colour without --free.
bool seeksOther(const Arguments& arguments);

// As runFit; adds what was sought to the result, as JSON and as text.
FitOutcome runSeek(const Arguments& arguments, const Stone& stone, Layout& layout, Console& console,
                   Json& sought, std::string& text);

}  // namespace macle::app
