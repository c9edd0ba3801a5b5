#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "core/fit/gauge_kernel.h"
#include "core/fit/search.h"

namespace macle {

namespace {

// Contacts of one source nearer than this share of the size are one neighbourhood.
constexpr double kNeighbourhood = 0.02;
constexpr double kCell = 0.005;

}  // namespace

std::vector<FitLimit> limitsAt(const Gauge& gauge, const Eigen::Quaterniond& rotation,
                               const Eigen::Vector3d& centre_mm, double slack) {
    if (!(slack >= 0.0) || !std::isfinite(slack))
        throw Error(ErrorCode::BadUsage, "The slack of a limit must be zero or more.",
                    "Give a share of the size such as 0.0001.");
    std::vector<FitLimit> limits;
    const GaugeAnswer nearest = gauge.largest(rotation, centre_mm);
    if (nearest.source < 0) return limits;
    const ObstacleTree& tree = gauge.obstacles().tree();
    PoseQuery query(tree, gauge.prepared());
    query.aim(rotation, centre_mm);
    std::vector<Contact> contacts;
    const double size = std::abs(nearest.size_mm);
    query.gather(nearest.size_mm, nearest.size_mm + slack * size, kCell * size, 0.0, contacts);
    std::sort(contacts.begin(), contacts.end(), [](const Contact& a, const Contact& b) {
        return a.value != b.value ? a.value < b.value : a.triangle < b.triangle;
    });
    std::vector<Contact> kept;
    for (const Contact& contact : contacts) {
        const int source = tree.triangles()[contact.triangle].source;
        const bool known = std::any_of(kept.begin(), kept.end(), [&](const Contact& other) {
            return tree.triangles()[other.triangle].source == source &&
                   (other.q - contact.q).norm() < kNeighbourhood * size;
        });
        if (known) continue;
        kept.push_back(contact);
        limits.push_back({centre_mm + contact.q,
                          gauge.facet(contact.part, query.touchedFacet(contact)).name,
                          gauge.obstacles().sourceName(source)});
    }
    return limits;
}

}  // namespace macle
