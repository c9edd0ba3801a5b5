// Inside the saws: their form in JSON (resources/schemas/saws.schema.json), shared by lists of saws
// and layouts. Private to core.
#pragma once

#include "core/divide/saw.h"
#include "core/stone/defect_json.h"

namespace macle::saw_json {

using Json = nlohmann::json;

// Pieces are counted from 1 in JSON. Throws Error{BadInput} naming the place.
std::vector<Saw> sawsFrom(const Json& list, const defect_json::Place& whole);
Json asJson(const std::vector<Saw>& saws);

}  // namespace macle::saw_json
