// FacetEdit as JSON, for cut files and layouts.
#pragma once

#include <nlohmann/json.hpp>

#include "core/cut/facet_edit.h"

namespace macle {

// {"add"|"tilt"|"turn"|"shift"|"remove": facet, "row": bool, ...} with the numbers named as in
// FacetEdit. Throws Error{BadInput} for a word that does not belong.
FacetEdit facetEditFrom(const nlohmann::ordered_json& json);
nlohmann::ordered_json facetEditJson(const FacetEdit& edit);

}  // namespace macle
