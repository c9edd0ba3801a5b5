#include "core/light/fresnel.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "core/base/units.h"

namespace macle {
namespace {

// `cosine` on the side of index n1.
Reflectances reflectances(double n1, double n2, double cosine) {
    const double sine = std::sqrt(std::max(0.0, 1.0 - cosine * cosine)) * n1 / n2;
    if (sine >= 1.0) return {1.0, 1.0};
    const double beyond = std::sqrt(1.0 - sine * sine);
    const double s = (n1 * cosine - n2 * beyond) / (n1 * cosine + n2 * beyond);
    const double p = (n2 * cosine - n1 * beyond) / (n2 * cosine + n1 * beyond);
    return {s * s, p * p};
}

}  // namespace

Reflectances reflectanceOutside(double index, double angle_deg) {
    return reflectances(1.0, index, std::cos(radians(angle_deg)));
}

Reflectances reflectanceInside(double index, double angle_deg) {
    return reflectances(index, 1.0, std::cos(radians(angle_deg)));
}

double criticalAngle_deg(double index) {
    return degrees(std::asin(1.0 / index));
}

double brewsterAngle_deg(double index) {
    return degrees(std::atan(index));
}

double diffuseReflectance(double index) {
    // Five points of Gauss and Legendre on each of many equal strips of the angle.
    constexpr std::array<double, 5> kAt{0.0, 0.5384693101056831, -0.5384693101056831,
                                        0.9061798459386640, -0.9061798459386640};
    constexpr std::array<double, 5> kWeight{0.5688888888888889, 0.4786286704993665,
                                            0.4786286704993665, 0.2369268850561891,
                                            0.2369268850561891};
    constexpr int kStrips = 256;
    double sum = 0.0;
    for (int strip = 0; strip < kStrips; ++strip)
        for (std::size_t i = 0; i < kAt.size(); ++i) {
            const double angle = radians(90.0) * (strip + 0.5 * (1.0 + kAt[i])) / kStrips;
            sum += kWeight[i] * std::sin(2.0 * angle) *
                   reflectances(1.0, index, std::cos(angle)).mean();
        }
    return sum * radians(90.0) / (2.0 * kStrips);
}

}  // namespace macle
