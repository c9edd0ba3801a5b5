#include "core/fit/free_fit.h"

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cmath>
#include <exception>
#include <limits>
#include <set>
#include <thread>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/part_progress.h"
#include "core/cut/library.h"
#include "core/fit/free_climb.h"
#include "core/fit/starts.h"
#include "core/solid/convex_solid.h"

namespace macle {

namespace {

using Clock = std::chrono::steady_clock;
using Place = FreeClimb::Place;

constexpr double kSearchShare = 0.3;     // of time and poses, for the fit with pinned proportions
constexpr std::size_t kDifferent = 5;    // placements of it that are taken further
constexpr std::size_t kSets = 4;         // of proportions from which each is
constexpr int kClimbPoses = 150;         // at most, for one climb
constexpr std::size_t kHopsAtOnce = 16;  // whatever the number of threads
constexpr double kSamePlace = 1e-7;

class FreeSearch {
  public:
    FreeSearch(const Obstacles& obstacles, const std::string& cut,
               std::map<std::string, double> pinned, const std::vector<FacetEdit>& edits,
               const std::vector<FreeProportion>& free, const FitRules& rules,
               const FitOptions& options, Progress* progress,
               const std::function<void(const std::map<std::string, double>&)>& tell)
        : obstacles_(obstacles),
          cut_(cut),
          pinned_(std::move(pinned)),
          edits_(edits),
          free_(free),
          rules_(rules),
          options_(options),
          progress_(progress),
          tell_(tell),
          begin_(Clock::now()) {
        threads_ = options.threads > 0
                       ? options.threads
                       : std::max(1, static_cast<int>(std::thread::hardware_concurrency()));
    }

    FreeFitResult run();

  private:
    double elapsed() const { return std::chrono::duration<double>(Clock::now() - begin_).count(); }
    bool stop() const {
        return (progress_ && progress_->cancelled()) ||
               (options_.seconds > 0.0 && elapsed() >= options_.seconds);
    }
    bool spent() const { return options_.poses > 0 && poses_ >= options_.poses; }
    std::vector<std::vector<double>> startValues() const;
    void fitPinned();
    std::vector<Place> planHops();
    void climbAll(const std::vector<Place>& starts);
    void keep(const Place& place);

