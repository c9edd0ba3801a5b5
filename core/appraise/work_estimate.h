// Work estimate: minutes and cost of each operation by the shop's own rates, from what each takes
// off. A planning estimate. Pure; any thread.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/appraise/reason.h"
#include "core/appraise/shop_rates.h"
#include "core/appraise/work_stages.h"

namespace macle {

struct WorkStep {
    std::string operation;  // one of kOperations
    std::string label;
    double minutes = 0.0;
    double cost = 0.0;
    double entering_ct = 0.0;
    double removed_ct = 0.0;
    Reasons reasons;
};

struct WorkEstimate {
    std::vector<WorkStep> steps;  // in the order of the work
    double minutes = 0.0;
    double days = 0.0;  // of the shop's hours
    double cost = 0.0;
    std::string currency;
    std::string note;   // of the rates
    bool sawn = false;  // what lies above the table is sawn off rather than ground away
    Reasons reasons;
};

WorkEstimate estimateWork(const WorkStages& stages, const ShopRates& rates);

// One saw through a piece of the rough; nothing when the rates do not tell of sawing.
std::optional<WorkStep> sawingStep(const ShopRates& rates, double entering_ct, double kerf_ct);

double workingDays(double minutes, const ShopRates& rates);

// Where the rates come from, and the caution that belongs beside every time and cost.
Reasons rateReasons(const ShopRates& rates);

}  // namespace macle
