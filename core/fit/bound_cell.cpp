#include "core/fit/bound_cell.h"

#include <cmath>
#include <numbers>

namespace macle {

namespace {

using Eigen::Vector3d;

constexpr double kPi = std::numbers::pi;
constexpr int kSquares = 5;  // root cells along x and along y

}  // namespace

Eigen::Quaterniond RotationCell::base() const {
    const Vector3d middle = centre();
    const Eigen::Quaterniond tilt =
        Eigen::Quaterniond(1.0, middle.x(), middle.y(), 0.0).normalized();
    return flipped ? Eigen::Quaterniond(0.0, 1.0, 0.0, 0.0) * tilt : tilt;
}

std::array<Vector3d, 8> RotationCell::rodriguesCorners() const {
    // Each component of r, and so each linear function of r, is a ratio of functions linear in
    // x - x0, in y - y0 and in tan((spin - spin0) / 2) one at a time, with a positive denominator,
    // so that its extremes are at corners.
    const Vector3d middle = centre();
    std::array<Vector3d, 8> corners;
    for (int corner = 0; corner < 8; ++corner) {
        const double dx = (corner & 1 ? high : low).x() - middle.x();
        const double dy = (corner & 2 ? high : low).y() - middle.y();
        const double e = std::tan(0.5 * ((corner & 4 ? high : low).z() - middle.z()));
        const double w = 1.0 + middle.x() * middle.x() + middle.y() * middle.y() + middle.x() * dx +
                         middle.y() * dy;
        const Vector3d tilt(dx, dy, middle.y() * dx - middle.x() * dy);
        const Vector3d spun(tilt.x() + tilt.y() * e, tilt.y() - tilt.x() * e, tilt.z() + w * e);
        corners[corner] = spun / (w - tilt.z() * e);
    }
    return corners;
}

std::vector<RotationCell> coverRotations(const DesignSymmetry& symmetry) {
    std::vector<RotationCell> cells;
    const double turn = 2.0 * kPi / symmetry.order;
    const int spins = static_cast<int>(std::ceil(turn / (0.25 * kPi) - 1e-9));
    // A little over the turn, so that rounding leaves no gap at the seam.
    const double whole = turn * (1.0 + 1e-12);
    for (int face = 0; face < (symmetry.flips ? 1 : 2); ++face)
        for (int spin = 0; spin < spins; ++spin)
            for (int i = 0; i < kSquares; ++i)
                for (int j = 0; j < kSquares; ++j) {
                    RotationCell cell;
                    cell.flipped = face == 1;
                    auto edge = [](int k) { return -1.0 + 2.0 * k / kSquares; };
                    cell.low = Vector3d(edge(i), edge(j), whole * spin / spins);
                    cell.high = Vector3d(edge(i + 1), edge(j + 1), whole * (spin + 1) / spins);
                    const Vector3d nearest =
                        Vector3d::Zero().cwiseMax(cell.low).cwiseMin(cell.high);
                    if (nearest.head<2>().squaredNorm() > 1.0 + 1e-9) continue;
                    cells.push_back(cell);
                }
    return cells;
}

}  // namespace macle
