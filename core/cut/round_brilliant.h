// Round brilliant from its proportions, by exact relations (R = 1/2): see the .cpp for each.
// Percent of the girdle diameter, star and lower half as percent of their projected run.
//
// Girdle convention: the outline is a regular 64-gon INSCRIBED in the girdle circle, with corners
// at the azimuths of all mains and half joints, so that D at the mains is exactly the size and the
// crown and pavilion meets lie on the girdle corners. With girdle 0 (knife edge) there are no
// girdle flats and the outline is the 16-gon of the halves' meets.
#pragma once

#include <vector>

#include "core/cut/design.h"

namespace macle {

struct RoundProportions {
    double table_percent = 56.0;  // corner to corner
    double crown_deg = 34.5;
    double pavilion_deg = 40.75;
    double girdle_percent = 3.0;  // thickness at the mains
    double star_percent = 50.0;
    double lower_half_percent = 77.0;
    double culet_percent = 0.0;  // width across; 0 is a point (57 facets, else 58)
};

// Throws Error{BadUsage} naming the proportion that is out of range (of resources/cuts/round.json)
// or the pair that cannot meet.
Design roundBrilliant(const RoundProportions& proportions);

// The facets alone, for proportions within their ranges. Throws Error{BadUsage} naming the pair
// that cannot meet.
std::vector<Facet> roundBrilliantFacets(const RoundProportions& proportions);

}  // namespace macle
