// Stones, designs and poses to measure with. Deterministic.
#pragma once

#include <memory>
#include <random>
#include <vector>

#include "core/cut/design.h"
#include "core/fit/gauge.h"
#include "core/fit/gauge_kernel.h"
#include "core/fit/local_fit.h"
#include "core/stone/stone.h"

namespace macle::bench {

// MACLE_BENCH_SECONDS, or 5.
double searchSeconds();

// M. Tolkowsky, Diamond Design (1919), with a girdle of 3 %: 121 planes.
Design tolkowsky(double girdle_percent = 3.0);

// Planes that touch an ellipsoid in random directions: all of them bound the solid, no four meet.
ConvexPart ellipsoidPart(int planes);

// The irregular demo stone with defects added up to `defects`, all of which must be cut away.
Stone demoStone(int triangles, int defects);

// A stone, its obstacles and the gauge of the round brilliant in it.
struct Scene {
    Scene(int triangles, int defects);
    Stone stone;
    Obstacles obstacles;
    Gauge gauge;
};
// Made once for each size.
const Scene& scene(int triangles);

// Any rotation, centres within 1 mm of the middle that lie in sound material.
std::vector<Pose> strayPoses(const Scene& scene, int count);
// A good placement, as a search finds it.
Pose settledPose(const Scene& scene);
// Steps of about 1e-3 mm and 1e-3 rad from pose to pose that begin at `from`, `count` in all.
std::vector<Pose> nearbyPoses(const Pose& from, int count);

}  // namespace macle::bench
