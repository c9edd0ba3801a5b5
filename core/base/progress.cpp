#include "core/base/progress.h"

#include "core/base/error.h"

namespace macle {

Progress::Progress(std::function<void(double)> onAdvance) : onAdvance_(std::move(onAdvance)) {}

void Progress::advanceTo(double fraction) {
    if (!(fraction <= 1.0)) fraction = 1.0;
    double seen = fraction_.load(std::memory_order_relaxed);
    while (fraction > seen) {
        if (fraction_.compare_exchange_weak(seen, fraction)) {
            if (onAdvance_) onAdvance_(fraction);
            return;
        }
    }
}

void Progress::throwIfCancelled() const {
    if (cancelled())
        throw Error(ErrorCode::Cancelled, "Stopped on request.", "Nothing was changed.");
}

}  // namespace macle
