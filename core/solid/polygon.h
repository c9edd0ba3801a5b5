// Faces of a solid as rings of corners. Private to core/solid.
#pragma once

#include <Eigen/Geometry>
#include <vector>

#include "core/cut/design.h"

namespace macle {

// Walks the edges of the polygon: visit(corner, next corner).
template <class Visit>
void eachEdge(const std::vector<int>& corners, Visit visit) {
    for (std::size_t c = 0; c < corners.size(); ++c)
        visit(corners[c], corners[(c + 1) % corners.size()]);
}

// Area as seen along the plane's own normal.
inline double polygonArea(const std::vector<int>& corners, const Eigen::Vector3d& normal,
                          const std::vector<Eigen::Vector3d>& points) {
    const auto at = [&](std::size_t c) -> const Eigen::Vector3d& {
        return points[static_cast<std::size_t>(corners[c])];
    };
    Eigen::Vector3d twice = Eigen::Vector3d::Zero();
    for (std::size_t c = 1; c + 1 < corners.size(); ++c)
        twice += (at(c) - at(0)).cross(at(c + 1) - at(0));
    return 0.5 * twice.dot(normal);
}

// From planes and areas; faces by facet, empty where a facet bounds nothing.
inline double volumeByAreas(const std::vector<Facet>& facets,
                            const std::vector<std::vector<int>>& faces,
                            const std::vector<Eigen::Vector3d>& points) {
    double volume = 0.0;
    for (std::size_t k = 0; k < facets.size(); ++k)
        if (!faces[k].empty())
            volume += facets[k].distance * polygonArea(faces[k], facets[k].normal, points) / 3.0;
    return volume;
}

}  // namespace macle
