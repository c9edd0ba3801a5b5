#include "core/appraise/grain_turn.h"

#include <algorithm>
#include <cmath>
#include <tuple>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/units.h"
#include "core/fit/turn_fit.h"
#include "core/solid/prepared_design.h"

namespace macle {

namespace {

// Weights that differ by less are one, so that the smaller turn is advised. Far below 0.0005 ct.
constexpr double kSameWeight_ct = 1e-6;

}  // namespace

GrainTurns turnAgainstGrain(const CrystalAxes& axes, const Gauge& gauge, const Placement& placement,
                            double density_g_cm3, double step_deg, const GrainRules& rules,
                            Progress* progress) {
    const int upon = turnsOf(gauge.design());
    const double period_deg = 360.0 / upon;
    const double wanted = step_deg > 0.0 ? std::ceil(period_deg / step_deg - 1e-9) : 0.0;
    if (!(wanted >= 1.0 && wanted <= kMostGrainTurns))
        throw Error(ErrorCode::BadUsage,
                    "A step of " + formatExact(step_deg) + " degrees does not divide the turn of " +
                        formatFixed(period_deg, 2) + " degrees into 1 to " +
                        std::to_string(kMostGrainTurns) + " steps.",
                    "Give a step of about 1 degree.");
    std::vector<double> turns_deg;
    for (int i = 0; i < static_cast<int>(wanted); ++i)
        turns_deg.push_back(period_deg * i / wanted);
    const double unit_ct = carats(prepareDesign(gauge.design())->volume, density_g_cm3);

    GrainTurns result;
    for (const TurnedFit& fit : turnedFits(gauge, placement, turns_deg, progress)) {
        const GrainReading grain = readGrain(axes, gauge.design(), fit.placement, rules);
        GrainTurn turn;
        turn.turn_deg = fit.turn_deg;
        turn.worst_deg = grain.worst_deg;
        turn.worstFacet = grain.worstFacet;
        turn.warned = grain.warned;
        turn.kept_ct = unit_ct * std::pow(fit.kept_mm, 3);
        turn.weight_ct = unit_ct * std::pow(fit.placement.size_mm, 3);
        turn.placement = fit.placement;
        result.turns.push_back(std::move(turn));
    }
    for (std::size_t i = 1; i < result.turns.size(); ++i) {
        const GrainTurn& best = result.turns[static_cast<std::size_t>(result.advised)];
        const GrainTurn& turn = result.turns[i];
        if (turn.warned < best.warned ||
            (turn.warned == best.warned && turn.weight_ct > best.weight_ct + kSameWeight_ct))
            result.advised = static_cast<int>(i);
    }
    const GrainTurn& present = result.turns.front();
    const GrainTurn& advised = result.turns[static_cast<std::size_t>(result.advised)];
    result.gains_ct = advised.weight_ct - present.weight_ct;
    result.reasons = {
        {"The cut falls upon itself after", period_deg, "deg", 2},
        {"Turns tried", wanted, "", 0},
        {"Facets warned of as it lies", static_cast<double>(present.warned), "", 0},
        {"Weight as it lies, the middle moved to the best place near it", present.weight_ct, "ct",
         3},
        {"Heaviest turn with the fewest facets warned of", advised.turn_deg, "deg", 2},
        {"Facets warned of there", static_cast<double>(advised.warned), "", 0},
        {"Weight there", advised.weight_ct, "ct", 3},
        {"Weight gained by turning (below zero: lost)", result.gains_ct, "ct", 3}};
    return result;
}

}  // namespace macle
