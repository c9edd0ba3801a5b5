#include "core/bench/reference_choice.h"

#include <Eigen/Geometry>
#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>

#include "core/base/error.h"
#include "core/base/units.h"

namespace macle {

using Eigen::Vector2d;
using Eigen::Vector3d;

namespace {

constexpr std::size_t kPointsGiven = 6;  // three that decide, the others as a check

// Shares of three places that add up to a fourth (barycentric), all in one plane.
struct Shares {
    std::array<Vector2d, 3> slope;
    std::array<double, 3> atOrigin;
    std::array<double, 3> at(const Vector2d& p) const {
        return {atOrigin[0] + slope[0].dot(p), atOrigin[1] + slope[1].dot(p),
                atOrigin[2] + slope[2].dot(p)};
    }
};

std::optional<Shares> sharesOf(const std::array<Vector2d, 3>& foot) {
    Eigen::Matrix3d rows;
    double reach = 0.0;
    for (int i = 0; i < 3; ++i) {
        const Vector2d& p = foot[static_cast<std::size_t>(i)];
        rows.row(i) << p.x(), p.y(), 1.0;
        for (const Vector2d& q : foot)
            reach = std::max(reach, (p - q).squaredNorm());
    }
    constexpr double kInARow = 1e-3;  // of the longest side squared
    if (!(std::abs(rows.determinant()) > kInARow * reach)) return std::nullopt;
    const Eigen::Matrix3d inverse = rows.inverse();
    Shares shares;
    for (int i = 0; i < 3; ++i) {
        shares.slope[static_cast<std::size_t>(i)] = inverse.col(i).head<2>();
        shares.atOrigin[static_cast<std::size_t>(i)] = inverse(2, i);
    }
    return shares;
}

// The plane moves at a point's foot by what its distance is wrong, and in between as straight
// lines do: by each point's share of the place.
ReferenceFirmness firmnessOf(const Shares& shares, const std::vector<Vector2d>& border) {
    const double wrong = tolerance::kGauge_mm;
    const auto worst = [&](const Vector2d& place) {
        double sum = 0.0;
        for (const double share : shares.at(place))
            sum += std::abs(share);
        return wrong * sum;
    };
    ReferenceFirmness firm;
    firm.shift_mm = worst(Vector2d::Zero());
    for (const Vector2d& corner : border)
        firm.edge_mm = std::max(firm.edge_mm, worst(corner));
    double steepest = 0.0;
    for (const double b : {1.0, -1.0})
        for (const double c : {1.0, -1.0})
            steepest = std::max(
                steepest, (shares.slope[0] + b * shares.slope[1] + c * shares.slope[2]).norm());
    firm.tilt_deg = degrees(std::atan(wrong * steepest));
    return firm;
}

}  // namespace

void chooseDeciding(ReferenceFace& face, const std::vector<Vector3d>& tableCorners) {
    const Vector3d right = face.plane.normal.unitOrthogonal();
    const Vector3d up = face.plane.normal.cross(right);
    const auto flat = [&](const Vector3d& p) -> Vector2d {
        return {right.dot(p - face.middle_mm), up.dot(p - face.middle_mm)};
    };
    std::vector<Vector2d> border;
    for (const Vector3d& corner : tableCorners)
        border.push_back(flat(corner));
    auto& points = face.points;
    const auto remaining =
        std::count_if(points.begin(), points.end(), [](const auto& p) { return !p.groundAway(); });
    const bool all = remaining < 3;
    double radius = 0.0;
    for (const Vector2d& corner : border)
        radius = std::max(radius, corner.norm());
    // Many triples hold the border equally; among them the least tilt decides.
    const auto looseness = [&](const ReferenceFirmness& firm) {
        return firm.edge_mm + radius * std::tan(radians(firm.tilt_deg));
    };
    std::array<std::size_t, 3> best{};
    for (std::size_t i = 0; i < points.size(); ++i)
        for (std::size_t j = i + 1; j < points.size(); ++j)
            for (std::size_t k = j + 1; k < points.size(); ++k) {
                if (!all &&
                    (points[i].groundAway() || points[j].groundAway() || points[k].groundAway()))
                    continue;
                const auto shares =
                    sharesOf({flat(points[i].point.place_mm), flat(points[j].point.place_mm),
                              flat(points[k].point.place_mm)});
                if (!shares) continue;
                const ReferenceFirmness firm = firmnessOf(*shares, border);
                if (face.firmness && looseness(firm) >= looseness(*face.firmness)) continue;
                face.firmness = firm;
                best = {i, j, k};
            }
    if (!face.firmness) {
        face.remarks.push_back(
            points.size() < 3
                ? "Only " + std::to_string(points.size()) +
                      " recognisable places are on this piece; three are needed to find the plane."
                : std::string("All recognisable places lie in a row: they do not fix the plane."));
    } else {
        for (const std::size_t one : best)
            points[one].decides = true;
        if (all)
            face.remarks.push_back(
                "Fewer than three recognisable places remain below the plane: some that decide are "
                "ground away with it. Measure before grinding.");
    }
    std::stable_sort(points.begin(), points.end(),
                     [](const auto& a, const auto& b) { return a.decides && !b.decides; });
    if (points.size() > kPointsGiven) points.resize(kPointsGiven);
}

Plane planeFromDistances(const std::array<Vector3d, 3>& points,
                         const std::array<double, 3>& below_mm, const Vector3d& towards) {
    const Vector3d a = points[1] - points[0];
    const Vector3d b = points[2] - points[0];
    const Vector3d across = a.cross(b);
    // n.a and n.b are known; what is left of n stands across both.
    const double da = below_mm[0] - below_mm[1];
    const double db = below_mm[0] - below_mm[2];
    const double area2 = across.squaredNorm();
    const auto none = [] {
        return Error(ErrorCode::NoSolution, "No plane has these distances to the three points.",
                     "Measure again, or choose points that are farther apart.");
    };
    if (!(area2 > 0.0)) throw none();
    const Vector3d within = (da * b.cross(across) + db * across.cross(a)) / area2;
    const double rest2 = 1.0 - within.squaredNorm();
    if (!(rest2 >= 0.0)) throw none();
    const Vector3d rest = std::sqrt(rest2 / area2) * across;
    Plane plane;
    plane.normal = (within + (towards.dot(rest) < 0.0 ? Vector3d(-rest) : rest)).normalized();
    plane.offset_mm = plane.normal.dot(points[0]) + below_mm[0];
    return plane;
}

}  // namespace macle
