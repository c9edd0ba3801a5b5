#include "core/stone/stone.h"

#include "core/base/units.h"

namespace macle {

double scanWeight_ct(const Stone& stone) {
    return carats(stone.rough.volume_mm3, stone.material.density_g_cm3);
}

}  // namespace macle
