#include "core/fit/worth_fit.h"

#include <algorithm>
#include <array>
#include <atomic>
#include <chrono>
#include <cmath>
#include <exception>
#include <limits>
#include <thread>

#include "core/base/error.h"
#include "core/base/part_progress.h"
#include "core/fit/local_fit.h"

namespace macle {

namespace {

using Clock = std::chrono::steady_clock;

constexpr double kSearchShare = 0.5;    // of time and poses, for the distinct fits
constexpr std::size_t kDifferent = 12;  // of them
constexpr int kAxes = 7;                // centre, turn, share of the largest size
constexpr double kFirstStep = 0.04;     // of the size
constexpr double kLastStep = 5e-4;      // of the size
constexpr double kSmallest = 0.6;       // share of the largest size that is still looked at

struct Trial {
    Pose pose;
    double share = 1.0;  // of the largest size at the pose
    Placement placement;
    double worth = -std::numeric_limits<double>::infinity();
};

class Compass {
  public:
    Compass(const Gauge& gauge, const std::function<double(const Placement&)>& worth,
            std::function<bool()> stop)
        : gauge_(gauge), worth_(worth), stop_(std::move(stop)) {}

    Trial look(const Pose& pose, double share) {
        Trial trial{pose, share, {}, -std::numeric_limits<double>::infinity()};
        ++poses;
        const GaugeAnswer answer = gauge_.largest(pose.rotation, pose.centre_mm, warm_);
        if (answer.source < 0 || !(answer.size_mm > 0.0)) return trial;
        warm_ = answer.triangle;
        trial.placement = {pose.rotation, pose.centre_mm, share * answer.size_mm};
        trial.worth = worth_(trial.placement);
        if (!std::isfinite(trial.worth))
            throw Error(ErrorCode::BadInput, "The worth of a placement is not a finite number.",
                        "Check the figure that the search is to make largest.");
        return trial;
    }

    Trial improve(Trial here) {
        double step = kFirstStep;
        while (step >= kLastStep && !stop_()) {
            Trial best = here;
            for (int axis = 0; axis < kAxes && !stop_(); ++axis)
                for (const double sign : {1.0, -1.0}) {
                    Eigen::Matrix<double, 6, 1> move = Eigen::Matrix<double, 6, 1>::Zero();
                    double share = here.share;
                    if (axis < 6)
                        move[axis] = sign * step * here.placement.size_mm;
                    else
                        share = std::clamp(share + sign * step, kSmallest, 1.0);
                    if (axis == 6 && share == here.share) continue;
                    const Trial next =
                        look(stepped(here.pose, move, 0.5 * here.placement.size_mm), share);
                    if (next.worth > best.worth) best = next;
                }
            if (best.worth > here.worth)
                here = best;
            else
                step *= 0.5;
        }
        return here;
    }

    long long poses = 0;

  private:
    const Gauge& gauge_;
    const std::function<double(const Placement&)>& worth_;
    std::function<bool()> stop_;
    int warm_ = -1;
};

}  // namespace

WorthFitResult findWorthiest(const Gauge& gauge,
                             const std::function<double(const Placement&)>& worth,
                             const FitOptions& options, Progress* progress) {
    const auto begin = Clock::now();
    const auto stop = [&] {
        return (progress && progress->cancelled()) ||
               (options.seconds > 0.0 &&
                std::chrono::duration<double>(Clock::now() - begin).count() >= options.seconds);
    };
    FitOptions distinct = options;
    distinct.seconds = options.seconds * kSearchShare;
    if (options.poses > 0)
        distinct.poses = std::max<long long>(
            1, static_cast<long long>(static_cast<double>(options.poses) * kSearchShare));
    distinct.different = kDifferent;
    distinct.onBetter = nullptr;
    WorthFitResult result;
    PartProgress part(progress, 0.0, kSearchShare);
    result.fit = findBest(gauge, distinct, &part);
    std::vector<Placement> found{result.fit.placement};
    found.insert(found.end(), result.fit.others.begin(), result.fit.others.end());

    Compass judge(gauge, worth, [] { return false; });
    std::vector<Trial> trials;
    for (const Placement& one : found)
        trials.push_back(judge.look({one.rotation, one.translation_mm}, 1.0));
    result.heaviest = trials.front().worth;
    const auto better = [](const Trial& a, const Trial& b) { return a.worth > b.worth; };
    std::stable_sort(trials.begin(), trials.end(), better);

    // All are improved; when the poses are limited, only as many as they last for, in their order.
    std::vector<long long> poses(trials.size(), 0);
    std::vector<Trial> improved = trials;
    std::atomic<std::size_t> next{0};
    int threads = options.threads > 0 ? options.threads
                                      : static_cast<int>(std::thread::hardware_concurrency());
    threads = std::clamp(threads, 1, static_cast<int>(trials.size()));
    std::vector<std::exception_ptr> failures(static_cast<std::size_t>(threads));
    const auto work = [&](int worker) {
        try {
            for (std::size_t i = next++; i < trials.size() && !stop(); i = next++) {
                Compass compass(gauge, worth, stop);
                improved[i] = compass.improve(trials[i]);
                poses[i] = compass.poses;
            }
        } catch (...) {
            failures[static_cast<std::size_t>(worker)] = std::current_exception();
        }
    };
    std::vector<std::thread> workers;
    for (int i = 1; i < threads; ++i)
        workers.emplace_back(work, i);
    work(0);
    for (std::thread& worker : workers)
        worker.join();
    for (const std::exception_ptr& failure : failures)
        if (failure) std::rethrow_exception(failure);
    if (progress) progress->throwIfCancelled();

    result.fit.poses += judge.poses;
    for (std::size_t i = 0; i < improved.size(); ++i) {
        if (options.poses > 0 && result.fit.poses >= options.poses && i > 0) break;
        result.fit.poses += poses[i];
        trials[i] = improved[i];
    }
    std::stable_sort(trials.begin(), trials.end(), better);
    result.worth = trials.front().worth;
    result.fit.placement = trials.front().placement;
    result.fit.others.clear();
    for (std::size_t i = 1; i < trials.size(); ++i)
        result.fit.others.push_back(trials[i].placement);
    result.fit.limits.clear();  // one that is smaller than it could be is stopped by nothing
    if (trials.front().share == 1.0)
        result.fit.limits =
            limitsAt(gauge, result.fit.placement.rotation, result.fit.placement.translation_mm);
    result.fit.seconds = std::chrono::duration<double>(Clock::now() - begin).count();
    if (progress) progress->advanceTo(1.0);
    return result;
}

}  // namespace macle
