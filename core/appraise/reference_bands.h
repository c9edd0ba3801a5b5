// Published reference bands for a round brilliant: within which of the nested bands a measured
// figure lies, 1 the narrowest. A planning estimate, not a grade. Pure; any thread.
#pragma once

#include <string>
#include <vector>

#include "core/appraise/measured_proportions.h"

namespace macle {

struct BandReading {
    std::string what;  // "Crown angle"
    std::string unit;  // "%" or "deg"
    double value = 0.0;
    int band = 0;      // 1 .. bands; bands + 1: outside all
    int bands = 0;     // how many are published
    double low = 0.0;  // of the narrowest band
    double high = 0.0;
};

// Only what was measured, and only for a round outline with a table and eight or more mains; empty
// for any other.
std::vector<BandReading> againstBands(const MeasuredProportions& measured);

// The worst band of the readings, 0 without any.
int worstBand(const std::vector<BandReading>& readings);

}  // namespace macle
