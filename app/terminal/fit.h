// The search as the verbs `fit` and `sheet` run it.
#pragma once

#include <optional>

#include "app/terminal/arguments.h"
#include "app/terminal/console.h"
#include "core/archive/stone_file.h"
#include "core/fit/bound.h"
#include "core/fit/search.h"

namespace macle::app {

// --allowance, --seconds, --seed, --threads, --poses, --bound, --free.
std::vector<OptionSpec> searchOptions();

// Of --seconds, --poses, --seed and --threads.
FitOptions searchOptionsFrom(const Arguments& arguments);

struct FitOutcome {
    FitResult result;
    bool stopped = false;  // by the user; `result` is the best until then
    std::optional<Bound> bound;
};

// Fills in `layout.main().rules`, `layout.main().placement` and the proportions that --free names;
// `different` other placements are wanted in the result. Throws Error{Cancelled} when stopped
// before any placement was found.
FitOutcome runFit(const Arguments& arguments, const Stone& stone, Layout& layout, Console& console,
                  std::size_t different = 0);

}  // namespace macle::app
