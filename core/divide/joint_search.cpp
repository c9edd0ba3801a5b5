#include "core/divide/joint_search.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/parallel.h"
#include "core/divide/joint_plan.h"
#include "core/solid/separation.h"

namespace macle {

namespace {

constexpr double kApart = 0.15;           // of the size: how differently layouts must use the rough
constexpr double kFirstStep = 0.05;       // of a stone's size, by which saws are moved first
constexpr double kFineStep = 0.01;        // and after the stones were sought anew
constexpr double kWorthAgain = 1e-5;      // share of the worth, for which saws are moved once more
constexpr std::size_t kFirstStones = 8;   // single stones that others are sought beside
constexpr std::size_t kCarried = 3;       // divisions that the next stone is added to
constexpr std::size_t kImproved = 6;      // of those begun, whose saws are moved
constexpr long long kLeastForSaws = 500;  // poses, below which moving a plan's saws leads nowhere
constexpr int kIdleRounds = 4;            // of kicks without a gain, after which a search may end
constexpr std::size_t kTogether = 16;     // starts, after which the best so far is told
constexpr int kFewest = 4;                // starts that are tried whatever the time

// Shares of time or poses: until when, and of the poses how many.
constexpr double kSinglesUntil = 0.1;
constexpr double kBuiltUntil = 0.7;
constexpr double kKickedUntil = 0.85;
constexpr double kStartsOfLevel = 0.45;  // the rest moves saws

void check(const Stone& stone, const JointRules& rules, const JointOptions& options) {
    if (rules.stones.size() < 2 || rules.stones.size() > kMostStones)
        throw Error(ErrorCode::BadUsage,
                    std::to_string(rules.stones.size()) + " stones cannot be sought together.",
                    "Ask for 2 to " + std::to_string(kMostStones) + ".");
    for (const std::vector<std::size_t>& cuts : rules.stones) {
        if (cuts.empty())
            throw Error(ErrorCode::BadUsage, "A stone that is wanted has no cut.",
                        "Name the cuts it may have.");
        for (const std::size_t cut : cuts)
            if (cut >= rules.cuts.size())
                throw Error(ErrorCode::BadUsage, "A stone is wanted in a cut that is not given.",
                            "Give its cut.");
    }
    if (!(rules.kerf_mm >= 0.0) || !std::isfinite(rules.kerf_mm) ||
        (rules.exit_mm && !(*rules.exit_mm >= 0.0 && *rules.exit_mm <= rules.kerf_mm)))
        throw Error(ErrorCode::BadUsage, "The kerf is not a width, or a V widens to its exit.",
                    "Give 0 mm or more, and an exit width no larger.");
    if (rules.mechanical && !stone.axes)
        throw Error(ErrorCode::BadUsage,
                    "A mechanical saw follows cube and dodecahedron planes, but the crystal's axes "
                    "are not known.",
                    "Give the axes of the stone, or saw with a laser.");
    if (!std::isfinite(options.seconds) || (options.seconds <= 0.0 && options.poses <= 0))
        throw Error(ErrorCode::BadUsage, "The search has no end: neither seconds nor poses given.",
                    "Give a time in seconds or a number of poses.");
    if (options.threads < 0)
        throw Error(ErrorCode::BadUsage, "The number of threads is below zero.",
                    "Give 0 for all the machine has, or a number above.");
}

bool moreWorth(const JointPlan& a, const JointPlan& b) {
    return a.worth() > b.worth();
}

class Joint {
  public:
    Joint(const Stone& stone, const RoughCutter& cutter, const JointRules& rules,
          const StoneWorth& worth, const JointOptions& options, JointBudget& budget)
        : stone_(stone),
          cutter_(cutter),
          rules_(rules),
          options_(options),
          budget_(budget),
          desk_(stone, rules, worth, budget),
          least_(rules.fewer ? 2 : rules.stones.size()) {}

    JointResult run() {
        std::vector<JointPlan> plans = singles();
        JointResult result;
        if (!plans.empty()) result.single = plans.front().worth();
        const std::size_t wanted = rules_.stones.size();
        for (std::size_t count = 2; count <= wanted && !plans.empty(); ++count) {
            const double until = kSinglesUntil + (kBuiltUntil - kSinglesUntil) *
                                                     static_cast<double>(count - 1) /
                                                     static_cast<double>(wanted - 1);
            plans = withOneMore(plans, until, 1.0 / static_cast<double>(wanted - 1));
            offer(plans);
        }
        kick();
        finish(result);
        result.poses = budget_.counted();
        result.seconds = budget_.elapsed_s();
        return result;
    }

