// Saws that move and turn, with the stones on both sides climbing anew: a compass search over the
// planes (Kolda, Lewis, Torczon, SIAM Review 45 (2003) 385), each trial judged by the exact gauge.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/base/units.h"
#include "core/divide/joint_plan.h"

namespace macle {

using Eigen::Vector3d;

namespace {

constexpr double kFirstTurn_deg = 8.0;     // for the first step by which saws are moved
constexpr double kLastStep = 1.0 / 512.0;  // of the first, after which the search ends
constexpr double kGain = 1e-5;   // share of the worth that counts as better; settling is rough
constexpr int kWays = 4;         // that a saw is turned in
constexpr int kMostRepeats = 6;  // of a move that helps
constexpr double kKick = 0.12;   // deviation of a kick, of a stone's size
constexpr double kKick_deg = 10.0;

class Improving {
  public:
    Improving(const JointDesk& desk, JointPlan plan, long long most, double share,
              std::uint64_t seed, long long& poses)
        : desk_(desk),
          plan_(std::move(plan)),
          most_(poses + most),
          share_(share),
          draw_(seed),
          poses_(poses) {}

    JointPlan run(double first) {
        const double size_mm = meanSize_mm();
        for (double step = first; step >= kLastStep * first && !spent();) {
            const double before = plan_.worth();
            spin_ = 2.0 * std::numbers::pi * draw_.unit();
            for (std::size_t s = 0; s < plan_.saws.size() && !spent(); ++s)
                sweep(s, step * size_mm, radians(kFirstTurn_deg * step / first));
            if (plan_.worth() <= before * (1.0 + kGain)) step *= 0.5;
        }
        return std::move(plan_);
    }

  private:
    bool spent() const { return poses_ >= most_ || desk_.budget().late(share_); }

    double meanSize_mm() const {
        double sum = 0.0;
        for (const JointLeaf& leaf : plan_.leaves)
            sum += leaf.placement.size_mm;
        return sum / static_cast<double>(plan_.leaves.size());
    }

    // Where a saw is turned about: its point next to the stones on both sides.
    Vector3d pivot(std::size_t s, const std::vector<PieceWalls>& pieces) const {
        const Saw& saw = plan_.saws[s];
        Vector3d sum = Vector3d::Zero();
        int count = 0;
        for (const bool above : {false, true}) {
            const JointLeaf* nearest = nullptr;
            double least = 0.0;
            for (std::size_t p = 0; p < pieces.size(); ++p) {
                if (std::find(pieces[p].saws.begin(), pieces[p].saws.end(), static_cast<int>(s)) ==
                    pieces[p].saws.end())
                    continue;
                const JointLeaf& leaf = plan_.leaves[p];
                const double off = saw.normal.dot(leaf.placement.translation_mm) - saw.offset_mm;
                if ((off > 0.0) != above) continue;
                if (nearest && std::abs(off) >= least) continue;
                nearest = &leaf;
                least = std::abs(off);
            }
            if (!nearest) continue;
            sum += nearest->placement.translation_mm;
            ++count;
        }
        if (count == 0) return saw.offset_mm * saw.normal;
        const Vector3d middle = sum / count;
        return middle - (saw.normal.dot(middle) - saw.offset_mm) * saw.normal;
    }

    // Whether the plan is better with this saw; if so it is taken.
    bool tried(std::size_t s, const Saw& saw) {
        JointPlan next = plan_;
        next.saws[s] = saw;
        const std::vector<PieceWalls> pieces = desk_.walls(next.saws);
        for (std::size_t p = 0; p < pieces.size(); ++p) {
            const auto& by = pieces[p].saws;
            if (std::find(by.begin(), by.end(), static_cast<int>(s)) == by.end()) continue;
            if (!desk_.settle(pieces[p], next.leaves[p], poses_)) return false;
        }
        if (!(next.worth() > plan_.worth() * (1.0 + kGain))) return false;
        plan_ = std::move(next);
        return true;
    }

