// Progress of one long job, with cancel. Thread contract: every member may be called from any
// thread. `fraction` never goes back; `cancel` is sticky.
#pragma once

#include <atomic>
#include <functional>
#include <string>

namespace macle {

class Progress {
  public:
    Progress() = default;
    explicit Progress(std::function<void(double fraction)> onAdvance);
    Progress(const Progress&) = delete;
    Progress& operator=(const Progress&) = delete;

    void advanceTo(double fraction);  // clamped to [current, 1]
    double fraction() const { return fraction_.load(std::memory_order_relaxed); }

    void cancel() { cancelled_.store(true, std::memory_order_relaxed); }
    bool cancelled() const { return cancelled_.load(std::memory_order_relaxed); }
    void throwIfCancelled() const;  // Error{Cancelled}

  private:
    std::atomic<double> fraction_{0.0};
    std::atomic<bool> cancelled_{false};
    std::function<void(double)> onAdvance_;
};

}  // namespace macle
