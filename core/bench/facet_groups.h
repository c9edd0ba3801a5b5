// Facet groups: which facets of a cut are worked together, and in which order. The order is common
// practice, no source: the table first because all else is measured from it, the girdle rounded
// before the mains, four mains of each half before the further ones, the mains before the small
// facets. Pure; any thread.
#pragma once

#include <string>
#include <vector>

#include "core/cut/design.h"

namespace macle {

enum class FacetGroupKind { Table, Girdle, FirstMains, FurtherMains, Culet, SmallFacets };

struct FacetGroup {
    FacetGroupKind kind = FacetGroupKind::SmallFacets;
    std::string title;                // "First pavilion mains"
    std::string what;                 // a sentence: what to do
    std::vector<std::string> facets;  // names, in the order of the work
};

// Every facet name of the design stands in exactly one group. Parts name what they share alike.
std::vector<FacetGroup> facetGroups(const Design& design);

}  // namespace macle
