// PartProgress: the progress of one part of a longer job, passed on to the whole as a share of it.
// The part is cancelled as soon as it advances after the whole was cancelled.
#pragma once

#include "core/base/progress.h"

namespace macle {

class PartProgress : public Progress {
  public:
    // `whole` may be null; then it is a progress of its own.
    PartProgress(Progress* whole, double from, double to)
        : Progress([this, whole, from, to](double fraction) {
              if (!whole) return;
              whole->advanceTo(from + (to - from) * fraction);
              if (whole->cancelled()) cancel();
          }) {}
};

}  // namespace macle
