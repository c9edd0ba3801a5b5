// How light is followed.
#pragma once

#include <vector>

#include "core/light/body_inside.h"

namespace macle {

inline constexpr double kYellowSodium_nm = 589.3;  // the line D, at which indices are quoted

struct TraceOptions {
    double wavelength_nm = kYellowSodium_nm;
    double absorption_per_mm = 0.0;  // Beer and Lambert: exp(-absorption * path)
    // A ray whose power has fallen below this share of what set out is given up, and so is one that
    // has met this many faces from inside. What was left of it is reported, never dropped.
    double leastPower = 1e-6;
    int mostHits = 256;
    std::vector<BodyInside> bodies;
};

// Throws Error{BadUsage} for values that are not finite or out of their range: wavelength 226 to
// 1200 nm, absorption >= 0, least power 0 to 1, hits 1 to 100000.
void check(const TraceOptions& options);

}  // namespace macle
