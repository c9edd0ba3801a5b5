#include "core/stone/mesh.h"

#include <Eigen/Geometry>
#include <cmath>
#include <numbers>

namespace macle {

namespace {

// Neumaier's compensated sum: the error does not grow with the number of triangles.
class Sum {
  public:
    void add(double value) {
        const double next = total_ + value;
        rest_ +=
            std::abs(total_) >= std::abs(value) ? (total_ - next) + value : (value - next) + total_;
        total_ = next;
    }
    double value() const { return total_ + rest_; }

  private:
    double total_ = 0.0;
    double rest_ = 0.0;
};

}  // namespace

Box bounds(const TriangleMesh& mesh) {
    Box box;
    if (mesh.vertices.empty()) return box;
    box.low = box.high = mesh.vertices.front();
    for (const Eigen::Vector3d& vertex : mesh.vertices) {
        box.low = box.low.cwiseMin(vertex);
        box.high = box.high.cwiseMax(vertex);
    }
    return box;
}

double signedVolume_mm3(const TriangleMesh& mesh) {
    const Eigen::Vector3d centre = bounds(mesh).centre();
    Sum sum;
    for (const auto& [a, b, c] : mesh.triangles) {
        const Eigen::Vector3d p = mesh.vertices[a] - centre;
        const Eigen::Vector3d q = mesh.vertices[b] - centre;
        const Eigen::Vector3d r = mesh.vertices[c] - centre;
        sum.add(p.dot(q.cross(r)));
    }
    return sum.value() / 6.0;
}

double area_mm2(const TriangleMesh& mesh) {
    Sum sum;
    for (const auto& [a, b, c] : mesh.triangles)
        sum.add((mesh.vertices[b] - mesh.vertices[a])
                    .cross(mesh.vertices[c] - mesh.vertices[a])
                    .norm());
    return 0.5 * sum.value();
}

bool contains(const TriangleMesh& mesh, const Eigen::Vector3d& point) {
    Sum halfAngles;
    for (const auto& [ia, ib, ic] : mesh.triangles) {
        const Eigen::Vector3d a = mesh.vertices[ia] - point;
        const Eigen::Vector3d b = mesh.vertices[ib] - point;
        const Eigen::Vector3d c = mesh.vertices[ic] - point;
        const double la = a.norm(), lb = b.norm(), lc = c.norm();
        const double triple = a.dot(b.cross(c));
        const double divisor = la * lb * lc + a.dot(b) * lc + b.dot(c) * la + c.dot(a) * lb;
        if (triple != 0.0 || divisor != 0.0) halfAngles.add(std::atan2(triple, divisor));
    }
    // The full angle 4 pi is 2 pi in half angles; inside when nearer to one turn than to none.
    return halfAngles.value() > std::numbers::pi;
}

}  // namespace macle
