#include "core/light/observer.h"

#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "core/base/units.h"

namespace macle {
namespace {

constexpr int kFirst_nm = 380, kLast_nm = 780;

// CIE 15:2004, standard illuminant D65 every 10 nm from 380; between them it runs straight, by its
// definition.
constexpr std::array<double, 41> kD65{49.9755, 54.6482, 82.7549, 91.4860, 93.4318, 86.6823, 104.865,
                                      117.008, 117.812, 114.861, 115.923, 108.811, 109.354, 107.802,
                                      104.790, 107.689, 104.405, 104.046, 100.000, 96.3342, 95.7880,
                                      88.6856, 90.0062, 89.5991, 87.6987, 83.2886, 83.6992, 80.0268,
                                      80.2146, 82.2778, 78.2842, 69.7213, 71.6091, 74.3490, 61.6040,
                                      69.8856, 75.0870, 63.5927, 46.4182, 66.8054, 63.3828};

double lobe(double wavelength_nm, double centre, double below, double above) {
    const double t = (wavelength_nm - centre) * (wavelength_nm < centre ? below : above);
    return std::exp(-0.5 * t * t);
}

// White of the linear sRGB space, IEC 61966-2-1.
constexpr Xyz kSrgbWhite{0.9505, 1.0, 1.0890};

double labCurve(double t) {
    constexpr double kEdge = 6.0 / 29.0;
    return t > kEdge * kEdge * kEdge ? std::cbrt(t) : t / (3.0 * kEdge * kEdge) + 4.0 / 29.0;
}

std::uint8_t companded(double linear) {
    const double c = std::clamp(linear, 0.0, 1.0);
    const double s = c <= 0.0031308 ? 12.92 * c : 1.055 * std::pow(c, 1.0 / 2.4) - 0.055;
    return static_cast<std::uint8_t>(std::lround(255.0 * s));
}

}  // namespace

Xyz matchingFunctions(double w) {
    return {0.362 * lobe(w, 442.0, 0.0624, 0.0374) + 1.056 * lobe(w, 599.8, 0.0264, 0.0323) -
                0.065 * lobe(w, 501.1, 0.0490, 0.0382),
            0.821 * lobe(w, 568.8, 0.0213, 0.0247) + 0.286 * lobe(w, 530.9, 0.0613, 0.0322),
            1.217 * lobe(w, 437.0, 0.0845, 0.0278) + 0.681 * lobe(w, 459.0, 0.0385, 0.0725)};
}

double daylight(double wavelength_nm) {
    if (!(wavelength_nm >= kFirst_nm && wavelength_nm <= kLast_nm)) return 0.0;
    const double at = (wavelength_nm - kFirst_nm) / 10.0;
    const auto below = std::min(static_cast<std::size_t>(at), kD65.size() - 2);
    const double part = at - static_cast<double>(below);
    return kD65[below] * (1.0 - part) + kD65[below + 1] * part;
}

Xyz daylightWhite() {
    static const Xyz white = daylightWeights({550.0}).front();
    return white;
}

double Lab::chroma() const {
    return std::hypot(a, b);
}

double Lab::hue_deg() const {
    if (a == 0.0 && b == 0.0) return 0.0;
    const double hue = degrees(std::atan2(b, a));
    return hue < 0.0 ? hue + 360.0 : hue;
}

Lab toLab(const Xyz& colour) {
    const Xyz white = daylightWhite();
    const double x = labCurve(colour.x / white.x), y = labCurve(colour.y / white.y),
                 z = labCurve(colour.z / white.z);
    return {116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)};
}

std::array<std::uint8_t, 3> toSrgb(const Xyz& colour, double exposure) {
    // The fit's white and the standard's differ in the third digit; white must stay white.
    const Xyz white = daylightWhite();
    const double x = exposure * colour.x / white.x * kSrgbWhite.x;
    const double y = exposure * colour.y / white.y * kSrgbWhite.y;
    const double z = exposure * colour.z / white.z * kSrgbWhite.z;
    return {companded(3.2406 * x - 1.5372 * y - 0.4986 * z),
            companded(-0.9689 * x + 1.8758 * y + 0.0415 * z),
            companded(0.0557 * x - 0.2040 * y + 1.0570 * z)};
}

std::vector<Xyz> daylightWeights(const std::vector<double>& wavelengths_nm) {
    if (wavelengths_nm.empty() ||
        std::adjacent_find(wavelengths_nm.begin(), wavelengths_nm.end(),
                           [](double a, double b) { return !(a < b); }) != wavelengths_nm.end())
        throw Error(ErrorCode::BadUsage, "The wavelengths do not ascend.", "Give each once.");
    std::vector<Xyz> weights(wavelengths_nm.size());
    double sum = 0.0;
    for (int nm = kFirst_nm; nm <= kLast_nm; ++nm) {
        const Xyz cmf = matchingFunctions(nm);
        const double light = daylight(nm);
        sum += light * cmf.y;
        const auto above = std::upper_bound(wavelengths_nm.begin(), wavelengths_nm.end(), nm);
        const auto add = [&](std::ptrdiff_t i, double share) {
            Xyz& w = weights[static_cast<std::size_t>(i)];
            w.x += share * light * cmf.x;
            w.y += share * light * cmf.y;
            w.z += share * light * cmf.z;
        };
        const std::ptrdiff_t next = above - wavelengths_nm.begin();
        if (next == 0) {
            add(0, 1.0);
        } else if (above == wavelengths_nm.end()) {
            add(next - 1, 1.0);
        } else {
            const double low = *(above - 1), part = (nm - low) / (*above - low);
            add(next - 1, 1.0 - part);
            add(next, part);
        }
    }
    for (Xyz& w : weights)
        w = {w.x / sum, w.y / sum, w.z / sum};
    return weights;
}

}  // namespace macle
