// Time and poses of a joint search, and how a cancel reaches all that runs in it. Private to
// divide.
#pragma once

#include <atomic>
#include <chrono>
#include <condition_variable>
#include <mutex>
#include <thread>

#include "core/base/progress.h"
#include "core/divide/joint_search.h"

namespace macle {

// Poses and time of the whole search. Any thread.
class JointBudget {
  public:
    JointBudget(const JointOptions& options, Progress* progress);

    bool timed() const { return poses_ <= 0; }
    // Whether the time until this share of the whole is over; never without a limit by time.
    bool late(double share) const;
    double left_s(double share) const;
    double elapsed_s() const;
    void count(long long poses);
    long long counted() const { return counted_.load(); }
    long long most() const { return poses_; }
    // Throws Error{Cancelled}.
    void throwIfCancelled() const;
    // What searches are to watch: cancelled with the whole.
    Progress& watched() { return watched_; }
    void passCancelOn();

  private:
    double seconds_;
    long long poses_;
    Progress* progress_;
    Progress watched_;
    std::chrono::steady_clock::time_point begin_;
    std::atomic<long long> counted_{0};
};

// Cancels what the searches watch as soon as the whole is cancelled.
class JointRelay {
  public:
    explicit JointRelay(JointBudget& budget)
        : thread_([this, &budget] {
              std::unique_lock lock(mutex_);
              while (!done_) {
                  budget.passCancelOn();
                  wake_.wait_for(lock, std::chrono::milliseconds(10));
              }
          }) {}
    ~JointRelay() {
        {
            const std::lock_guard lock(mutex_);
            done_ = true;
        }
        wake_.notify_all();
        thread_.join();
    }
    JointRelay(const JointRelay&) = delete;
    JointRelay& operator=(const JointRelay&) = delete;

  private:
    std::mutex mutex_;
    std::condition_variable wake_;
    bool done_ = false;
    std::thread thread_;
};

}  // namespace macle
