// FinishedStone: what is left when the design pokes out of the rough: design intersected with
// rough. Naturals are the patches of skin that remain. Stone frame, mm.
#pragma once

#include <memory>
#include <vector>

#include "core/base/progress.h"
#include "core/solid/convex_solid.h"
#include "core/stone/rough.h"

namespace macle {

struct Natural {
    double area_mm2 = 0.0;
    double depth_mm = 0.0;  // how far the skin lies inside the design at most
    Eigen::Vector3d place_mm = Eigen::Vector3d::Zero();  // where it lies deepest
    bool girdleOnly = false;                             // touches no plane but girdle flats
};

struct FinishedStone {
    double volume_mm3 = 0.0;
    double design_mm3 = 0.0;
    double missing_mm3 = 0.0;       // design - finished
    bool inside = true;             // the design lies inside the rough; no naturals
    std::vector<Natural> naturals;  // largest first
    TriangleMesh mesh;  // closed surface of the finished stone (empty when not asked for)
};

// Prepared rough for repeated intersections: a bounding-box tree over the skin.
// Thread contract: immutable once made, shared between threads.
class RoughCutter {
  public:
    // Throws Error{BadInput} for a surface that is not closed.
    explicit RoughCutter(const Rough& rough);
    ~RoughCutter();
    RoughCutter(const RoughCutter&) = delete;
    RoughCutter& operator=(const RoughCutter&) = delete;

    // One intersection of the design with the rough: about 1 ms at 200 k triangles without the
    // mesh, a few with it. Designs of several parts: volumes by inclusion and exclusion. Each
    // result is verified (every border closes, the areas sum to zero, the mesh holds the volume);
    // a result that does not verify is computed again by corefinement, which takes a second.
    // Throws Error{NoSolution} when nothing is left, Error{BadUsage} for a placement that is none,
    // Error{Internal} when verification fails both ways, and what makeSolid throws.
    FinishedStone finish(const Design& design, const Placement& placement, bool wantMesh) const;

    // Whether a point lies in the rough; O(log n) typical.
    bool contains(const Eigen::Vector3d& point_mm) const;

  private:
    struct Impl;
    std::unique_ptr<Impl> impl_;
};

}  // namespace macle
