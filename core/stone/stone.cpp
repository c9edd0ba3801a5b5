#include "core/stone/stone.h"

#include <cmath>

#include "core/base/numbers.h"
#include "core/base/units.h"

namespace macle {

namespace {

// Of the factor: the last digits that a quotient of two weights leaves unsure are dropped, so that
// a piece, weighed by its share of the scale weight, has the same factor to the bit.
constexpr int kFactorBits = 50;

double withoutLastDigits(double factor) {
    int exponent = 0;
    const double mantissa = std::frexp(factor, &exponent);
    return std::ldexp(std::round(std::ldexp(mantissa, kFactorBits)), exponent - kFactorBits);
}

}  // namespace

double scanWeight_ct(const Stone& stone) {
    return carats(stone.rough.volume_mm3, stone.material.density_g_cm3);
}

double weightFactor(const Stone& stone) {
    const double scan_ct = scanWeight_ct(stone);
    if (stone.trusted != TrustedWeight::Scale || !stone.scale_ct || !(scan_ct > 0.0)) return 1.0;
    return withoutLastDigits(*stone.scale_ct / scan_ct);
}

double caratsOf(const Stone& stone, double volume_mm3) {
    return weightFactor(stone) * carats(volume_mm3, stone.material.density_g_cm3);
}

std::string weightBasis(const Stone& stone) {
    if (stone.trusted != TrustedWeight::Scale || !stone.scale_ct) return {};
    const double off_percent = 100.0 * (1.0 / std::cbrt(weightFactor(stone)) - 1.0);
    return "Weights scaled to the scale weight " + formatFixed(*stone.scale_ct, 3) +
           " ct; by the scan the rough weighs " + formatFixed(scanWeight_ct(stone), 3) +
           " ct. Lengths are those of the scan, " + formatFixed(std::abs(off_percent), 2) +
           " % too " + (off_percent >= 0.0 ? "long" : "short") + " if one factor is to blame.";
}

}  // namespace macle