  private:
    std::size_t keep() const { return std::max<std::size_t>(2 * options_.different, kImproved); }
    long long part(double share) const {
        // A search by time takes what it needs, and ends by time.
        constexpr long long kPlenty = 600000;
        return static_cast<long long>(
            share * static_cast<double>(budget_.timed() ? kPlenty : budget_.most()));
    }

    // The pieces of a job on all threads; each counts its own poses.
    void each(std::size_t pieces, const std::function<void(std::size_t, long long&)>& work) const {
        forEachPiece(static_cast<int>(pieces), options_.threads, &budget_.watched(), [&](int i) {
            long long poses = 0;
            work(static_cast<std::size_t>(i), poses);
        });
        budget_.throwIfCancelled();
    }

    // The most worth ones, clearly different.
    void thinOut(std::vector<JointPlan>& plans, std::size_t most) const {
        std::stable_sort(plans.begin(), plans.end(), moreWorth);
        std::vector<JointPlan> kept;
        for (JointPlan& plan : plans) {
            if (kept.size() >= most) break;
            if (std::all_of(kept.begin(), kept.end(), [&](const JointPlan& known) {
                    return desk_.apart(known, plan) >= kApart;
                }))
                kept.push_back(std::move(plan));
        }
        plans = std::move(kept);
    }

    std::vector<JointPlan> singles() {
        struct Kind {
            int wanted;
            std::size_t cut;
        };
        std::vector<Kind> kinds;
        for (const int wanted : missingFrom(rules_, {}))
            for (const std::size_t cut : rules_.stones[static_cast<std::size_t>(wanted)])
                kinds.push_back({wanted, cut});
        std::vector<std::vector<JointLeaf>> found(kinds.size());
        const long long poses = std::clamp<long long>(
            part(kSinglesUntil) / static_cast<long long>(kinds.size()), 100, 4000);
        each(kinds.size(), [&](std::size_t i, long long& counted) {
            found[i] =
                desk_.singles(kinds[i].wanted, kinds[i].cut, poses, 3, kSinglesUntil, counted);
        });
        // The best of every kind first, then the others by worth.
        std::vector<JointPlan> best, others;
        for (const std::vector<JointLeaf>& leaves : found)
            for (std::size_t i = 0; i < leaves.size(); ++i)
                (i == 0 ? best : others).push_back({{}, {leaves[i]}});
        std::stable_sort(best.begin(), best.end(), moreWorth);
        std::stable_sort(others.begin(), others.end(), moreWorth);
        best.insert(best.end(), others.begin(), others.end());
        if (best.size() > kFirstStones) best.resize(kFirstStones);
        return best;
    }

    std::vector<JointPlan> withOneMore(const std::vector<JointPlan>& plans, double until,
                                       double levelShare) {
        const double level = levelShare * (kBuiltUntil - kSinglesUntil);
        std::vector<std::vector<JointStart>> kinds;
        for (std::size_t i = 0; i < plans.size(); ++i) {
            if (plans[i].saws.empty() ? i >= kFirstStones : i >= kCarried) break;
            // Beside the best in every direction, beside the others where there is most room.
            kinds.push_back(extensions(desk_, plans[i], i == 0 ? 40 : 10));
        }
        std::vector<JointStart> starts = inTurn(std::move(kinds));
        // A search is not over sooner, however few poses it is given.
        constexpr long long kLeastPoses = 250;
        const long long forStarts = part(kStartsOfLevel * level);
        const auto most =
            static_cast<std::size_t>(std::max<long long>(kFewest, forStarts / kLeastPoses));
        if (starts.size() > most) starts.resize(most);
        if (starts.empty()) return {};
        const long long poses = std::clamp<long long>(
            forStarts / static_cast<long long>(starts.size()), kLeastPoses, 400);
        const double startsUntil = until - (1.0 - kStartsOfLevel) * level;
        std::vector<JointPlan> begun(starts.size());
        for (std::size_t from = 0; from < starts.size(); from += kTogether) {
            each(std::min(kTogether, starts.size() - from), [&](std::size_t i, long long& counted) {
                i += from;
                if (i >= kFewest && budget_.late(startsUntil)) return;
                begun[i] = sought(starts[i], poses, startsUntil, i, counted);
            });
            offer({*std::min_element(begun.begin(), begun.end(), moreWorth)});
        }
        std::erase_if(begun, [](const JointPlan& plan) { return plan.leaves.empty(); });
        // Many a little, the best of them as far as it goes.
        const double half = 0.5 * (1.0 - kStartsOfLevel) * level;
        const auto many = static_cast<std::size_t>(
            std::clamp<long long>(part(half) / kLeastForSaws, 2, kImproved));
        thinOut(begun, many);
        offer(begun);
        moveSaws(begun, part(half), until - half, 11);
        thinOut(begun, keep());
        offer(begun);
        std::vector<JointPlan> best = begun;
        if (best.size() > many / 2) best.resize(many / 2);
        moveSaws(best, part(half), until, 16);
        begun.insert(begun.end(), best.begin(), best.end());
        thinOut(begun, keep());
        return begun;
    }

