#include <cmath>

#include "core/base/error.h"
#include "core/base/tolerance.h"
#include "core/base/units.h"
#include "core/stone/intake.h"

namespace macle {

WeighIn weighIn(double scanVolume_mm3, double density_g_cm3, double scale_ct) {
    if (!(scanVolume_mm3 > 0.0) || !(density_g_cm3 > 0.0) || !(scale_ct > 0.0) ||
        !std::isfinite(scanVolume_mm3) || !std::isfinite(density_g_cm3) || !std::isfinite(scale_ct))
        throw Error(ErrorCode::BadUsage,
                    "Volume, density and scale weight must each be above zero.",
                    "Enter the weight as the scale shows it, in carats.");
    WeighIn result;
    result.scan_ct = carats(scanVolume_mm3, density_g_cm3);
    result.scale_ct = scale_ct;
    const double share = (result.scan_ct - scale_ct) / scale_ct;
    result.difference_percent = 100.0 * share;
    result.flagged = std::abs(share) > tolerance::kScaleMismatch;
    return result;
}

}  // namespace macle
