// Triangles for a plane region given by its directed border (CGAL constrained Delaunay).
// Private to solid.
#pragma once

#include <Eigen/Core>
#include <array>
#include <cstdint>
#include <optional>
#include <utility>
#include <vector>

namespace macle {

struct BorderEdge {
    std::uint32_t from = 0;
    std::uint32_t to = 0;
};

// `places` are coordinates in the plane by vertex number, `border` has the region on its left;
// several loops and holes are fine. Triangles are counter-clockwise and use border vertices only.
// Nothing when the border crosses itself or does not close.
std::optional<std::vector<std::array<std::uint32_t, 3>>> fillBorder(
    const std::vector<std::pair<std::uint32_t, Eigen::Vector2d>>& places,
    const std::vector<BorderEdge>& border);

}  // namespace macle
