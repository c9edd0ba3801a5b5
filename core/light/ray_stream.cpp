#include "core/light/ray_stream.h"

namespace macle::light {

void goOnInOtherParts(const LightBody& body, RayBatch& rays) {
    const double near = kSamePlace * body.size_mm();
    for (int k = 0; k < rays.count; ++k) {
        if (!body.mayGoOn(rays.part[k], rays.face[k])) continue;
        const Eigen::Vector3d o(rays.ox[k], rays.oy[k], rays.oz[k]);
        const Eigen::Vector3d d(rays.dx[k], rays.dy[k], rays.dz[k]);
        // A ray never comes back to a part it left, so that each round goes on in a new one.
        for (std::size_t round = 1; round < body.parts(); ++round) {
            const Eigen::Vector3d end = o + rays.t[k] * d;
            double further = rays.t[k] + near;
            bool goesOn = false;
            for (std::size_t other = 0; other < body.parts(); ++other) {
                const FacetTable& table = body.table(other);
                if (static_cast<int>(other) == rays.part[k] || !table.holds(end, near)) continue;
                double enters = 0.0, leaves = 0.0;
                int entry = -1, exit = -1;
                table.interval(o, d, enters, leaves, entry, exit);
                if (leaves <= further) continue;
                const Eigen::Vector3d normal = table.normal(exit);
                further = rays.t[k] = leaves;
                rays.part[k] = static_cast<int>(other);
                rays.face[k] = exit;
                rays.nx[k] = normal.x();
                rays.ny[k] = normal.y();
                rays.nz[k] = normal.z();
                goesOn = true;
            }
            if (!goesOn) break;
        }
    }
}

}  // namespace macle::light
