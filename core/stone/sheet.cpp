#include "core/stone/sheet.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/tolerance.h"

namespace macle::sheet {

namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;

Vector3d middleOf(const Sheet& sheet) {
    Vector3d sum = Vector3d::Zero();
    for (const Vector3d& corner : sheet.corners_mm)
        sum += corner;
    return sum / static_cast<double>(sheet.corners_mm.size());
}

// Newell's normal: its length is twice the area, and it needs no three good corners.
Vector3d areaNormal(const Sheet& sheet) {
    const Vector3d middle = middleOf(sheet);
    Vector3d normal = Vector3d::Zero();
    const std::size_t n = sheet.corners_mm.size();
    for (std::size_t i = 0; i < n; ++i)
        normal += (sheet.corners_mm[i] - middle).cross(sheet.corners_mm[(i + 1) % n] - middle);
    return normal;
}

// The corners in their plane, counter-clockwise.
std::vector<Vector2d> flattened(const Sheet& sheet) {
    const Vector3d normal = areaNormal(sheet).normalized();
    const Vector3d u = normal.unitOrthogonal();
    const Vector3d v = normal.cross(u);
    const Vector3d middle = middleOf(sheet);
    std::vector<Vector2d> corners;
    for (const Vector3d& corner : sheet.corners_mm)
        corners.emplace_back(u.dot(corner - middle), v.dot(corner - middle));
    return corners;
}

double turn(const Vector2d& a, const Vector2d& b, const Vector2d& c) {
    return (b - a).x() * (c - a).y() - (b - a).y() * (c - a).x();
}

int sideOf(const Vector2d& a, const Vector2d& b, const Vector2d& c) {
    // Nearer to the line than the tolerance counts as on it.
    const double area = turn(a, b, c);
    const double slack = tolerance::kInside_mm * (b - a).norm();
    return area > slack ? 1 : area < -slack ? -1 : 0;
}

bool withinBox(const Vector2d& a, const Vector2d& b, const Vector2d& p) {
    return p.x() >= std::min(a.x(), b.x()) - tolerance::kInside_mm &&
           p.x() <= std::max(a.x(), b.x()) + tolerance::kInside_mm &&
           p.y() >= std::min(a.y(), b.y()) - tolerance::kInside_mm &&
           p.y() <= std::max(a.y(), b.y()) + tolerance::kInside_mm;
}

bool segmentsMeet(const Vector2d& a, const Vector2d& b, const Vector2d& c, const Vector2d& d) {
    const int abc = sideOf(a, b, c), abd = sideOf(a, b, d);
    const int cda = sideOf(c, d, a), cdb = sideOf(c, d, b);
    if (abc * abd < 0 && cda * cdb < 0) return true;
    return (abc == 0 && withinBox(a, b, c)) || (abd == 0 && withinBox(a, b, d)) ||
           (cda == 0 && withinBox(c, d, a)) || (cdb == 0 && withinBox(c, d, b));
}

}  // namespace

std::optional<std::string> faultOf(const Sheet& sheet) {
    const std::size_t n = sheet.corners_mm.size();
    if (n < 3) return "a sheet needs at least 3 corners, but has " + std::to_string(n);
    if (n > kMostCorners)
        return "a sheet may have at most " + std::to_string(kMostCorners) + " corners, but has " +
               std::to_string(n);
    for (const Vector3d& corner : sheet.corners_mm)
        if (!corner.allFinite()) return std::string("a corner is not finite");
    for (std::size_t i = 0; i < n; ++i)
        if ((sheet.corners_mm[i] - sheet.corners_mm[(i + 1) % n]).norm() <= tolerance::kInside_mm)
            return "corners " + std::to_string(i + 1) + " and " + std::to_string((i + 1) % n + 1) +
                   " are the same";
    const Vector3d area = areaNormal(sheet);
    double round = 0.0;
    for (std::size_t i = 0; i < n; ++i)
        round += (sheet.corners_mm[(i + 1) % n] - sheet.corners_mm[i]).norm();
    if (!(area.norm() > tolerance::kInside_mm * round))
        return std::string("the corners enclose no area");
    const Vector3d normal = area.normalized();
    const Vector3d middle = middleOf(sheet);
    for (std::size_t i = 0; i < n; ++i) {
        const double off = std::abs(normal.dot(sheet.corners_mm[i] - middle));
        if (off > tolerance::kSheetPlanar_mm)
            return "corner " + std::to_string(i + 1) + " lies " + formatFixed(off, 3) +
                   " mm off the plane of the sheet";
    }
    const auto flat = flattened(sheet);
    for (std::size_t i = 0; i < n; ++i)
        for (std::size_t j = i + 1; j < n; ++j) {
            const std::size_t iNext = (i + 1) % n, jNext = (j + 1) % n;
            // Neighbouring sides meet at their corner by right; only turning back is a fault.
            const bool meet = iNext == j ? sideOf(flat[i], flat[j], flat[jNext]) == 0 &&
                                               (flat[i] - flat[j]).dot(flat[jNext] - flat[j]) > 0.0
                              : jNext == i
                                  ? sideOf(flat[j], flat[i], flat[iNext]) == 0 &&
                                        (flat[j] - flat[i]).dot(flat[iNext] - flat[i]) > 0.0
                                  : segmentsMeet(flat[i], flat[iNext], flat[j], flat[jNext]);
            if (meet)
                return "the sides after corners " + std::to_string(i + 1) + " and " +
                       std::to_string(j + 1) + " cross or touch";
        }
    return std::nullopt;
}

std::vector<std::array<std::uint32_t, 3>> triangulate(const Sheet& sheet) {
    const auto flat = flattened(sheet);
    std::vector<std::uint32_t> left(flat.size());
    for (std::uint32_t i = 0; i < left.size(); ++i)
        left[i] = i;
    std::vector<std::array<std::uint32_t, 3>> triangles;
    const auto isEar = [&](std::size_t i) {
        const std::size_t n = left.size();
        const std::uint32_t a = left[(i + n - 1) % n], b = left[i], c = left[(i + 1) % n];
        if (turn(flat[a], flat[b], flat[c]) <= 0.0) return false;
        return std::none_of(left.begin(), left.end(), [&](std::uint32_t p) {
            return p != a && p != b && p != c && turn(flat[a], flat[b], flat[p]) >= 0.0 &&
                   turn(flat[b], flat[c], flat[p]) >= 0.0 && turn(flat[c], flat[a], flat[p]) >= 0.0;
        });
    };
    const auto isStraight = [&](std::size_t i) {
        const std::size_t n = left.size();
        return sideOf(flat[left[(i + n - 1) % n]], flat[left[(i + 1) % n]], flat[left[i]]) == 0;
    };
    std::size_t from = 0;
    while (left.size() > 3) {
        const std::size_t n = left.size();
        std::size_t ear = n;
        for (std::size_t step = 0; step < n && ear == n; ++step)
            if (isEar((from + step) % n)) ear = (from + step) % n;
        // Rounding can leave only straight corners; they are worth no area.
        for (std::size_t step = 0; step < n && ear == n; ++step)
            if (isStraight((from + step) % n)) ear = (from + step) % n;
        require(ear < n, "every simple polygon has an ear");
        triangles.push_back({left[(ear + n - 1) % n], left[ear], left[(ear + 1) % n]});
        left.erase(left.begin() + static_cast<std::ptrdiff_t>(ear));
        from = ear % left.size();
    }
    triangles.push_back({left[0], left[1], left[2]});
    return triangles;
}

}  // namespace macle::sheet