    // To whoever waits for the best so far.
    void offer(const std::vector<JointPlan>& plans) {
        if (plans.empty() || plans.front().leaves.size() < least_) return;
        pool_.insert(pool_.end(), plans.begin(), plans.end());
        thinOut(pool_, keep());
        tellBest();
    }

    void moveSaws(std::vector<JointPlan>& plans, long long poses, double until,
                  std::uint64_t purpose) const {
        if (plans.empty()) return;
        const long long forEach = poses / static_cast<long long>(plans.size());
        std::vector<JointPlan> better = plans;
        each(plans.size(), [&](std::size_t i, long long& counted) {
            better[i] = improved(desk_, plans[i], kFirstStep, forEach, until,
                                 mixed(options_.seed, purpose, i), counted);
        });
        plans = std::move(better);
    }

    JointPlan sought(const JointStart& start, long long poses, double until, std::size_t number,
                     long long& counted) const {
        JointPlan plan = start.plan;
        const std::vector<PieceWalls> pieces = desk_.walls(plan.saws);
        for (const int open : start.open) {
            JointDesk::Seek how;
            how.poses = poses / static_cast<long long>(start.open.size());
            how.seed = mixed(options_.seed, 10, number);
            how.share = until;
            const auto p = static_cast<std::size_t>(open);
            if (!desk_.seek(pieces[p], plan.leaves[p], how, counted)) return {};
        }
        return plan;
    }

    // Kicks of the best, while there is time or poses left.
    void kick() {
        const std::size_t tasks = 4;
        const long long most = std::max<long long>(200, part(0.02));
        for (int round = 0, idle = 0; !pool_.empty() && idle < kIdleRounds; ++round) {
            if (budget_.late(kKickedUntil) ||
                (!budget_.timed() && budget_.counted() >= part(kKickedUntil)))
                break;
            const double before = pool_.front().worth();
            std::vector<JointPlan> found(tasks);
            each(tasks, [&](std::size_t i, long long& counted) {
                const std::uint64_t number = static_cast<std::uint64_t>(round) * tasks + i;
                const JointPlan& from = pool_[i % std::min<std::size_t>(2, pool_.size())];
                auto plan = kicked(desk_, from, Draw(mixed(options_.seed, 12, number)),
                                   std::min<long long>(200, most / 4), kKickedUntil, counted);
                if (!plan || budget_.late(kKickedUntil)) return;
                found[i] = improved(desk_, std::move(*plan), kFirstStep, most, kKickedUntil,
                                    mixed(options_.seed, 13, number), counted);
            });
            for (JointPlan& plan : found)
                if (!plan.leaves.empty()) pool_.push_back(std::move(plan));
            thinOut(pool_, keep());
            if (pool_.front().worth() > before * (1.0 + kWorthAgain)) {
                idle = 0;
                tellBest();
            } else {
                ++idle;
            }
        }
    }

    // With the pieces that divide() finds; nothing when the saws leave none.
    std::optional<JointLayout> exactly(JointPlan plan) const {
        std::vector<PieceWalls> pieces;
        try {
            pieces = JointDesk::walls(divide(stone_.rough, cutter_, plan.saws, &budget_.watched()));
        } catch (const Error& error) {
            if (error.code() != ErrorCode::BadUsage) throw;
            return std::nullopt;
        }
        for (std::size_t p = 0; p < pieces.size(); ++p)
            if (!desk_.stand(pieces[p], plan.leaves[p])) return std::nullopt;
        return layoutOf(plan);
    }

