#include "core/divide/second_stone.h"

#include <algorithm>
#include <chrono>
#include <cmath>

#include "core/base/error.h"
#include "core/base/part_progress.h"
#include "core/base/units.h"
#include "core/divide/piece_stone.h"

namespace macle {

using Eigen::Vector3d;
using Clock = std::chrono::steady_clock;

namespace {

constexpr double kSameDirection_deg = 0.5;
constexpr double kTried = 0.7;  // share of the whole until every direction was tried
constexpr double kFirstTurn_deg = 6.0;
constexpr double kLastTurn_deg = 0.4;
constexpr double kLeastGain = 1e-3;  // of the volume, for which a step is tried once more

struct Found {
    Vector3d direction = Vector3d::UnitZ();
    Saw saw;
    FitResult fit;
    double volume_mm3 = 0.0;
};

void addDistinct(std::vector<Vector3d>& directions, const Vector3d& one) {
    const double near = std::cos(radians(kSameDirection_deg));
    if (std::none_of(directions.begin(), directions.end(),
                     [&](const Vector3d& known) { return known.dot(one) > near; }))
        directions.push_back(one);
}

class Seeking {
  public:
    Seeking(const Stone& stone, const RoughCutter& cutter, const Design& first,
            const Placement& placed, const Design& second, const SecondStoneRules& rules,
            const FitOptions& options, Progress* progress)
        : stone_(stone),
          cutter_(cutter),
          first_(first),
          placed_(placed),
          second_(second),
          rules_(rules),
          options_(options),
          progress_(progress),
          unit_mm3_(designVolume(second)),
          begin_(Clock::now()) {}

    std::optional<SecondStone> run() {
        struct Remainder {
            Vector3d direction;
            Piece piece;
            Saw saw;
        };
        std::vector<Remainder> remainders;
        for (const Vector3d& direction : directions()) {
            tell(0.0);
            const Saw saw =
                sawBeside(first_, placed_, direction, rules_.kerf_mm, rules_.firstAllowance_mm);
            if (auto piece = upper(saw)) remainders.push_back({direction, std::move(*piece), saw});
        }
        // The largest first: what comes later can often be passed over unseen.
        std::stable_sort(remainders.begin(), remainders.end(),
                         [](const Remainder& a, const Remainder& b) {
                             return a.piece.volume_mm3 > b.piece.volume_mm3;
                         });
        for (std::size_t i = 0; i < remainders.size(); ++i) {
            const Remainder& one = remainders[i];
            const double each = kTried / static_cast<double>(remainders.size());
            tell(each * static_cast<double>(i));
            next_ = done_ + each;
            if (one.piece.volume_mm3 <= best_.volume_mm3) break;
            if (spent() && best_.volume_mm3 > 0.0) break;
            look(one.direction, one.saw, one.piece);
        }
        if (best_.volume_mm3 > 0.0 && !rules_.mechanical && rules_.only.empty()) turn();
        tell(1.0);
        if (!(best_.volume_mm3 > 0.0) || best_.fit.placement.size_mm < kSmallestSecond_mm)
            return std::nullopt;
        return SecondStone{best_.saw, best_.fit.placement, best_.volume_mm3, best_.fit.limits,
                           poses_};
    }

  private:
    void tell(double fraction) {
        done_ = next_ = fraction;
        if (!progress_) return;
        progress_->throwIfCancelled();
        progress_->advanceTo(fraction);
    }

    bool spent() const {
        return options_.seconds > 0.0 &&
               std::chrono::duration<double>(Clock::now() - begin_).count() > options_.seconds;
    }

    std::vector<Vector3d> directions() const {
        std::vector<Vector3d> all;
        if (!rules_.only.empty()) {
            for (const Vector3d& one : rules_.only)
                all.push_back(one.normalized());
            return all;
        }
        if (rules_.mechanical && !stone_.axes)
            throw Error(ErrorCode::BadUsage,
                        "A mechanical saw follows cube and dodecahedron planes, but the crystal's "
                        "axes are not known.",
                        "Give the axes of the stone, or saw with a laser.");
        if (stone_.axes)
            for (const SawableDirection& one : sawableDirections(*stone_.axes))
                for (const double sign : {1.0, -1.0})
                    addDistinct(all, sign * one.normal);
        if (rules_.mechanical) return all;
        addDistinct(all, placed_.rotation * Vector3d::UnitZ());
        for (const ConvexPart& part : first_.parts)
            for (const Facet& facet : part.facets)
                addDistinct(all, placed_.rotation * facet.normal);
        return all;
    }

