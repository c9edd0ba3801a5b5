#include "core/cut/design.h"

#include <cmath>

#include "core/base/tolerance.h"
#include "core/base/units.h"

namespace macle {

double facetAngle_deg(const Facet& facet) {
    const double across = std::hypot(facet.normal.x(), facet.normal.y());
    return degrees(std::atan2(across, std::abs(facet.normal.z())));
}

double facetAzimuth_deg(const Facet& facet) {
    const double across = std::hypot(facet.normal.x(), facet.normal.y());
    if (across <= tolerance::kOnPlane_mm) return 0.0;
    double azimuth = degrees(std::atan2(facet.normal.y(), facet.normal.x()));
    if (azimuth < 0.0) azimuth += 360.0;
    return azimuth < 360.0 ? azimuth : 0.0;  // a tiny negative angle rounds up to 360
}

}  // namespace macle
