// Inside the defects: a thin sheet as triangles. Private to core/stone.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/stone/defect.h"

namespace macle::sheet {

// More corners than anyone marks by hand; checks and triangulation are quadratic.
inline constexpr std::size_t kMostCorners = 1000;

// What is wrong with the polygon, in words, or nothing: fewer than three corners, repeated
// corners, no area, not plane within tolerance::kSheetPlanar_mm, crossing or touching itself.
std::optional<std::string> faultOf(const Sheet& sheet);

// Triangles over the corners of a faultless sheet, by clipping ears. None is lost: n - 2.
std::vector<std::array<std::uint32_t, 3>> triangulate(const Sheet& sheet);

}  // namespace macle::sheet
