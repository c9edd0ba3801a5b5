// Facet rows: the facets of a cut as the plan sheet lists them, in working order. Lengths mm,
// angles degrees. Pure; any thread.
#pragma once

#include <string>
#include <vector>

#include "core/bench/facet_groups.h"
#include "core/cut/design.h"

namespace macle {

// One facet, or the whole girdle when all its flats lie equally far from the axis.
struct FacetRow {
    int step = 0;       // place in the working order, from 1
    int group = 0;      // of facetGroups
    std::string facet;  // "pavilion main 3", "girdle 1-64"
    std::vector<std::string> names;
    int count = 1;  // facets in this row; above 1 they stand all round
    double angle_deg = 0.0;
    double azimuth_deg = 0.0;
    // Distance of the plane from the centre of the cut frame (axis at mid-girdle).
    double centre_mm = 0.0;
    // Vertical, from the table plane to the facet's deepest corner.
    double fromTable_mm = 0.0;
};

// Only facets that bound the finished stone. Throws what makeSolid and outerSurface throw.
std::vector<FacetRow> facetRows(const Design& design, double size_mm,
                                const std::vector<FacetGroup>& groups);

}  // namespace macle
