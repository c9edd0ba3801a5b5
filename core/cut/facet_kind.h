// The kind of a facet by the name of its row: "star", "crown main", "first pavilion step".
#pragma once

#include <string>

#include "core/cut/design.h"

namespace macle {

// By the words of the name: "table", "culet" and "girdle" by themselves, "star", "upper half",
// "lower half", and crown or pavilion with "main" or "step"; anything else is Other.
FacetKind facetKindOf(const std::string& row);

}  // namespace macle
