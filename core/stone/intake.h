// Intake: from a file to a Rough that every later step may trust.
#pragma once

#include <filesystem>

#include "core/base/progress.h"
#include "core/stone/rough.h"

namespace macle {

// Welds, drops zero-area triangles, duplicates and unused vertices, orients outward, and checks:
// closed, manifold, one shell, not self-touching, not flat. Everything found stands in the
// report. Repairs only what leaves the surface where it was; anything else is refused with
// Error{BadInput} (open edges with their place, several shells, inside-out parts that disagree,
// self-intersections).
Rough takeIn(const TriangleMesh& raw, Progress* progress = nullptr);
Rough takeInFile(const std::filesystem::path& file, Progress* progress = nullptr);

// A closed file of one or more shells, each outward: the shells, each checked like a rough.
std::vector<TriangleMesh> splitShells(const TriangleMesh& raw, Progress* progress = nullptr);

// Comparison of scan and scale. flagged when they differ by more than tolerance::kScaleMismatch.
struct WeighIn {
    double scan_ct = 0.0;
    double scale_ct = 0.0;
    double difference_percent = 0.0;  // of the scale weight; positive when the scan is heavier
    bool flagged = false;
};
WeighIn weighIn(double scanVolume_mm3, double density_g_cm3, double scale_ct);

}  // namespace macle
