#include "core/fit/search.h"

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cmath>
#include <memory>
#include <numbers>
#include <optional>
#include <thread>

#include "core/base/error.h"
#include "core/fit/bound_shape.h"
#include "core/fit/likeness.h"
#include "core/fit/local_fit.h"
#include "core/fit/starts.h"

namespace macle {

namespace {

using Clock = std::chrono::steady_clock;
using Eigen::Vector3d;
using Place = LocalFit::Place;

constexpr std::size_t kFlats = 6;  // flat parts of the skin that the table is laid on first
constexpr int kSpins = 3;          // turns about the axis tried with each

// One piece of work. Its outcome depends on itself alone, so that any thread may do it.
struct Task {
    enum class Kind { Screen, Refine, Hop } kind = Kind::Screen;
    std::uint64_t number = 0;                 // of the draw (Hop)
    Eigen::Quaterniond rotation{1, 0, 0, 0};  // Screen
    Place from;                               // Refine, Hop
    double aim_mm = 0.0;                      // a climb that cannot come near this is given up
};

struct Outcome {
    std::vector<Place> places;  // Screen: promising ones; else the optimum
    long long poses = 0;
};

Climb screening() {
    Climb rules;
    rules.turning = false;
    rules.firstStep = 0.1;
    rules.lastStep = 5e-3;
    rules.leastGain = 3e-3;
    rules.mostPoses = 24;
    return rules;
}

Climb refining(double aim_mm) {
    Climb rules;
    rules.firstStep = 0.08;
    rules.lastStep = 1e-6;
    rules.leastGain = 1e-7;
    rules.mostPoses = 200;
    rules.aim_mm = aim_mm;
    rules.aimShare = 0.02;
    return rules;
}

Climb polishing() {
    Climb rules;
    rules.firstStep = 1e-3;
    rules.lastStep = 1e-9;
    rules.leastGain = 1e-12;
    rules.mostPoses = 400;
    return rules;
}

Outcome screen(LocalFit& fit, const Task& task, const std::vector<Eigen::Vector3d>& centres) {
    Outcome outcome;
    Pose pose;
    pose.rotation = task.rotation;
    std::vector<Place> seen;
    for (const Eigen::Vector3d& centre : centres) {
        pose.centre_mm = centre;
        const Place place = fit.look(pose);
        if (place.triangle >= 0) seen.push_back(place);
    }
    std::stable_sort(seen.begin(), seen.end(),
                     [](const Place& a, const Place& b) { return a.size_mm > b.size_mm; });
    if (seen.size() > 2) seen.resize(2);
    for (const Place& place : seen)
        outcome.places.push_back(fit.climb(place, screening()));
    return outcome;
}

Outcome hop(LocalFit& fit, const Task& task, std::uint64_t seed) {
    Outcome outcome;
    Draw draw(mixed(seed, 2, task.number));
    Pose pose = task.from.pose;
    const double kind = draw.unit();
    const double spread = kind < 0.4 ? 0.07 : (kind < 0.75 ? 0.2 : 0.5);
    Eigen::Vector3d turn(draw.normal(), draw.normal(), draw.normal());
    turn *= spread;
    // The spin about the design's own axis is the loosest of the turns.
    const Eigen::Vector3d axis = pose.rotation * Eigen::Vector3d::UnitZ();
    turn += axis * (0.5 * draw.normal());
    if (turn.norm() > 0.0)
        pose.rotation =
            (Eigen::Quaterniond(Eigen::AngleAxisd(turn.norm(), turn.normalized())) * pose.rotation)
                .normalized();
    pose.centre_mm += 0.5 * spread * task.from.size_mm *
                      Eigen::Vector3d(draw.normal(), draw.normal(), draw.normal()) * 0.5;
    Place start = fit.look(pose);
    if (start.triangle < 0) {
        pose.centre_mm = task.from.pose.centre_mm;
        start = fit.look(pose);
    }
    if (start.triangle < 0) return outcome;
    Climb rules = refining(task.aim_mm);
    rules.firstStep = 0.05;
    outcome.places.push_back(fit.climb(start, rules));
    return outcome;
}

class Search {
  public:
    Search(const Gauge& gauge, const FitOptions& options, Progress* progress)
        : gauge_(gauge),
          tree_(gauge.obstacles().tree()),
          options_(options),
          progress_(progress),
          begin_(Clock::now()),
          symmetry_(findSymmetry(gauge.design())) {
        threads_ = options.threads > 0 ? options.threads
                                       : static_cast<int>(std::thread::hardware_concurrency());
        threads_ = std::clamp(threads_, 1, 256);
        // More are kept than asked for: some grow into one another when they are polished.
        if (options.different > 0)
            different_.emplace(std::make_shared<Likeness>(gauge.design()), kClearlyDifferent,
                               2 * options.different + 2);
    }

