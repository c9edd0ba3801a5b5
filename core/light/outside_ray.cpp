#include "core/light/outside_ray.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

namespace macle::light {

SplitLight splitAtFace(const OutsideRay& ray, const Eigen::Vector3d& normal, double index) {
    const Eigen::Vector3d& d = ray.direction;
    const Eigen::Vector3d inward = -normal;
    const double c = std::clamp(d.dot(inward), 0.0, 1.0);
    const Eigen::Vector3d across = d.cross(inward);
    const double sine = across.norm();
    SplitLight split;
    // Straight on: no plane of incidence; the old axis serves, or any across the ray.
    if (sine > 1e-12)
        split.axis = across / sine;
    else if (ray.axis.squaredNorm() > 0.5)
        split.axis = ray.axis;
    else
        split.axis = d.unitOrthogonal();
    const double cosine = ray.axis.dot(split.axis);
    const double turned = d.cross(ray.axis).dot(split.axis);
    const double c2 = cosine * cosine - turned * turned, s2 = 2.0 * cosine * turned;
    const Stokes& l = ray.light;
    const double q = l.q * c2 + l.u * s2, u = l.u * c2 - l.q * s2;

    const double ct = std::sqrt(1.0 - (sine / index) * (sine / index));
    const double rs = (c - index * ct) / (c + index * ct);
    const double rp = (index * c - ct) / (index * c + ct);
    const double half = 0.5 * (rs * rs + rp * rp), odd = 0.5 * (rs * rs - rp * rp);
    split.thrownBack = {half * l.i + odd * q, odd * l.i + half * q, rs * rp * u, rs * rp * l.v};
    const double through = std::sqrt((1.0 - rs * rs) * (1.0 - rp * rp));
    split.goesIn = {l.i - split.thrownBack.i, q - split.thrownBack.q, through * u, through * l.v};
    split.backDirection = d - 2.0 * c * inward;
    split.inDirection = (d / index + (ct - c / index) * inward).normalized();
    return split;
}

}  // namespace macle::light
