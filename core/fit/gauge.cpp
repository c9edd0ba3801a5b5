#include "core/fit/gauge.h"

#include <memory>

#include "core/base/error.h"
#include "core/fit/gauge_kernel.h"

namespace macle {

struct Gauge::Impl {
    const Obstacles& obstacles;
    Design design;
    Design inner;  // without the crown edge, where a defect asks for it
    FitRules rules;
    std::vector<PreparedPart> parts;
    std::vector<Wall> walls = {};
    std::shared_ptr<const ObstacleTree> wallTree = {};
};

Gauge::Gauge(const Obstacles& obstacles, const Design& design, const FitRules& rules)
    : impl_(std::make_unique<Impl>(
          Impl{obstacles, design, innerFor(obstacles.tree(), design), rules, {}})) {
    impl_->parts = prepareParts(design, impl_->inner, rules);
}

Gauge::Gauge(const Obstacles& obstacles, const Design& design, const FitRules& rules,
             const std::vector<Wall>& walls)
    : Gauge(obstacles, design, rules) {
    impl_->walls = walls;
    impl_->wallTree = macle::wallTree(walls, obstacles.tree().skinBox());
}

Gauge::~Gauge() = default;

GaugeAnswer Gauge::largest(const Eigen::Quaterniond& rotation, const Eigen::Vector3d& centre_mm,
                           int warm) const {
    if (!rotation.coeffs().allFinite() || !(rotation.norm() > 0.5))
        throw Error(ErrorCode::BadUsage, "The rotation of the placement is not a unit quaternion.",
                    "Give four finite numbers whose squares sum to 1.");
    GaugeAnswer answer;
    answer.point_mm = centre_mm;
    if (!within(impl_->walls, centre_mm) || !impl_->obstacles.admissibleCentre(centre_mm))
        return answer;
    PoseQuery query(impl_->obstacles.tree(), impl_->parts);
    query.aim(rotation, centre_mm);
    const Contact contact = query.smallest(warm);
    answer.size_mm = contact.value;
    answer.point_mm = centre_mm + contact.q;
    answer.part = contact.part;
    answer.facet = contact.facet;
    answer.triangle = contact.triangle;
    answer.source = impl_->obstacles.tree().triangles()[contact.triangle].source;
    if (!impl_->wallTree) return answer;
    PoseQuery walled(*impl_->wallTree, impl_->parts);
    walled.aim(rotation, centre_mm);
    const Contact wall = walled.smallest(-1);
    if (wall.value >= contact.value) return answer;
    answer.size_mm = wall.value;
    answer.point_mm = centre_mm + wall.q;
    answer.part = wall.part;
    answer.facet = wall.facet;
    return answer;
}

const Design& Gauge::design() const {
    return impl_->design;
}
const Facet& Gauge::facet(int part, int facet) const {
    const std::size_t own = impl_->design.parts.size(), index = static_cast<std::size_t>(part);
    const ConvexPart& found =
        index < own ? impl_->design.parts.at(index) : impl_->inner.parts.at(index - own);
    return found.facets.at(static_cast<std::size_t>(facet));
}
const Obstacles& Gauge::obstacles() const {
    return impl_->obstacles;
}
const FitRules& Gauge::rules() const {
    return impl_->rules;
}

const std::vector<Wall>& Gauge::walls() const {
    return impl_->walls;
}

const ObstacleTree* Gauge::wallTree() const {
    return impl_->wallTree.get();
}

const std::vector<PreparedPart>& Gauge::prepared() const {
    return impl_->parts;
}

}  // namespace macle
