#include "core/fit/likeness.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/solid/convex_solid.h"

namespace macle {

namespace {

constexpr int kDirections = 120;

double apartBy(const Eigen::VectorXd& a, const Eigen::VectorXd& b, double size_mm) {
    return (a - b).cwiseAbs().maxCoeff() / size_mm;
}

}  // namespace

Likeness::Likeness(const Design& design) : directions_(3, kDirections) {
    std::vector<Eigen::Vector3d> corners;
    for (const ConvexPart& part : design.parts) {
        const ConvexSolid solid = makeSolid(part);
        corners.insert(corners.end(), solid.vertices.begin(), solid.vertices.end());
    }
    corners_.resize(3, static_cast<Eigen::Index>(corners.size()));
    for (std::size_t i = 0; i < corners.size(); ++i)
        corners_.col(static_cast<Eigen::Index>(i)) = corners[i];
    for (int i = 0; i < kDirections; ++i) {  // golden-angle spiral
        const double z = 1.0 - (2.0 * i + 1.0) / kDirections;
        const double turn = i * std::numbers::pi * (3.0 - std::sqrt(5.0));
        const double r = std::sqrt(1.0 - z * z);
        directions_.col(i) = Eigen::Vector3d(r * std::cos(turn), r * std::sin(turn), z);
    }
}

Eigen::VectorXd Likeness::reach_mm(const LocalFit::Place& place) const {
    const Eigen::Matrix3d back = place.pose.rotation.toRotationMatrix().transpose();
    Eigen::VectorXd reach(kDirections);
    for (int i = 0; i < kDirections; ++i) {
        const Eigen::Vector3d local = back * directions_.col(i);
        reach[i] = place.size_mm * (local.transpose() * corners_).maxCoeff() +
                   directions_.col(i).dot(place.pose.centre_mm);
    }
    return reach;
}

double Likeness::apart(const LocalFit::Place& a, const LocalFit::Place& b) const {
    return apartBy(reach_mm(a), reach_mm(b), std::min(a.size_mm, b.size_mm));
}

void DifferentPlaces::add(const LocalFit::Place& place) {
    if (place.triangle < 0 || place.size_mm <= 0.0) return;
    if (known_.size() == most_ && known_.back().place.size_mm >= place.size_mm) return;
    const Eigen::VectorXd reach = likeness_->reach_mm(place);
    const auto near = [&](const Known& other) {
        const double size = std::min(place.size_mm, other.place.size_mm);
        return apartBy(reach, other.reach_mm, size) < least_;
    };
    for (const Known& other : known_)
        if (other.place.size_mm >= place.size_mm && near(other)) return;
    std::erase_if(known_, near);
    const auto smaller = std::find_if(known_.begin(), known_.end(), [&](const Known& other) {
        return other.place.size_mm < place.size_mm;
    });
    known_.insert(smaller, {place, reach});
    if (known_.size() > most_) known_.pop_back();
}

std::vector<LocalFit::Place> DifferentPlaces::places() const {
    std::vector<LocalFit::Place> places;
    for (const Known& known : known_)
        places.push_back(known.place);
    return places;
}

}  // namespace macle
