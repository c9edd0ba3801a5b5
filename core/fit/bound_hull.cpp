#include "core/fit/bound_hull.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <set>
#include <utility>

namespace macle {

namespace {

using Eigen::Vector3d;

// Normals closer than this are one plane (the triangles of one flat face of the hull).
constexpr double kSameNormal = 1e-9;
// Points that stand out by less, relative to the extent, add no face.
constexpr double kFlat = 1e-10;

struct Face {
    std::array<int, 3> corner{};
    Vector3d normal = Vector3d::Zero();
    double distance = 0.0;
    std::vector<int> outside;
    int farthest = -1;
    double excess = 0.0;
    bool alive = true;
};

class HullOfChosen {
  public:
    HullOfChosen(const std::vector<Vector3d>& points, double extent)
        : points_(points), flat_(kFlat * extent) {}

    // False when the points lie in a plane.
    bool start() {
        std::array<int, 4> first{};
        for (std::size_t i = 0; i < points_.size(); ++i)
            if (points_[i].x() < points_[first[0]].x()) first[0] = static_cast<int>(i);
        double most = 0.0;
        auto take = [&](int place, auto&& measure) {
            most = 0.0;
            for (std::size_t i = 0; i < points_.size(); ++i)
                if (measure(points_[i]) > most) {
                    most = measure(points_[i]);
                    first[place] = static_cast<int>(i);
                }
            return most > flat_;
        };
        const Vector3d a = points_[first[0]];
        if (!take(1, [&](const Vector3d& p) { return (p - a).norm(); })) return false;
        const Vector3d line = (points_[first[1]] - a).normalized();
        if (!take(2, [&](const Vector3d& p) { return (p - a).cross(line).norm(); })) return false;
        const Vector3d normal = (points_[first[1]] - a).cross(points_[first[2]] - a).normalized();
        if (!take(3, [&](const Vector3d& p) { return std::abs((p - a).dot(normal)); }))
            return false;
        if ((points_[first[3]] - a).dot(normal) > 0.0) std::swap(first[1], first[2]);
        addFace(first[0], first[1], first[2]);
        addFace(first[0], first[3], first[1]);
        addFace(first[1], first[3], first[2]);
        addFace(first[2], first[3], first[0]);
        std::vector<int> all(points_.size());
        for (std::size_t i = 0; i < all.size(); ++i)
            all[i] = static_cast<int>(i);
        share(all, 0);
        return true;
    }

    // Takes in the point that stands out most, until none does or there are `most` faces.
    void grow(std::size_t most) {
        std::size_t alive = faces_.size();
        while (alive < most) {
            int next = -1;
            for (std::size_t f = 0; f < faces_.size(); ++f)
                if (faces_[f].alive && faces_[f].farthest >= 0 &&
                    (next < 0 || faces_[f].excess > faces_[next].excess))
                    next = static_cast<int>(f);
            if (next < 0) return;
            if (!takeIn(faces_[next].farthest)) {
                faces_[next].farthest = -1;
                faces_[next].outside.clear();
            }
            alive = 0;
            for (const Face& face : faces_)
                alive += face.alive ? 1 : 0;
            if (faces_.size() > 4 * alive + 64)
                std::erase_if(faces_, [](const Face& face) { return !face.alive; });
        }
    }

    std::vector<Vector3d> normals() const {
        std::vector<Vector3d> found;
        for (const Face& face : faces_) {
            if (!face.alive || !face.normal.allFinite() || face.normal.squaredNorm() < 0.5)
                continue;
            const bool seen = std::any_of(found.begin(), found.end(), [&](const Vector3d& n) {
                return (n - face.normal).squaredNorm() < kSameNormal * kSameNormal;
            });
            if (!seen) found.push_back(face.normal);
        }
        return found;
    }

  private:
    void addFace(int a, int b, int c) {
        Face face;
        face.corner = {a, b, c};
        face.normal = (points_[b] - points_[a]).cross(points_[c] - points_[a]);
        const double length = face.normal.norm();
        if (length > 0.0) face.normal /= length;
        face.distance = face.normal.dot(points_[a]);
        faces_.push_back(std::move(face));
    }

    void share(const std::vector<int>& loose, std::size_t firstFace) {
        for (const int i : loose) {
            Face* best = nullptr;
            double most = flat_;
            for (std::size_t f = firstFace; f < faces_.size(); ++f) {
                if (!faces_[f].alive) continue;
                const double excess = faces_[f].normal.dot(points_[i]) - faces_[f].distance;
                if (excess > most) {
                    most = excess;
                    best = &faces_[f];
                }
            }
            if (!best) continue;
            best->outside.push_back(i);
            if (best->farthest < 0 || most > best->excess) {
                best->farthest = i;
                best->excess = most;
            }
        }
    }

    bool takeIn(int point) {
        std::set<std::pair<int, int>> edges;
        std::vector<int> loose;
        for (Face& face : faces_) {
            if (!face.alive) continue;
            if (face.normal.dot(points_[point]) - face.distance <= flat_) continue;
            face.alive = false;
            for (int i = 0; i < 3; ++i)
                edges.insert({face.corner[i], face.corner[(i + 1) % 3]});
            loose.insert(loose.end(), face.outside.begin(), face.outside.end());
            face.outside.clear();
        }
        if (edges.empty()) return false;
        const std::size_t firstNew = faces_.size();
        for (const auto& [a, b] : edges)
            if (!edges.count({b, a})) addFace(a, b, point);
        std::sort(loose.begin(), loose.end());
        share(loose, firstNew);
        return true;
    }

    const std::vector<Vector3d>& points_;
    double flat_;
    std::vector<Face> faces_;
};

}  // namespace

std::vector<SupportPlane> supportPlanes(const std::vector<Vector3d>& points, std::size_t most) {
    Vector3d low = points.front(), high = low;
    for (const Vector3d& p : points) {
        low = low.cwiseMin(p);
        high = high.cwiseMax(p);
    }
    const double extent = std::max((high - low).norm(), std::numeric_limits<double>::min());
    std::vector<Vector3d> normals;
    HullOfChosen hull(points, extent);
    if (hull.start()) {
        hull.grow(most);
        normals = hull.normals();
    }
    for (int axis = 0; axis < 3; ++axis) {
        normals.push_back(Vector3d::Unit(axis));
        normals.push_back(-Vector3d::Unit(axis));
    }
    std::vector<SupportPlane> planes;
    for (const Vector3d& normal : normals) {
        double farthest = -std::numeric_limits<double>::infinity();
        for (const Vector3d& p : points)
            farthest = std::max(farthest, normal.dot(p));
        const double size = std::max(low.cwiseAbs().maxCoeff(), high.cwiseAbs().maxCoeff());
        planes.push_back({normal, farthest + 8.0 * std::numeric_limits<double>::epsilon() * size});
    }
    return planes;
}

}  // namespace macle
