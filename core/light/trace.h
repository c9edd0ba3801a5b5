// Rays through a stone, each with a full account of its power. Powers are shares of what the ray
// brought; light is unpolarised before it meets the stone.
#pragma once

#include <Eigen/Core>
#include <vector>

#include "core/base/progress.h"
#include "core/light/light_body.h"
#include "core/light/trace_options.h"

namespace macle {

struct LightRay {
    Eigen::Vector3d origin_mm;  // outside
    Eigen::Vector3d direction;  // of length 1
};

struct LeavingLight {
    Eigen::Vector3d point_mm;
    Eigen::Vector3d direction;
    double power = 0.0;
    double path_mm = 0.0;  // inside the stone
    int part = 0;
    int facet = 0;  // of the design's part
    int hits = 0;   // faces met from inside, this one too
};

struct RayAccount {
    bool met = false;    // false: it passed by, and all below is empty
    double glare = 0.0;  // thrown back at the first surface
    double absorbed = 0.0;
    double blocked = 0.0;               // taken by bodies inside
    double remainder = 0.0;             // given up
    std::vector<LeavingLight> leaving;  // in the order it leaves
    double left() const;
    // 1 but for rounding.
    double sum() const { return glare + absorbed + blocked + remainder + left(); }
};

// In the order of the rays. Splits are followed: at each face the part that is thrown back inside
// and the part that leaves; light that leaves one lobe of a union and strikes another goes on in
// it. The same figures at any thread count; threads 0 means all. Throws Error{BadUsage} for a ray
// that is not finite, not of length 1 or starts inside, and what check(options) throws;
// Error{Cancelled}.
std::vector<RayAccount> traceRays(const LightBody& body, const std::vector<LightRay>& rays,
                                  const TraceOptions& options, int threads = 0,
                                  Progress* progress = nullptr);

// One stretch of the way of a ray inside, for showing the way.
struct WayInside {
    Eigen::Vector3d from_mm, to_mm;
    double power = 0.0;  // at its end
    int part = 0;
    int facet = 0;  // met at its end
};

// The way of one ray through the stone by what is thrown back inside, up to the limits of the
// options; further lobes of a union follow at the end. Empty when the ray passes by. Errors of
// traceRays.
std::vector<WayInside> wayInside(const LightBody& body, const LightRay& ray,
                                 const TraceOptions& options);

}  // namespace macle