    FitResult run();

  private:
    double elapsed() const { return std::chrono::duration<double>(Clock::now() - begin_).count(); }
    bool cancelled() const { return progress_ && progress_->cancelled(); }
    bool stop() const {
        return cancelled() || (options_.seconds > 0.0 && elapsed() >= options_.seconds);
    }
    bool spent() const { return options_.poses > 0 && poses_ >= options_.poses; }

    void planFirstTurns();
    std::vector<Task> planRound(int round);
    std::vector<Outcome> perform(const std::vector<Task>& tasks);
    void merge(const std::vector<Task>& tasks, const std::vector<Outcome>& outcomes);
    void keep(const Place& place);
    void report();
    void tryStarts();
    std::vector<Placement> differentPlacements();

    const Gauge& gauge_;
    const ObstacleTree& tree_;
    const FitOptions& options_;
    Progress* progress_;
    Clock::time_point begin_;
    int threads_ = 1;

    std::vector<Eigen::Vector3d> centres_;
    std::vector<Place> waiting_;  // screened, not yet refined; best first
    std::vector<Place> optima_;   // distinct, best first
    std::optional<DifferentPlaces> different_;
    DesignSymmetry symmetry_;
    std::vector<Eigen::Quaterniond> firstTurns_;
    Place best_;
    long long poses_ = 0;
    std::uint64_t screened_ = 0;
    std::size_t turned_ = 0;
    std::uint64_t hops_ = 0;
};

void Search::planFirstTurns() {
    std::vector<Eigen::Vector3d> tables;
    for (const Eigen::Vector3d& direction : options_.tableDirections)
        if (direction.allFinite() && direction.norm() > 0.5)
            tables.push_back(direction.normalized());
    const std::vector<Eigen::Vector3d> flats = flatDirections(tree_, kFlats);
    tables.insert(tables.end(), flats.begin(), flats.end());
    for (int spin = 0; spin < kSpins; ++spin)
        for (const Eigen::Vector3d& table : tables) {
            const double turn = 2.0 * std::numbers::pi * spin / (kSpins * symmetry_.order);
            firstTurns_.push_back(Eigen::Quaterniond::FromTwoVectors(Vector3d::UnitZ(), table) *
                                  Eigen::AngleAxisd(turn, Vector3d::UnitZ()));
        }
}

std::vector<Task> Search::planRound(int round) {
    std::vector<Task> tasks;
    const int screens = round == 0 ? 8 : 16;
    for (int i = 0; i < screens; ++i) {
        Task task;
        // Every other one a direction that the stone suggests, as long as there are any.
        if (i % 2 == 1 && turned_ < firstTurns_.size())
            task.rotation = firstTurns_[turned_++];
        else
            task.rotation = spreadRotation(screened_++, options_.seed);
        tasks.push_back(task);
    }
    const double aim = best_.triangle >= 0 ? best_.size_mm * 1.000001 : 0.0;
    for (int i = 0; i < 8 && !waiting_.empty(); ++i) {
        Task task;
        task.kind = Task::Kind::Refine;
        task.from = waiting_.front();
        task.aim_mm = aim * 0.97;
        waiting_.erase(waiting_.begin());
        tasks.push_back(task);
    }
    if (!optima_.empty() && round > 2)
        for (int i = 0; i < 12; ++i) {
            Task task;
            task.kind = Task::Kind::Hop;
            task.number = hops_++;
            // The best gets every other hop, the second every fourth, and so on.
            std::size_t rank = 0;
            for (std::uint64_t n = task.number; (n & 1U) != 0U && rank < 7; n >>= 1U)
                ++rank;
            task.from = optima_[std::min(rank, optima_.size() - 1)];
            task.aim_mm = aim * 0.99;
            tasks.push_back(task);
        }
    return tasks;
}

std::vector<Outcome> Search::perform(const std::vector<Task>& tasks) {
    std::vector<Outcome> outcomes(tasks.size());
    std::atomic<std::size_t> next{0};
    const auto work = [&] {
        LocalFit fit(gauge_, [this] { return stop(); });
        for (std::size_t i = next++; i < tasks.size(); i = next++) {
            if (stop()) return;
            const long long before = fit.poses();
            switch (tasks[i].kind) {
                case Task::Kind::Screen:
                    outcomes[i] = screen(fit, tasks[i], centres_);
                    break;
                case Task::Kind::Refine:
                    outcomes[i].places.push_back(
                        fit.climb(tasks[i].from, refining(tasks[i].aim_mm)));
                    break;
                case Task::Kind::Hop:
                    outcomes[i] = hop(fit, tasks[i], options_.seed);
                    break;
            }
            outcomes[i].poses = fit.poses() - before;
        }
    };
    std::vector<std::thread> helpers;
    const int count = std::min<int>(threads_, static_cast<int>(tasks.size()));
    for (int i = 1; i < count; ++i)
        helpers.emplace_back(work);
    work();
    for (std::thread& helper : helpers)
        helper.join();
    return outcomes;
}

void Search::keep(const Place& place) {
    if (place.triangle < 0) return;
    if (different_) different_->add(place);
    // The same optimum, or its twin by a symmetry of the design.
    for (Place& known : optima_)
        if (std::abs(known.size_mm - place.size_mm) < 1e-5 * known.size_mm &&
            (known.pose.centre_mm - place.pose.centre_mm).norm() < 1e-3 * known.size_mm) {
            if (place.size_mm > known.size_mm) known = place;
            return;
        }
    optima_.push_back(place);
}

void Search::report() {
    if (!options_.onBetter || best_.size_mm <= 0.0) return;
    Placement placement;
    placement.rotation = best_.pose.rotation;
    placement.translation_mm = best_.pose.centre_mm;
    placement.size_mm = best_.size_mm;
    options_.onBetter(placement);
}

void Search::merge(const std::vector<Task>& tasks, const std::vector<Outcome>& outcomes) {
    const double before = best_.triangle >= 0 ? best_.size_mm : 0.0;
    for (std::size_t i = 0; i < tasks.size() && !spent(); ++i) {
        poses_ += outcomes[i].poses;
        for (const Place& place : outcomes[i].places) {
            if (place.triangle < 0) continue;
            if (tasks[i].kind == Task::Kind::Screen)
                waiting_.push_back(place);
            else
                keep(place);
            if (best_.triangle < 0 || place.size_mm > best_.size_mm) best_ = place;
        }
    }
    const auto larger = [](const Place& a, const Place& b) { return a.size_mm > b.size_mm; };
    std::stable_sort(waiting_.begin(), waiting_.end(), larger);
    if (waiting_.size() > 200) waiting_.resize(200);
    std::stable_sort(optima_.begin(), optima_.end(), larger);
    if (optima_.size() > 12) optima_.resize(12);
    if (best_.triangle >= 0 && best_.size_mm > before) report();
    if (progress_) {
        double share = 0.0;
        if (options_.seconds > 0.0) share = elapsed() / options_.seconds;
        if (options_.poses > 0)
            share = std::max(share, static_cast<double>(poses_) / options_.poses);
        progress_->advanceTo(std::min(0.999, share));
    }
}

void Search::tryStarts() {
    LocalFit fit(gauge_, [this] { return cancelled(); });
    for (const Placement& start : options_.starts) {
        if (!start.rotation.coeffs().allFinite() || !(start.rotation.norm() > 0.5)) continue;
        const Place place = fit.look({start.rotation.normalized(), start.translation_mm});
        if (place.triangle < 0) continue;
        const Place refined = fit.climb(place, refining(0.0));
        keep(refined);
        if (best_.triangle < 0 || refined.size_mm > best_.size_mm) best_ = refined;
    }
    poses_ += fit.poses();
    report();
}

std::vector<Placement> Search::differentPlacements() {
    std::vector<Placement> others;
    if (!different_) return others;
    LocalFit fit(gauge_, [this] { return cancelled(); });
    const auto likeness = std::make_shared<Likeness>(gauge_.design());
    DifferentPlaces polished(likeness, kClearlyDifferent, options_.different + 1);
    polished.add(best_);
    for (const Place& place : different_->places())
        polished.add(fit.climb(place, refining(0.0)));
    poses_ += fit.poses();
    for (const Place& place : polished.places())
        if (likeness->apart(place, best_) >= kClearlyDifferent)
            others.push_back({place.pose.rotation, place.pose.centre_mm, place.size_mm});
    if (others.size() > options_.different) others.resize(options_.different);
    return others;
}

FitResult Search::run() {
    if (progress_) progress_->throwIfCancelled();
    tryStarts();
    planFirstTurns();
    // Centres are found whatever the time left, for without one there is no answer at all.
    centres_ = roomyCentres(
        tree_, options_.seed, [this] { return cancelled(); }, [this] { return stop(); },
        gauge_.walls(), gauge_.wallTree());
    if (progress_) progress_->throwIfCancelled();
    for (int round = 0; !spent(); ++round) {
        if (round > 0 && stop()) break;
        if (centres_.empty()) break;
        const std::vector<Task> tasks = planRound(round);
        merge(tasks, perform(tasks));
        if (progress_) progress_->throwIfCancelled();
    }
    if (best_.triangle < 0 && !centres_.empty()) {  // not even one round in the time given
        LocalFit fit(gauge_, [this] { return cancelled(); });
        Pose pose;
        pose.centre_mm = centres_.front();
        best_ = fit.look(pose);
        poses_ += fit.poses();
    }
    if (best_.triangle >= 0) {
        LocalFit fit(gauge_, [this] { return cancelled(); });
        const Place polished = fit.climb(best_, polishing());
        poses_ += fit.poses();
        if (progress_) progress_->throwIfCancelled();
        if (polished.size_mm > best_.size_mm) {
            best_ = polished;
            report();
        }
    }
    if (best_.triangle < 0 || best_.size_mm <= 0.0)
        throw Error(ErrorCode::NoSolution, "No placement of this cut fits into the rough.",
                    "Lower the polishing allowance, or let more of the defects stay.");
    FitResult result;
    result.placement.rotation = best_.pose.rotation;
    result.placement.translation_mm = best_.pose.centre_mm;
    result.placement.size_mm = best_.size_mm;
    result.limits = limitsAt(gauge_, best_.pose.rotation, best_.pose.centre_mm);
    result.others = differentPlacements();
    if (progress_) progress_->throwIfCancelled();
    result.poses = poses_;
    result.seconds = elapsed();
    if (progress_) progress_->advanceTo(1.0);
    return result;
}

}  // namespace

FitResult findBest(const Gauge& gauge, const FitOptions& options, Progress* progress) {
    if (!std::isfinite(options.seconds) || (options.seconds <= 0.0 && options.poses <= 0))
        throw Error(ErrorCode::BadUsage, "The search has no end: neither seconds nor poses given.",
                    "Give a time in seconds or a number of poses.");
    if (options.threads < 0)
        throw Error(ErrorCode::BadUsage, "The number of threads is below zero.",
                    "Give 0 for all the machine has, or a number above.");
    return Search(gauge, options, progress).run();
}

namespace {

Placement settleBy(const Climb& rules, const Gauge& gauge, const Placement& start,
                   Progress* progress, long long* poses) {
    if (!start.rotation.coeffs().allFinite() || !(start.rotation.norm() > 0.5))
        throw Error(ErrorCode::BadUsage, "The rotation of the placement is not a unit quaternion.",
                    "Give four finite numbers whose squares sum to 1.");
    LocalFit fit(gauge, [progress] { return progress && progress->cancelled(); });
    Pose pose{start.rotation.normalized(), start.translation_mm};
    const Place from = fit.look(pose);
    if (from.triangle < 0)
        throw Error(ErrorCode::NoSolution,
                    "The middle of the stone lies outside the rough or inside a defect.",
                    "Move it to sound material first.");
    const Place place = fit.climb(from, rules);
    if (poses) *poses += fit.poses();
    if (progress) progress->throwIfCancelled();
    Placement settled;
    settled.rotation = place.pose.rotation;
    settled.translation_mm = place.pose.centre_mm;
    settled.size_mm = place.size_mm;
    return settled;
}

}  // namespace

Placement settle(const Gauge& gauge, const Placement& start, Progress* progress, long long* poses) {
    Climb rules = refining(0.0);
    rules.firstStep = 0.03;
    rules.lastStep = 1e-9;
    rules.leastGain = 1e-10;
    return settleBy(rules, gauge, start, progress, poses);
}

Placement settleRoughly(const Gauge& gauge, const Placement& start, Progress* progress,
                        long long* poses) {
    Climb rules = refining(0.0);
    rules.firstStep = 0.03;
    rules.lastStep = 1e-4;
    rules.leastGain = 1e-5;
    rules.mostPoses = 60;
    return settleBy(rules, gauge, start, progress, poses);
}

}  // namespace macle