    std::optional<JointLayout> layoutOf(const JointPlan& plan) const {
        std::vector<std::size_t> order(plan.leaves.size());
        std::iota(order.begin(), order.end(), std::size_t{0});
        std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
            return desk_.volume_mm3(plan.leaves[a]) > desk_.volume_mm3(plan.leaves[b]);
        });
        JointLayout made;
        made.layout.saws = plan.saws;
        made.layout.stones.clear();
        for (const std::size_t p : order) {
            const JointLeaf& leaf = plan.leaves[p];
            const JointCut& cut = rules_.cuts[leaf.cut];
            made.layout.stones.push_back({static_cast<int>(p), cut.cut, cut.proportions, cut.edits,
                                          leaf.placement, rules_.fit});
            made.worths.push_back(leaf.worth);
            made.volumes_mm3.push_back(desk_.volume_mm3(leaf));
            made.worth += leaf.worth;
            made.volume_mm3 += made.volumes_mm3.back();
        }
        const double kerf_mm = rules_.exit_mm.value_or(rules_.kerf_mm);
        for (std::size_t a = 0; a < order.size(); ++a)
            for (std::size_t b = a + 1; b < order.size(); ++b) {
                const JointLeaf& one = plan.leaves[order[a]];
                const JointLeaf& other = plan.leaves[order[b]];
                if (separationOf(desk_.design(one.cut), one.placement, desk_.design(other.cut),
                                 other.placement)
                        .distance_mm < kerf_mm)
                    return std::nullopt;
            }
        return made;
    }

    void tellBest() {
        if (!options_.onBetter || pool_.empty() || !(pool_.front().worth() > told_)) return;
        if (const auto best = exactly(pool_.front())) {
            told_ = pool_.front().worth();
            options_.onBetter(named(*best, 0));
        }
    }

    JointLayout named(JointLayout one, std::size_t index) const {
        one.layout.name = "Division " + std::to_string(index + 1);
        return one;
    }

    // The stones of the best are sought anew in their pieces, and the saws moved by a little.
    void finish(JointResult& result) {
        const std::size_t most = std::min(pool_.size(), options_.different + 2);
        std::vector<std::optional<JointLayout>> made(most);
        std::vector<JointPlan> last(most);
        const long long poses =
            part(1.0 - kKickedUntil) / std::max<long long>(1, 2 * static_cast<long long>(most));
        each(most, [&](std::size_t i, long long& counted) {
            JointPlan plan = pool_[i];
            const double until = 1.0;
            const std::vector<PieceWalls> pieces = desk_.walls(plan.saws);
            const double before = plan.worth();
            for (std::size_t p = 0; p < pieces.size() && !budget_.late(until); ++p) {
                JointDesk::Seek how;
                how.poses = std::max<long long>(60, poses / static_cast<long long>(pieces.size()));
                how.seed = mixed(options_.seed, 14, i * kMostStones + p);
                how.worthiest = true;
                how.share = until;
                desk_.seek(pieces[p], plan.leaves[p], how, counted);
            }
            if (plan.worth() > before * (1.0 + kWorthAgain))
                plan = improved(desk_, std::move(plan), kFineStep, poses, until,
                                mixed(options_.seed, 15, i), counted);
            made[i] = exactly(plan);
            last[i] = std::move(plan);
        });
        std::vector<std::size_t> order;
        for (std::size_t i = 0; i < most; ++i)
            if (made[i]) order.push_back(i);
        std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
            return made[a]->worth > made[b]->worth;
        });
        std::vector<std::size_t> kept;
        for (const std::size_t i : order) {
            if (kept.size() >= options_.different) break;
            if (std::any_of(kept.begin(), kept.end(), [&](std::size_t known) {
                    return desk_.apart(last[known], last[i]) < kApart;
                }))
                continue;
            result.layouts.push_back(named(*made[i], kept.size()));
            kept.push_back(i);
        }
        if (result.layouts.empty())
            throw Error(ErrorCode::NoSolution,
                        "No division of the rough into " + std::to_string(rules_.stones.size()) +
                            " such stones was found.",
                        "Ask for fewer or other cuts, a smaller kerf, or look longer.");
    }

    const Stone& stone_;
    const RoughCutter& cutter_;
    const JointRules& rules_;
    const JointOptions& options_;
    JointBudget& budget_;
    JointDesk desk_;
    std::size_t least_;
    std::vector<JointPlan> pool_;  // clearly different, the most worth first
    double told_ = 0.0;
};

}  // namespace

JointResult findJoint(const Stone& stone, const RoughCutter& cutter, const JointRules& rules,
                      const StoneWorth& worth, const JointOptions& options, Progress* progress) {
    check(stone, rules, options);
    JointBudget budget(options, progress);
    budget.throwIfCancelled();
    try {
        const JointRelay relay(budget);
        JointResult result = Joint(stone, cutter, rules, worth, options, budget).run();
        budget.throwIfCancelled();
        if (progress) progress->advanceTo(1.0);
        return result;
    } catch (const Error& error) {
        budget.throwIfCancelled();  // a search that was cancelled tells of the whole
        throw;
    }
}

}  // namespace macle
