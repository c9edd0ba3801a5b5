#include "core/fit/walls.h"

#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "core/fit/obstacle_tree.h"

namespace macle {

using Eigen::Vector3d;

namespace {

constexpr double kUnitWithin = 1e-9;

// A square of the wall, around the point of it next to the middle of the rough.
void addSquare(TriangleMesh& mesh, const Wall& wall, const Vector3d& middle, double reach_mm) {
    const Vector3d centre = middle + (wall.offset_mm - wall.normal.dot(middle)) * wall.normal;
    const Vector3d across = reach_mm * wall.normal.unitOrthogonal();
    const Vector3d along = wall.normal.cross(across);
    const auto first = static_cast<std::uint32_t>(mesh.vertices.size());
    for (const auto& [a, b] : {std::pair{1, 1}, {-1, 1}, {-1, -1}, {1, -1}})
        mesh.vertices.push_back(centre + a * across + b * along);
    mesh.triangles.push_back({first, first + 1, first + 2});
    mesh.triangles.push_back({first, first + 2, first + 3});
}

}  // namespace

std::shared_ptr<const ObstacleTree> wallTree(const std::vector<Wall>& walls, const Box& rough) {
    if (walls.empty()) return nullptr;
    ObstacleSurface surface;
    surface.name = "saw";
    surface.closed = false;
    for (const Wall& wall : walls) {
        if (!(std::abs(wall.normal.norm() - 1.0) <= kUnitWithin) || !std::isfinite(wall.offset_mm))
            throw Error(ErrorCode::BadUsage, "A wall has no direction of length 1 or no place.",
                        "Give a normal and an offset in mm.");
        addSquare(surface.mesh, wall, rough.centre(), rough.extent().norm());
    }
    return std::make_shared<const ObstacleTree>(std::vector<ObstacleSurface>{surface},
                                                std::vector<std::string>{surface.name}, nullptr);
}

bool within(const std::vector<Wall>& walls, const Vector3d& point_mm) {
    return std::all_of(walls.begin(), walls.end(), [&](const Wall& wall) {
        return wall.normal.dot(point_mm) < wall.offset_mm;
    });
}

}  // namespace macle
