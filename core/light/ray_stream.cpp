#include "core/light/ray_stream.h"

namespace macle::light {

void meetFacesOfUnion(const LightBody& body, RayBatch& rays) {
    const double near = 1e-9 * body.size_mm();
    for (int k = 0; k < rays.count; ++k) {
        const Eigen::Vector3d o(rays.ox[k], rays.oy[k], rays.oz[k]);
        const Eigen::Vector3d d(rays.dx[k], rays.dy[k], rays.dz[k]);
        double t = 0.0;
        int part = rays.part[k], face = rays.face[k];
        bool started = false;
        // Each round goes on into a part that reaches further; at most one round per part.
        for (std::size_t round = 0; round <= body.parts(); ++round) {
            double best = t;
            int bestPart = -1, bestFace = -1;
            for (std::size_t other = 0; other < body.parts(); ++other) {
                double enters = 0.0, leaves = 0.0;
                int entry = -1, exit = -1;
                const bool own = !started && static_cast<int>(other) == rays.part[k];
                if (!body.table(other).interval(o, d, enters, leaves, entry, exit)) {
                    // A stretch of no length along an edge still leaves by its nearest face.
                    if (!own || exit < 0) continue;
                    enters = leaves;
                }
                if (!own && (enters > t + near || leaves <= t + near)) continue;
                if (bestPart < 0 || leaves > best) {
                    best = leaves;
                    bestPart = static_cast<int>(other);
                    bestFace = exit;
                }
            }
            if (bestPart < 0) break;
            t = best;
            part = bestPart;
            face = bestFace;
            started = true;
        }
        const Eigen::Vector3d normal = body.table(static_cast<std::size_t>(part)).normal(face);
        rays.t[k] = t > 0.0 ? t : 0.0;
        rays.part[k] = part;
        rays.face[k] = face;
        rays.nx[k] = normal.x();
        rays.ny[k] = normal.y();
        rays.nz[k] = normal.z();
    }
}

}  // namespace macle::light
