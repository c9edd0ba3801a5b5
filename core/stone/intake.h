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

// What a scan may need that is never done unasked.
struct IntakeRequest {
    double unit_mm = 1.0;  // length of one unit of the file
    std::string unitName = "mm";
    bool closeHoles = false;  // fill open rims with triangles of least area
    int shell = -1;           // of several shells, the one that is the rough; -1: there must be one
};

// As takeIn, after what was asked for; each of it has a line in the report. Throws the errors of
// takeIn, and Error{BadInput} for holes that cannot be closed (rims that touch, or of more than
// 2000 edges) or a shell that is not there.
Rough takeInAsked(const TriangleMesh& raw, const IntakeRequest& request,
                  Progress* progress = nullptr);

// What a refused scan could be taken in with: its open rims and its shells.
struct ScanChoices {
    std::vector<Eigen::Vector3d> holes_mm;  // the middle of each open rim
    struct Shell {
        long long triangles = 0;
        double volume_mm3 = 0.0;
        Eigen::Vector3d extent_mm = Eigen::Vector3d::Zero();
    };
    std::vector<Shell> shells;  // empty when the surface is open
};
ScanChoices choicesFor(const TriangleMesh& raw, Progress* progress = nullptr);

// A scan has no unit. One row per unit that would give a size stones have, mm first.
struct UnitChoice {
    std::string name;  // "mm", "um", ...
    double unit_mm = 1.0;
    Eigen::Vector3d extent_mm = Eigen::Vector3d::Zero();
    double weight_ct = 0.0;
};
std::vector<UnitChoice> unitChoices(const TriangleMesh& raw, double density_g_cm3);
// Whether mm gives a size that few stones have, so that the planner should be asked.
bool unitIsDoubtful(const TriangleMesh& raw);

// Comparison of scan and scale. flagged when they differ by more than tolerance::kScaleMismatch.
struct WeighIn {
    double scan_ct = 0.0;
    double scale_ct = 0.0;
    double difference_percent = 0.0;  // of the scale weight; positive when the scan is heavier
    bool flagged = false;
};
WeighIn weighIn(double scanVolume_mm3, double density_g_cm3, double scale_ct);

}  // namespace macle
