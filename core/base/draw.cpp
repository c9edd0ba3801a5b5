#include "core/base/draw.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace macle {

std::uint64_t Draw::bits() {
    state_ += 0x9E3779B97F4A7C15ULL;
    std::uint64_t z = state_;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
    return z ^ (z >> 31);
}

double Draw::unit() {
    return static_cast<double>(bits() >> 11) * 0x1.0p-53;
}

double Draw::normal() {
    double sum = -6.0;
    for (int i = 0; i < 12; ++i)
        sum += unit();
    return sum;
}

Eigen::Vector3d Draw::direction() {
    const double z = 2.0 * unit() - 1.0;
    const double turn = 2.0 * std::numbers::pi * unit();
    const double r = std::sqrt(std::max(0.0, 1.0 - z * z));
    return {r * std::cos(turn), r * std::sin(turn), z};
}

std::uint64_t mixed(std::uint64_t a, std::uint64_t b, std::uint64_t c) {
    Draw draw(a);
    Draw next(draw.bits() ^ b);
    Draw last(next.bits() ^ c);
    return last.bits();
}

}  // namespace macle
