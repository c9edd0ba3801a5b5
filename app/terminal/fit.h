// The search as the verbs `fit` and `sheet` run it.
#pragma once

#include <optional>

#include "app/terminal/arguments.h"
#include "app/terminal/console.h"
#include "core/archive/stone_file.h"
#include "core/fit/bound.h"
#include "core/fit/search.h"

namespace macle::app {

// --allowance, --seconds, --seed, --threads, --poses, --bound.
std::vector<OptionSpec> searchOptions();

struct FitOutcome {
    FitResult result;
    bool stopped = false;  // by the user; `result` is the best until then
    std::optional<Bound> bound;
};

// Fills in `layout.rules` and `layout.placement`. Throws Error{Cancelled} when stopped before any
// placement was found.
FitOutcome runFit(const Arguments& arguments, const Stone& stone, Layout& layout, Console& console);

// What stops the layout where it is; nothing when it is smaller than it could be there.
std::vector<FitLimit> limitsOf(const Stone& stone, const Layout& layout, Console& console);

}  // namespace macle::app
