// Rough: a checked, closed, outward surface, and the account of how it got that way.
#pragma once

#include <string>
#include <vector>

#include "core/stone/mesh.h"

namespace macle {

// One line of the intake report. `what` names the finding ("zero-area triangles"), `action`
// what was done ("removed", "none needed", "kept"). `places` holds up to 20 positions, mm.
struct Finding {
    std::string what;
    long long count = 0;
    std::string action;
    std::vector<Eigen::Vector3d> places;
};

struct IntakeReport {
    long long trianglesRead = 0;
    long long trianglesKept = 0;
    bool closed = false;
    std::vector<Finding> findings;
};

struct Rough {
    TriangleMesh mesh;  // closed, manifold, outward, no degenerate face
    double volume_mm3 = 0.0;
    IntakeReport report;
};

}  // namespace macle
