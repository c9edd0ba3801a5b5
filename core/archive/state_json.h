// What can change about an open stone, as JSON: all of a Stone but its rough, and its layouts.
// The one form in which the stone file, its history and its approvals hold it. Keys are sorted and
// numbers exact, so equal states give equal text. Private to archive.
#pragma once

#include <nlohmann/json.hpp>
#include <vector>

#include "core/archive/surface_shelf.h"
#include "core/divide/layout.h"
#include "core/stone/defect_json.h"
#include "core/stone/stone.h"

namespace macle::archive {

using Json = nlohmann::json;

// Surfaces of defects and colour zones go onto the shelf.
Json stoneJson(const Stone& stone, SurfaceShelf& shelf);
Json layoutJson(const Layout& layout);
Json layoutsJson(const std::vector<Layout>& layouts);

// Fills all of `stone` but its rough. Throws Error{BadInput} saying which entry and field.
void readStone(const Json& json, const SurfaceShelf& shelf, Stone& stone);
// A layout of a works' own cut carries the cut's file; `layoutsFrom` makes it known to the library
// (names of those that replace another form go to `replaced`), `layoutFrom` only reads the layout.
Layout layoutFrom(const Json& json, const defect_json::Place& place);
std::vector<Layout> layoutsFrom(const Json& json, const std::string& source,
                                std::vector<std::string>* replaced = nullptr);
std::vector<std::string> learnCutsOf(const Json& layout, const defect_json::Place& place);

// A whole list; `file` only for messages.
std::vector<Layout> readLayoutList(const std::filesystem::path& file, const std::string& text);

Json parse(const std::string& text, const char* what);  // Error{BadInput} when it is not JSON

}  // namespace macle::archive
