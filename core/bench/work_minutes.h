// Shares a stone's estimated minutes among the steps of its work. Private to core/bench.
#pragma once

#include <vector>

#include "core/appraise/work_estimate.h"
#include "core/bench/working_order.h"

namespace macle {

// `first` is the step of the whole rough that windows and marks; `own` are the stone's.
void shareMinutes(const WorkEstimate& estimate, const ShopRates& rates, BenchStep& first,
                  const std::vector<BenchStep*>& own);

}  // namespace macle
