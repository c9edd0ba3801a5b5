// An independent way to the same powers, for judging the tracer: scalar, one ray at a time, long
// double, half-spaces of the design as given (no solid, no tables), and fields instead of Stokes
// vectors: the two independent polarisations that unpolarised light consists of are each followed
// as a complex field vector, by Fresnel's sine and tangent laws with complex angles.
#pragma once

#include <Eigen/Core>
#include <complex>
#include <vector>

#include "core/cut/design.h"

namespace macle::test {

struct ReferenceLight {
    Eigen::Vector3d direction;
    double power = 0.0;
    double path_mm = 0.0;
    int hits = 0;
};

struct ReferenceAccount {
    bool met = false;
    double glare = 0.0, absorbed = 0.0, remainder = 0.0;
    std::vector<ReferenceLight> leaving;
};

ReferenceAccount followByFields(const Design& design, double size_mm, double index,
                                double absorption_per_mm, const Eigen::Vector3d& origin,
                                const Eigen::Vector3d& direction, double leastPower, int mostHits);

}  // namespace macle::test
