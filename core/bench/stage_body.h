// Stage body: what a piece is while only some facets of the cut are worked: the piece within the
// half-spaces of those facets alone. The convex body of each part is built once and intersected
// with the piece once, so that no rounding adds up over the steps. Stone frame, mm. Immutable; any
// thread.
#pragma once

#include <set>
#include <string>
#include <vector>

#include "core/cut/design.h"
#include "core/cut/placement.h"
#include "core/solid/finished_stone.h"
#include "core/stone/rough.h"

namespace macle {

struct StageBody {
    double volume_mm3 = 0.0;
    TriangleMesh mesh;  // closed; of a cut of several parts their union
};

class StageBodies {
  public:
    // `cutter` must be made from `piece`; both must outlive this.
    StageBodies(const Rough& piece, const RoughCutter& cutter, const Design& design,
                const Placement& placement);

    // The facets of these names are worked. Volumes by inclusion and exclusion over the parts, and
    // checked against the mesh. Throws what RoughCutter::finish throws; Error{Internal} when mesh
    // and volume do not agree.
    StageBody after(const std::set<std::string>& worked) const;

    // How deep the facet's plane lies under the present body, along its normal: the farthest that
    // the body reaches that way, less the plane's place; 0 where the plane is reached already. Of a
    // cut of several parts only what lies within the facet's own part (as far as it is worked)
    // counts, for the facet cuts no other. mm.
    double depth_mm(const std::string& facet, const StageBody& present,
                    const std::set<std::string>& worked) const;

  private:
    Design stage(const std::set<std::string>& worked) const;

    const Rough& piece_;
    const RoughCutter& cutter_;
    const Design& design_;
    Placement placement_;
    double beyond_ = 0.0;  // of no facet's side; in sizes
};

}  // namespace macle
