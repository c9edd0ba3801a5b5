// Grain: how each facet lies to the crystal, where it polishes easily, and where it hardly polishes
// at all. Sources: cleavage and the facet that takes no polish, parallel to an octahedron face: J.
// Mawe's treatise on diamonds (early 19th century), p. 76; easy directions: four along the cube
// axes on a cube face, two along the cube axis on a dodecahedron face, none on an octahedron face:
// Kraus and Slawson, American Mineralogist 24 (1939) 661-676; that an octahedron face is easier
// towards the dodecahedron than towards the cube: a trade dictionary (other accounts turn this
// round, so the sense there is a first try only). Stone frame, degrees. Pure; any thread.
#pragma once

#include <Eigen/Core>
#include <string>
#include <vector>

#include "core/appraise/reason.h"
#include "core/cut/design.h"
#include "core/cut/placement.h"
#include "core/stone/crystal_axes.h"

namespace macle {

struct GrainRules {
    double warn_deg = 3.0;  // a polished facet nearer to an octahedral plane is warned of
};

// A direction in a facet along which the wheel should run.
struct EasyDirection {
    Eigen::Vector3d direction;  // unit, in the facet, stone frame
    std::string axis;           // the cube axis it follows: "[001]"
    double axisOff_deg = 0.0;   // between that axis and the facet; the smaller the easier
    // The axis lies nearly in the facet: either sense. Otherwise this sense first, which runs from
    // the octahedron's corner towards its edge.
    bool bothWays = false;
};

struct FacetGrain {
    std::string facet;
    FacetKind kind = FacetKind::Other;
    int part = 0;
    double toOctahedron_deg = 0.0;  // between the facet and the nearest octahedral plane, 0..54.74
    double toCube_deg = 0.0;
    double toDodecahedron_deg = 0.0;
    std::vector<EasyDirection> easy;  // easiest first; none where the facet is warned of
    bool polished = true;             // girdle flats are rounded by bruting: never warned of
    bool warned = false;
    std::string text;  // "13.99 deg off an octahedral plane; easy along [100], both ways"
};

struct GrainReading {
    TableInCrystal table;
    std::vector<FacetGrain> facets;  // in the order of the design, those that bound it
    double worst_deg = 0.0;          // least angle to an octahedral plane over polished facets
    std::string worstFacet;
    int warned = 0;
    Reasons reasons;
};

// Throws Error{BadUsage} for a limit outside 0..54.74 degrees and what makeSolid throws.
GrainReading readGrain(const CrystalAxes& axes, const Design& design, const Placement& placement,
                       const GrainRules& rules = {});

// The same for one facet by its outward normal in the stone frame.
FacetGrain facetGrain(const CrystalAxes& axes, const Eigen::Vector3d& normal,
                      const GrainRules& rules = {});

// Into how many equal turns about its axis the design's facets fall upon themselves (8 for a round
// brilliant); 1 when only a whole turn does it. At most 16 is looked for.
int turnsOf(const Design& design);

}  // namespace macle
