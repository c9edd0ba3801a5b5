#include "core/fit/worth_free.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <limits>

#include "core/base/error.h"
#include "core/base/parallel.h"
#include "core/base/part_progress.h"
#include "core/cut/library.h"

namespace macle {

namespace {

using Clock = std::chrono::steady_clock;

constexpr double kSearchShare = 0.5;  // of time and poses, for the largest fit
constexpr double kFirstStep = 0.25;   // of each range
constexpr double kLastStep = 0.01;
constexpr int kMostTried = 300;

struct Trial {
    std::map<std::string, double> proportions;
    Placement placement;
    double worth = -std::numeric_limits<double>::infinity();
};

class ProportionCompass {
  public:
    ProportionCompass(const Obstacles& obstacles, const std::string& cut,
                      const std::vector<FacetEdit>& edits, const std::vector<FreeProportion>& free,
                      const FitRules& rules,
                      const std::function<double(const Design&, const Placement&)>& worth,
                      int threads, std::function<bool()> stop)
        : obstacles_(obstacles),
          cut_(cut),
          edits_(edits),
          free_(free),
          rules_(rules),
          worth_(worth),
          threads_(threads),
          stop_(std::move(stop)) {}

    double judged(const Design& design, const Placement& placement) const {
        const double worth = worth_(design, placement);
        if (!std::isfinite(worth))
            throw Error(ErrorCode::BadInput, "The worth of a placement is not a finite number.",
                        "Check the figure that the search is to make largest.");
        return worth;
    }

    Trial improve(Trial here, Progress* progress) {
        double step = kFirstStep;
        while (step >= kLastStep && tried < kMostTried && !stop_()) {
            std::vector<Trial> around;
            for (const FreeProportion& one : free_)
                for (const double sign : {1.0, -1.0}) {
                    Trial next = here;
                    double& value = next.proportions.at(one.key);
                    value =
                        std::clamp(value + sign * step * (one.high - one.low), one.low, one.high);
                    if (next.proportions != here.proportions) around.push_back(std::move(next));
                }
            forEachPiece(static_cast<int>(around.size()), threads_, nullptr, [&](int i) {
                if (!stop_()) look(around[static_cast<std::size_t>(i)]);
            });
            tried += static_cast<int>(around.size());
            if (progress) progress->advanceTo(static_cast<double>(tried) / kMostTried);
            const auto best =
                std::max_element(around.begin(), around.end(),
                                 [](const Trial& a, const Trial& b) { return a.worth < b.worth; });
            if (best != around.end() && best->worth > here.worth)
                here = *best;
            else
                step *= 0.5;
        }
        return here;
    }

    int tried = 0;

  private:
    void look(Trial& trial) const {
        trial.worth = -std::numeric_limits<double>::infinity();
        try {
            const Design design = makeDesign(cut_, trial.proportions, edits_);
            const Gauge gauge(obstacles_, design, rules_);
            trial.placement = settle(gauge, trial.placement);
            if (trial.placement.size_mm > 0.0) trial.worth = judged(design, trial.placement);
        } catch (const Error& error) {
            if (error.code() != ErrorCode::BadUsage && error.code() != ErrorCode::NoSolution) throw;
        }
    }

    const Obstacles& obstacles_;
    const std::string& cut_;
    const std::vector<FacetEdit>& edits_;
    const std::vector<FreeProportion>& free_;
    const FitRules& rules_;
    const std::function<double(const Design&, const Placement&)>& worth_;
    int threads_;
    std::function<bool()> stop_;
};

}  // namespace

WorthFreeResult findWorthiestFree(
    const Obstacles& obstacles, const std::string& cut,
    const std::map<std::string, double>& proportions, const std::vector<FacetEdit>& edits,
    const std::vector<FreeProportion>& free, const FitRules& rules,
    const std::function<double(const Design&, const Placement&)>& worth, const FitOptions& options,
    Progress* progress) {
    const auto begin = Clock::now();
    const auto elapsed = [&] {
        return std::chrono::duration<double>(Clock::now() - begin).count();
    };
    const auto stop = [&] {
        return (progress && progress->cancelled()) ||
               (options.seconds > 0.0 && elapsed() >= options.seconds);
    };
    checkFree(findCut(cut), free);
    Trial start;
    start.proportions = completeProportions(findCut(cut), proportions);
    for (const FreeProportion& one : free) {
        double& value = start.proportions.at(one.key);
        value = std::clamp(value, one.low, one.high);
    }
    const Design design = makeDesign(cut, start.proportions, edits);
    FitOptions largest = options;
    largest.seconds = options.seconds * kSearchShare;
    if (options.poses > 0)
        largest.poses = std::max<long long>(
            1, static_cast<long long>(static_cast<double>(options.poses) * kSearchShare));
    largest.different = 0;
    largest.onBetter = nullptr;
    WorthFreeResult result;
    PartProgress finding(progress, 0.0, kSearchShare);
    result.fit = findBest(Gauge(obstacles, design, rules), largest, &finding);
    start.placement = result.fit.placement;

    ProportionCompass compass(obstacles, cut, edits, free, rules, worth, options.threads, stop);
    start.worth = result.before = compass.judged(design, start.placement);
    PartProgress improving(progress, kSearchShare, 1.0);
    const Trial best = compass.improve(start, &improving);
    if (progress) progress->throwIfCancelled();
    result.proportions = best.proportions;
    result.worth = best.worth;
    result.tried = compass.tried;
    result.fit.placement = best.placement;
    result.fit.others.clear();
    const Gauge gauge(obstacles, makeDesign(cut, best.proportions, edits), rules);
    result.fit.limits = limitsAt(gauge, best.placement.rotation, best.placement.translation_mm);
    result.fit.seconds = elapsed();
    if (progress) progress->advanceTo(1.0);
    return result;
}

}  // namespace macle
