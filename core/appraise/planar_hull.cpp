#include "core/appraise/planar_hull.h"

#include <algorithm>

namespace macle {

using Eigen::Vector2d;

std::vector<Vector2d> planarHull(std::vector<Vector2d> points) {
    std::sort(points.begin(), points.end(), [](const Vector2d& a, const Vector2d& b) {
        return a.x() < b.x() || (a.x() == b.x() && a.y() < b.y());
    });
    points.erase(std::unique(points.begin(), points.end()), points.end());
    if (points.size() < 3) return points;
    std::vector<Vector2d> hull;
    for (int side = 0; side < 2; ++side) {
        const std::size_t begin = hull.size();
        for (const Vector2d& p : points) {
            while (hull.size() >= begin + 2) {
                const Vector2d a = hull.back() - hull[hull.size() - 2];
                const Vector2d b = p - hull.back();
                if (a.x() * b.y() - a.y() * b.x() > 0.0) break;
                hull.pop_back();
            }
            hull.push_back(p);
        }
        hull.pop_back();
        std::reverse(points.begin(), points.end());
    }
    return hull;
}

double hullLength(const std::vector<Vector2d>& hull) {
    double length = 0.0;
    for (std::size_t i = 0; i < hull.size(); ++i)
        length += (hull[(i + 1) % hull.size()] - hull[i]).norm();
    return length;
}

double hullWidest(const std::vector<Vector2d>& hull) {
    double widest = 0.0;
    for (std::size_t i = 0; i < hull.size(); ++i)
        for (std::size_t j = 0; j < i; ++j)
            widest = std::max(widest, (hull[i] - hull[j]).norm());
    return widest;
}

}  // namespace macle
