#include "core/fit/walls.h"

#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "core/fit/obstacle_tree.h"

namespace macle {

using Eigen::Vector3d;

namespace {

constexpr double kUnitWithin = 1e-9;
constexpr double kBeyond = 1.01;

// A wall in squares, so that a climb sees where a flat of the cut would meet it.
constexpr int kSquares = 8;

// Around the point of the wall next to the middle of the rough, which is nowhere farther from it
// than `reach_mm`.
void addSquares(TriangleMesh& mesh, const Wall& wall, const Vector3d& middle, double reach_mm) {
    const Vector3d centre = middle + (wall.offset_mm - wall.normal.dot(middle)) * wall.normal;
    const Vector3d across = wall.normal.unitOrthogonal();
    const Vector3d along = wall.normal.cross(across);
    const auto first = static_cast<std::uint32_t>(mesh.vertices.size());
    for (int i = 0; i <= kSquares; ++i)
        for (int j = 0; j <= kSquares; ++j)
            mesh.vertices.push_back(centre + reach_mm * ((2.0 * i / kSquares - 1.0) * across +
                                                         (2.0 * j / kSquares - 1.0) * along));
    for (std::uint32_t i = 0; i < kSquares; ++i)
        for (std::uint32_t j = 0; j < kSquares; ++j) {
            const std::uint32_t corner = first + i * (kSquares + 1) + j;
            const std::uint32_t next = corner + kSquares + 1;
            mesh.triangles.push_back({corner, next, next + 1});
            mesh.triangles.push_back({corner, next + 1, corner + 1});
        }
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
        // Nothing of the rough is farther from its middle than half the diagonal.
        addSquares(surface.mesh, wall, rough.centre(), kBeyond * 0.5 * rough.extent().norm());
    }
    return std::make_shared<const ObstacleTree>(std::vector<ObstacleSurface>{surface},
                                                std::vector<std::string>{surface.name}, nullptr,
                                                false);
}

bool within(const std::vector<Wall>& walls, const Vector3d& point_mm) {
    return std::all_of(walls.begin(), walls.end(), [&](const Wall& wall) {
        return wall.normal.dot(point_mm) < wall.offset_mm;
    });
}

}  // namespace macle