    template <class Move>
    void follow(std::size_t s, const Move& move) {
        for (int i = 0; i < kMostRepeats && !spent(); ++i)
            if (!tried(s, move(plan_.saws[s]))) return;
    }

    void sweep(std::size_t s, double step_mm, double turn) {
        for (const double sign : {1.0, -1.0})
            follow(s, [&](Saw saw) {
                saw.offset_mm += sign * step_mm;
                return saw;
            });
        if (desk_.rules().exit_mm && !spent())
            follow(s, [&](Saw saw) {
                saw.v->beam = -saw.v->beam;
                return saw;
            });
        if (desk_.rules().mechanical) return;
        for (int way = 0; way < kWays && !spent(); ++way) {
            const double angle = spin_ + 2.0 * std::numbers::pi * way / kWays;
            follow(s, [&](Saw saw) {
                const Vector3d about = pivot(s, desk_.walls(plan_.saws));
                const Vector3d across = saw.normal.unitOrthogonal();
                const Vector3d towards =
                    std::cos(angle) * across + std::sin(angle) * saw.normal.cross(across);
                saw.normal = (saw.normal + std::tan(turn) * towards).normalized();
                saw.offset_mm = saw.normal.dot(about);
                return saw;
            });
        }
    }

    const JointDesk& desk_;
    JointPlan plan_;
    long long most_;
    double share_;
    Draw draw_;
    long long& poses_;
    double spin_ = 0.0;
};

}  // namespace

JointPlan improved(const JointDesk& desk, JointPlan plan, double first, long long most,
                   double share, std::uint64_t seed, long long& poses) {
    return Improving(desk, std::move(plan), most, share, seed, poses).run(first);
}

std::optional<JointPlan> kicked(const JointDesk& desk, const JointPlan& plan, Draw draw,
                                long long seekPoses, double share, long long& poses) {
    JointPlan next = plan;
    const auto s = static_cast<std::size_t>(draw.bits() % next.saws.size());
    const double size_mm =
        plan.leaves[static_cast<std::size_t>(next.saws[s].piece)].placement.size_mm;
    const Vector3d about = next.saws[s].offset_mm * next.saws[s].normal + [&] {
        const Vector3d& middle =
            plan.leaves[static_cast<std::size_t>(next.saws[s].piece)].placement.translation_mm;
        return Vector3d(middle - next.saws[s].normal.dot(middle) * next.saws[s].normal);
    }();
    Vector3d normal = next.saws[s].normal;
    if (desk.rules().mechanical) {
        const auto all = sawableDirections(*desk.stone().axes);
        if (draw.unit() < 0.5) {
            normal = all[draw.bits() % all.size()].normal;
            if (draw.unit() < 0.5) normal = -normal;
        }
    } else {
        normal +=
            std::tan(radians(kKick_deg)) * Vector3d(draw.normal(), draw.normal(), draw.normal());
        if (!(normal.norm() > 0.1)) return std::nullopt;
        normal.normalize();
    }
    next.saws[s] = desk.sawThrough(next.saws[s].piece, normal,
                                   normal.dot(about) + kKick * size_mm * draw.normal());
    const std::vector<PieceWalls> pieces = desk.walls(next.saws);
    for (std::size_t p = 0; p < pieces.size(); ++p) {
        const auto& by = pieces[p].saws;
        if (std::find(by.begin(), by.end(), static_cast<int>(s)) == by.end()) continue;
        JointLeaf fresh;
        fresh.wanted = next.leaves[p].wanted;
        JointDesk::Seek how;
        how.poses = seekPoses;
        how.seed = draw.bits();
        how.share = share;
        if (!desk.seek(pieces[p], fresh, how, poses)) return std::nullopt;
        next.leaves[p] = fresh;
    }
    return next;
}

}  // namespace macle
