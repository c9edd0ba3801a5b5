#include "core/appraise/work_estimate.h"

#include <algorithm>

namespace macle {

namespace {

constexpr double kMinutesPerHour = 60.0;

struct Quantities {
    double entering_ct = 0.0;
    double removed_ct = 0.0;
    double facets = 0.0;
    double girdle_mm = 0.0;
    double windows = 0.0;

    double of(const std::string& unit) const {
        if (unit == "window") return windows;
        if (unit == "ct entering") return entering_ct;
        if (unit == "ct removed") return removed_ct;
        if (unit == "facet") return facets;
        if (unit == "mm of girdle") return girdle_mm;
        return 1.0;  // stone
    }
};

// How the unit's number is shown.
int decimalsOf(const std::string& unit) {
    if (unit.starts_with("ct")) return 3;
    return unit == "mm of girdle" ? 1 : 0;
}

WorkStep stepOf(const OperationRates& rates, const Quantities& quantities) {
    WorkStep step;
    step.operation = rates.operation;
    step.label = rates.label;
    step.entering_ct = quantities.entering_ct;
    step.removed_ct = quantities.removed_ct;
    for (const WorkRate& rate : rates.minutes) {
        const double quantity = quantities.of(rate.per);
        step.minutes += rate.minutes * quantity;
        step.reasons.push_back({"Minutes per " + rate.per, rate.minutes, "min", 1});
        if (rate.per != "stone")
            step.reasons.push_back({"times " + rate.per, quantity, "", decimalsOf(rate.per)});
    }
    step.cost = rates.cost_each + rates.cost_per_hour * step.minutes / kMinutesPerHour;
    step.reasons.push_back({"Cost per hour", rates.cost_per_hour, "", 2});
    if (rates.cost_each > 0.0)
        step.reasons.push_back({"Cost for each stone", rates.cost_each, "", 2});
    return step;
}

}  // namespace

WorkEstimate estimateWork(const WorkStages& stages, const ShopRates& rates) {
    WorkEstimate estimate;
    estimate.currency = rates.currency;
    estimate.note = rates.note;
    const double above_ct = std::max(0.0, stages.rough_ct - stages.belowTable_ct);
    const bool canSaw =
        std::any_of(rates.operations.begin(), rates.operations.end(),
                    [](const OperationRates& one) { return one.operation == "sawing"; });
    estimate.sawn = canSaw && above_ct >= rates.saw_from_ct && above_ct > 0.0;
    estimate.reasons.push_back({"Rough above the table", above_ct, "ct", 3});
    estimate.reasons.push_back({estimate.sawn ? "It is sawn off, for it is at least"
                                              : "It is ground away; it is sawn off from",
                                rates.saw_from_ct, "ct", 3});
    // Where the cap is ground away it goes with the blocking, whose first facet is the table.
    const double ground_ct = estimate.sawn ? 0.0 : above_ct;
    double present_ct = stages.rough_ct;
    for (const OperationRates& one : rates.operations) {
        Quantities q;
        q.windows = rates.windows;
        q.girdle_mm = stages.girdle_mm;
        q.facets = stages.blockedFacets + stages.otherFacets;
        if (one.operation == "sawing") {
            if (!estimate.sawn) continue;
            q.removed_ct = above_ct;
        } else if (one.operation == "bruting") {
            q.removed_ct = stages.belowTable_ct - stages.bruted_ct;
        } else if (one.operation == "blocking") {
            q.removed_ct = stages.bruted_ct - stages.blocked_ct + ground_ct;
            q.facets = stages.blockedFacets;
        } else if (one.operation == "brillianteering") {
            q.removed_ct = stages.blocked_ct - stages.finished_ct;
            q.facets = stages.otherFacets;
        }
        q.removed_ct = std::max(0.0, q.removed_ct);  // last digits of equal weights
        q.entering_ct = present_ct;
        present_ct -= q.removed_ct;
        WorkStep step = stepOf(one, q);
        estimate.minutes += step.minutes;
        estimate.cost += step.cost;
        estimate.steps.push_back(std::move(step));
    }
    estimate.days = workingDays(estimate.minutes, rates);
    estimate.reasons.push_back({"Total", estimate.minutes, "min", 0});
    estimate.reasons.push_back({"Working days", estimate.days, "d", 1});
    const Reasons about = rateReasons(rates);
    estimate.reasons.insert(estimate.reasons.end(), about.begin(), about.end());
    return estimate;
}

std::optional<WorkStep> sawingStep(const ShopRates& rates, double entering_ct, double kerf_ct) {
    for (const OperationRates& one : rates.operations) {
        if (one.operation != "sawing") continue;
        Quantities q;
        q.entering_ct = entering_ct;
        q.removed_ct = kerf_ct;
        return stepOf(one, q);
    }
    return std::nullopt;
}

double workingDays(double minutes, const ShopRates& rates) {
    return minutes / (kMinutesPerHour * rates.hours_per_day);
}

Reasons rateReasons(const ShopRates& rates) {
    return {{"Rates: " + rates.note, {}, "", 0},
            {"Lasers, fast wheels, fine dust, acids and heat can hurt: local codes "
             "and licensed practice come before any time or cost",
             {},
             "",
             0}};
}

}  // namespace macle
