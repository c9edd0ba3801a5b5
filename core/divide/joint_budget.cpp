#include "core/divide/joint_budget.h"

#include <algorithm>
#include <limits>

namespace macle {

JointBudget::JointBudget(const JointOptions& options, Progress* progress)
    : seconds_(options.seconds),
      poses_(options.poses),
      progress_(progress),
      begin_(std::chrono::steady_clock::now()) {}

double JointBudget::elapsed_s() const {
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin_).count();
}

bool JointBudget::late(double share) const {
    return seconds_ > 0.0 && elapsed_s() >= share * seconds_;
}

double JointBudget::left_s(double share) const {
    return seconds_ > 0.0 ? share * seconds_ - elapsed_s()
                          : std::numeric_limits<double>::infinity();
}

void JointBudget::count(long long poses) {
    const auto now = static_cast<double>(counted_ += poses);
    if (!progress_) return;
    double share = 0.0;
    if (seconds_ > 0.0) share = elapsed_s() / seconds_;
    if (poses_ > 0) share = std::max(share, now / static_cast<double>(poses_));
    progress_->advanceTo(std::min(0.999, share));
}

void JointBudget::throwIfCancelled() const {
    if (progress_) progress_->throwIfCancelled();
}

void JointBudget::passCancelOn() {
    if (progress_ && progress_->cancelled()) watched_.cancel();
}

}  // namespace macle
