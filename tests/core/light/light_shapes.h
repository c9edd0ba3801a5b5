// Simple bodies for tests of light: size 1, cut frame.
#pragma once

#include <cmath>
#include <string>

#include "core/cut/design.h"

namespace macle::test {

inline Facet plane(const std::string& name, double x, double y, double z, double distance) {
    const Eigen::Vector3d n(x, y, z);
    return {name, FacetKind::Other, n.normalized(), distance / n.norm()};
}

// Halves of the sides.
inline Design box(double x, double y, double z) {
    Design design;
    design.cut = "box";
    design.parts.push_back(
        {{plane("top", 0, 0, 1, z), plane("bottom", 0, 0, -1, z), plane("right", 1, 0, 0, x),
          plane("left", -1, 0, 0, x), plane("back", 0, 1, 0, y), plane("front", 0, -1, 0, y)}});
    return design;
}

// The profile of a knife-edge stone drawn out along y: a table over all its width at z = 0.2 from
// x = -1 to 1, upright sides (the girdle) from 0.2 to 0, and two pavilion planes at `pavilion_deg`.
inline Design trough(double pavilion_deg) {
    const double b = pavilion_deg * M_PI / 180.0;
    // The origin of the part must lie inside; the girdle plane is z = 0.
    Design design;
    design.cut = "trough";
    design.parts.push_back({{plane("table", 0, 0, 1, 0.2), plane("girdle right", 1, 0, 0, 1),
                             plane("girdle left", -1, 0, 0, 1),
                             plane("pavilion right", std::sin(b), 0, -std::cos(b), std::sin(b)),
                             plane("pavilion left", -std::sin(b), 0, -std::cos(b), std::sin(b)),
                             plane("end 1", 0, 1, 0, 5), plane("end 2", 0, -1, 0, 5)}});
    return design;
}

}  // namespace macle::test