    std::optional<Piece> upper(const Saw& saw) const {
        try {
            return std::move(divide(stone_.rough, cutter_, {saw}).pieces.at(1));
        } catch (const Error& error) {
            if (error.code() == ErrorCode::BadUsage) return std::nullopt;  // nothing is above
            throw;
        }
    }

    void look(const Vector3d& direction, const Saw& saw, const Piece& piece) {
        const Stone rest = stoneOf(stone_, piece);
        PartProgress preparing(progress_, done_, done_);
        const Obstacles obstacles(rest, &preparing);
        const Gauge gauge(obstacles, second_, rules_.fit);
        FitOptions options = options_;
        options.different = 0;
        options.onBetter = nullptr;
        options.tableDirections.push_back(direction);
        options.tableDirections.push_back(-direction);
        if (options_.seconds > 0.0) options.seconds = options_.seconds / kLooks;
        PartProgress finding(progress_, done_, next_);
        try {
            const FitResult fit = findBest(gauge, options, &finding);
            poses_ += fit.poses;
            const double volume = unit_mm3_ * std::pow(fit.placement.size_mm, 3);
            if (volume > best_.volume_mm3) best_ = {direction, saw, fit, volume};
        } catch (const Error& error) {
            if (error.code() != ErrorCode::NoSolution) throw;
        }
    }

    // Turns the best plane about the first stone while that helps.
    void turn() {
        tell(kTried);
        for (double step = kFirstTurn_deg; step >= kLastTurn_deg && !spent(); step *= 0.5) {
            const Vector3d here = best_.direction;
            const double before = best_.volume_mm3;
            const Vector3d across = here.unitOrthogonal();
            const Vector3d other = here.cross(across);
            for (int k = 0; k < 6 && !spent(); ++k) {
                const double angle = radians(60.0 * k);
                const Vector3d direction =
                    (here +
                     std::tan(radians(step)) * (std::cos(angle) * across + std::sin(angle) * other))
                        .normalized();
                const Saw saw =
                    sawBeside(first_, placed_, direction, rules_.kerf_mm, rules_.firstAllowance_mm);
                const auto piece = upper(saw);
                if (piece && piece->volume_mm3 > best_.volume_mm3) look(direction, saw, *piece);
            }
            if (best_.volume_mm3 > (1.0 + kLeastGain) * before) step *= 2.0;
        }
    }

    static constexpr double kLooks = 24.0;  // directions that share the time

    const Stone& stone_;
    const RoughCutter& cutter_;
    const Design& first_;
    const Placement& placed_;
    const Design& second_;
    const SecondStoneRules& rules_;
    const FitOptions& options_;
    Progress* progress_;
    double unit_mm3_;
    Clock::time_point begin_;
    Found best_;
    long long poses_ = 0;
    double done_ = 0.0, next_ = 0.0;  // shares of the whole: now, and after this direction
};

}  // namespace

Saw sawBeside(const Design& first, const Placement& placed, const Vector3d& direction,
              double kerf_mm, double allowance_mm) {
    const Vector3d inCut = placed.rotation.conjugate() * direction;
    double reach = 0.0;
    for (const ConvexPart& part : first.parts)
        for (const Vector3d& corner : makeSolid(part).vertices)
            reach = std::max(reach, inCut.dot(corner));
    Saw saw;
    saw.normal = direction;
    saw.kerf_mm = kerf_mm;
    saw.offset_mm = direction.dot(placed.translation_mm) + placed.size_mm * reach + allowance_mm +
                    0.5 * kerf_mm;
    return saw;
}

std::optional<SecondStone> findSecondStone(const Stone& stone, const RoughCutter& cutter,
                                           const Design& first, const Placement& placed,
                                           const Design& second, const SecondStoneRules& rules,
                                           const FitOptions& options, Progress* progress) {
    return Seeking(stone, cutter, first, placed, second, rules, options, progress).run();
}

}  // namespace macle