    const Obstacles& obstacles_;
    std::string cut_;
    std::map<std::string, double> pinned_;
    const std::vector<FacetEdit>& edits_;
    const std::vector<FreeProportion>& free_;
    FitRules rules_;
    const FitOptions& options_;
    Progress* progress_;
    const std::function<void(const std::map<std::string, double>&)>& tell_;
    Clock::time_point begin_;
    int threads_ = 1;
    std::vector<Place> waiting_;  // to be climbed from
    std::vector<Place> tops_;     // heaviest first
    Place best_;
    long long poses_ = 0;
    std::uint64_t hops_ = 0;
};

// The values given, then some spread over the ranges.
std::vector<std::vector<double>> FreeSearch::startValues() const {
    std::vector<std::vector<double>> sets(1);
    for (const FreeProportion& one : free_)
        sets[0].push_back(std::clamp(pinned_.at(one.key), one.low, one.high));
    Draw draw(mixed(options_.seed, 3, 0));
    while (sets.size() < kSets) {
        std::vector<double> values;
        for (const FreeProportion& one : free_)
            values.push_back(one.low + (one.high - one.low) * draw.unit());
        sets.push_back(std::move(values));
    }
    return sets;
}

void FreeSearch::keep(const Place& place) {
    if (!(place.side_mm > 0.0)) return;
    const auto same = [&](const Place& other) {
        return std::abs(other.side_mm - place.side_mm) < kSamePlace * place.side_mm;
    };
    if (std::none_of(tops_.begin(), tops_.end(), same)) {
        const auto lighter = [&](const Place& other) { return other.side_mm < place.side_mm; };
        tops_.insert(std::find_if(tops_.begin(), tops_.end(), lighter), place);
        if (tops_.size() > kDifferent) tops_.pop_back();
    }
    if (place.side_mm <= best_.side_mm) return;
    best_ = place;
    if (!options_.onBetter) return;
    if (tell_) {
        std::map<std::string, double> all = pinned_;
        for (std::size_t i = 0; i < free_.size(); ++i)
            all[free_[i].key] = place.values[i];
        tell_(all);
    }
    options_.onBetter({place.pose.rotation, place.pose.centre_mm, place.size_mm});
}

void FreeSearch::fitPinned() {
    FreeClimb climb(obstacles_.tree(), cut_, pinned_, edits_, free_, rules_, {});
    const std::vector<std::vector<double>> sets = startValues();
    const Design design = makeDesign(cut_, climb.proportions(sets[0]), edits_);
    const double side = std::cbrt(designVolume(design));
    const Gauge gauge(obstacles_, design, rules_);
    FitOptions pinned = options_;
    pinned.seconds = options_.seconds * kSearchShare;
    if (options_.poses > 0)
        pinned.poses = std::max<long long>(
            1, static_cast<long long>(static_cast<double>(options_.poses) * kSearchShare));
    pinned.different = kDifferent;
    pinned.onBetter = nullptr;
    PartProgress part(progress_, 0.0, kSearchShare);
    const FitResult result = findBest(gauge, pinned, &part);
    poses_ += result.poses;
    std::vector<Placement> found{result.placement};
    found.insert(found.end(), result.others.begin(), result.others.end());
    // Each from the values given, then from the others.
    for (std::size_t i = 0; i < sets.size(); ++i)
        for (const Placement& one : found) {
            Place place{{one.rotation, one.translation_mm}, sets[i], 0.0, 0.0};
            if (i == 0) {
                place.size_mm = one.size_mm;
                place.side_mm = one.size_mm * side;
                keep(place);
            }
            waiting_.push_back(std::move(place));
        }
}

void FreeSearch::climbAll(const std::vector<Place>& starts) {
    std::vector<Place> found(starts.size());
    std::vector<long long> poses(starts.size(), 0);
    std::atomic<std::size_t> next{0};
    const int workers = std::min(threads_, static_cast<int>(starts.size()));
    std::vector<std::exception_ptr> failures(static_cast<std::size_t>(workers));
    const auto work = [&](int worker) {
        try {
            FreeClimb climb(obstacles_.tree(), cut_, pinned_, edits_, free_, rules_,
                            [this] { return stop(); });
            for (std::size_t i = next++; i < starts.size() && !stop(); i = next++) {
                const long long before = climb.poses();
                Place from = starts[i];
                if (!(from.side_mm > 0.0)) from = climb.look(from.pose, from.values);
                found[i] = climb.climb(from, kClimbPoses);
                poses[i] = climb.poses() - before;
            }
        } catch (...) {
            failures[static_cast<std::size_t>(worker)] = std::current_exception();
        }
    };
    std::vector<std::thread> others;
    for (int i = 1; i < workers; ++i)
        others.emplace_back(work, i);
    work(0);
    for (std::thread& other : others)
        other.join();
    for (const std::exception_ptr& failure : failures)
        if (failure) std::rethrow_exception(failure);
    for (std::size_t i = 0; i < starts.size() && !spent(); ++i) {
        poses_ += poses[i];
        keep(found[i]);
    }
}

std::vector<Place> FreeSearch::planHops() {
    std::vector<Place> hops;
    while (hops.size() < kHopsAtOnce) {
        Draw draw(mixed(options_.seed, 4, hops_));
        std::size_t rank = 0;
        for (std::uint64_t n = hops_++; (n & 1U) != 0U && rank + 1 < tops_.size(); n >>= 1U)
            ++rank;
        Place hop = tops_[rank];
        const double spread = draw.unit() < 0.5 ? 0.05 : 0.2;
        Eigen::Matrix<double, 6, 1> step;
        for (int i = 0; i < 6; ++i)
            step[i] = 0.3 * spread * hop.size_mm * draw.normal();
        hop.pose = stepped(hop.pose, step, 0.5 * hop.size_mm);
        for (std::size_t j = 0; j < free_.size(); ++j) {
            const double range = free_[j].high - free_[j].low;
            hop.values[j] = std::clamp(hop.values[j] + spread * range * draw.normal(), free_[j].low,
                                       free_[j].high);
        }
        hop.side_mm = 0.0;
        hops.push_back(std::move(hop));
    }
    return hops;
}

FreeFitResult FreeSearch::run() {
    fitPinned();
    while (!stop() && !spent()) {
        std::vector<Place> starts;
        const std::size_t count = std::min(kHopsAtOnce, waiting_.size());
        starts.assign(waiting_.begin(), waiting_.begin() + static_cast<std::ptrdiff_t>(count));
        waiting_.erase(waiting_.begin(), waiting_.begin() + static_cast<std::ptrdiff_t>(count));
        climbAll(starts.empty() ? planHops() : starts);
        double share = 0.0;
        if (options_.seconds > 0.0) share = elapsed() / options_.seconds;
        if (options_.poses > 0)
            share =
                std::max(share, static_cast<double>(poses_) / static_cast<double>(options_.poses));
        if (progress_) progress_->advanceTo(std::min(0.999, share));
    }
    if (progress_) progress_->throwIfCancelled();
    FreeClimb climb(obstacles_.tree(), cut_, pinned_, edits_, free_, rules_, {});
    FreeFitResult result;
    const Design design = makeDesign(cut_, climb.proportions(best_.values), edits_);
    result.proportions = design.proportions;
    result.fit.placement = {best_.pose.rotation, best_.pose.centre_mm, best_.size_mm};
    const Gauge gauge(obstacles_, design, rules_);
    result.fit.limits = limitsAt(gauge, best_.pose.rotation, best_.pose.centre_mm);
    result.fit.poses = poses_;
    result.volume_mm3 = std::pow(best_.side_mm, 3);
    result.fit.seconds = elapsed();
    if (progress_) progress_->advanceTo(1.0);
    return result;
}

}  // namespace

void checkFree(const CutInfo& cut, const std::vector<FreeProportion>& free) {
    if (free.empty() || free.size() > kMostFreeProportions)
        throw Error(ErrorCode::BadUsage,
                    "Between 1 and " + std::to_string(kMostFreeProportions) +
                        " proportions can be free, not " + std::to_string(free.size()) + ".",
                    "Pin the rest to a value.");
    std::set<std::string> named;
    for (const FreeProportion& one : free) {
        const auto info =
            std::find_if(cut.proportions.begin(), cut.proportions.end(),
                         [&](const ProportionInfo& known) { return known.key == one.key; });
        if (info == cut.proportions.end())
            throw Error(ErrorCode::BadUsage,
                        "The cut " + cut.name + " has no proportion \"" + one.key + "\".",
                        "See `macle shape --list`.");
        if (!named.insert(one.key).second)
            throw Error(ErrorCode::BadUsage, "The proportion " + one.key + " is freed twice.",
                        "Give each one once.");
        if (!(one.low < one.high) || one.low < info->low || one.high > info->high)
            throw Error(ErrorCode::BadUsage,
                        "The range of " + info->label + " must lie within " +
                            formatFixed(info->low, 2) + " to " + formatFixed(info->high, 2) + " " +
                            info->unit + ", its start below its end.",
                        "Give a range such as " + formatFixed(info->low, 2) + ":" +
                            formatFixed(info->high, 2) + ".");
    }
}

FreeProportion freeAround(const ProportionInfo& info, double value) {
    constexpr double kShare = 0.05;
    const double reach = kShare * (info.high - info.low);
    return {info.key, std::max(info.low, value - reach), std::min(info.high, value + reach)};
}

FreeFitResult findBestFree(
    const Obstacles& obstacles, const std::string& cut,
    const std::map<std::string, double>& proportions, const std::vector<FacetEdit>& edits,
    const std::vector<FreeProportion>& free, const FitRules& rules, const FitOptions& options,
    Progress* progress,
    const std::function<void(const std::map<std::string, double>&)>& onBetterProportions) {
    const CutInfo& info = findCut(cut);
    checkFree(info, free);
    if (!std::isfinite(options.seconds) || (options.seconds <= 0.0 && options.poses <= 0))
        throw Error(ErrorCode::BadUsage, "The search has no end: neither seconds nor poses given.",
                    "Give a time in seconds or a number of poses.");
    return FreeSearch(obstacles, cut, completeProportions(info, proportions), edits, free, rules,
                      options, progress, onBetterProportions)
        .run();
}

}  // namespace macle
