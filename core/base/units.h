// Units: length mm, angle degrees at interfaces, mass metric carats (1 ct = 0.2 g exactly),
// density g/cm3. Names carry the unit (`depth_mm`, `crown_deg`).
#pragma once

#include <numbers>

namespace macle {

inline constexpr double kGramsPerCarat = 0.2;  // metric carat, CGPM 1907

// ct = mm3 * (g/cm3) / 200
constexpr double carats(double volume_mm3, double density_g_cm3) {
    return volume_mm3 * density_g_cm3 / 200.0;
}
constexpr double cubicMillimetres(double weight_ct, double density_g_cm3) {
    return weight_ct * 200.0 / density_g_cm3;
}
constexpr double radians(double deg) {
    return deg * std::numbers::pi / 180.0;
}
constexpr double degrees(double rad) {
    return rad * 180.0 / std::numbers::pi;
}

}  // namespace macle
