#include "core/solid/separation.h"

#include <Eigen/QR>
#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "core/base/error.h"
#include "core/solid/prepared_design.h"

namespace macle {

using Eigen::Vector3d;

namespace {

constexpr int kMostRounds = 1000;  // bodies of a hundred corners take about ten
// Of the largest length met: nearer to the nearest point than this no corner leads.
constexpr double kSettled = 1e-14;
constexpr double kNoWeight = 1e-13;  // share of a corner that counts as none

// A corner of the difference: one of the first body less one of the second.
struct Corner {
    Vector3d difference;
    std::size_t first = 0, second = 0;
    double weight = 0.0;
};

std::size_t leastAlong(const std::vector<Vector3d>& points, const Vector3d& direction) {
    std::size_t least = 0;
    double value = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < points.size(); ++i) {
        const double along = points[i].dot(direction);
        if (along < value) {
            value = along;
            least = i;
        }
    }
    return least;
}

// The weights, summing to 1, of the nearest point to the origin on the plane through the corners.
Eigen::VectorXd nearestWeights(const std::vector<Corner>& corners) {
    const auto count = static_cast<Eigen::Index>(corners.size());
    Eigen::VectorXd weights = Eigen::VectorXd::Zero(count);
    weights[0] = 1.0;
    if (count == 1) return weights;
    Eigen::MatrixXd edges(3, count - 1);
    for (Eigen::Index i = 1; i < count; ++i)
        edges.col(i - 1) =
            corners[static_cast<std::size_t>(i)].difference - corners.front().difference;
    const Eigen::VectorXd along =
        edges.colPivHouseholderQr().solve((-corners.front().difference).eval());
    weights.tail(count - 1) = along;
    weights[0] = 1.0 - along.sum();
    return weights;
}

class Nearest {
  public:
    Nearest(const std::vector<Vector3d>& first, const std::vector<Vector3d>& second)
        : first_(first), second_(second) {
        for (const auto* points : {&first, &second})
            for (const Vector3d& point : *points)
                scale_ = std::max(scale_, point.cwiseAbs().maxCoeff());
    }

    Separation run() {
        corners_ = {cornerAlong(second_.front() - first_.front())};
        corners_.front().weight = 1.0;
        for (int round = 0; round < kMostRounds; ++round) {
            const Vector3d here = point();
            const Corner next = cornerAlong(-here);
            keepBest(here, next);
            if (here.squaredNorm() - here.dot(next.difference) <= kSettled * scale_ * here.norm() ||
                here.norm() <= kSettled * scale_ || known(next))
                break;
            corners_.push_back(next);
            settle();
        }
        return best_;
    }

  private:
    // The one least along the direction reversed.
    Corner cornerAlong(const Vector3d& direction) const {
        Corner corner;
        corner.first = leastAlong(first_, -direction);
        corner.second = leastAlong(second_, direction);
        corner.difference = first_[corner.first] - second_[corner.second];
        return corner;
    }

    Vector3d point() const {
        Vector3d sum = Vector3d::Zero();
        for (const Corner& corner : corners_)
            sum += corner.weight * corner.difference;
        return sum;
    }

    bool known(const Corner& next) const {
        return std::any_of(corners_.begin(), corners_.end(), [&](const Corner& corner) {
            return corner.first == next.first && corner.second == next.second;
        });
    }

    // The widest slab met is kept: rounding may make a later one narrower by a last digit.
    void keepBest(const Vector3d& here, const Corner& support) {
        const double length = here.norm();
        const double gap = length > 0.0 ? here.dot(support.difference) / length : 0.0;
        if (met_ && !(gap > best_.distance_mm)) return;
        met_ = true;
        best_.first_mm = best_.second_mm = Vector3d::Zero();
        for (const Corner& corner : corners_) {
            best_.first_mm += corner.weight * first_[corner.first];
            best_.second_mm += corner.weight * second_[corner.second];
        }
        best_.distance_mm = std::max(0.0, gap);
        if (!(gap > 0.0)) return;
        best_.normal = -here / length;
        best_.offset_mm = 0.5 * best_.normal.dot(first_[support.first] + second_[support.second]);
    }

    // Moves to the nearest point of the hull of the corners and drops those it does not need.
    void settle() {
        while (true) {
            const Eigen::VectorXd wanted = nearestWeights(corners_);
            double share = 1.0;
            for (std::size_t i = 0; i < corners_.size(); ++i) {
                const double to = wanted[static_cast<Eigen::Index>(i)];
                if (to > kNoWeight) continue;
                const double from = corners_[i].weight;
                if (from > to) share = std::min(share, std::max(0.0, from / (from - to)));
            }
            bool dropped = false;
            for (std::size_t i = 0; i < corners_.size(); ++i)
                corners_[i].weight +=
                    share * (wanted[static_cast<Eigen::Index>(i)] - corners_[i].weight);
            for (std::size_t i = corners_.size(); i-- > 0 && corners_.size() > 1;)
                if (corners_[i].weight <= kNoWeight) {
                    corners_.erase(corners_.begin() + static_cast<std::ptrdiff_t>(i));
                    dropped = true;
                }
            double sum = 0.0;
            for (const Corner& corner : corners_)
                sum += corner.weight;
            for (Corner& corner : corners_)
                corner.weight /= sum;
            if (share >= 1.0 || !dropped) return;
        }
    }

    const std::vector<Vector3d>& first_;
    const std::vector<Vector3d>& second_;
    double scale_ = 0.0;
    std::vector<Corner> corners_;
    Separation best_;
    bool met_ = false;
};

}  // namespace

Separation separationOf(const std::vector<Vector3d>& first, const std::vector<Vector3d>& second) {
    require(!first.empty() && !second.empty(), "a body has corners");
    for (const auto* points : {&first, &second})
        for (const Vector3d& point : *points)
            require(point.allFinite(), "the corners of a body are finite");
    return Nearest(first, second).run();
}

Separation separationOf(const Design& first, const Placement& placedFirst, const Design& second,
                        const Placement& placedSecond) {
    std::optional<Separation> least;
    const auto others = placedCorners(second, placedSecond);
    for (const auto& part : placedCorners(first, placedFirst))
        for (const auto& other : others) {
            const Separation one = separationOf(part, other);
            if (!least || one.distance_mm < least->distance_mm) least = one;
        }
    require(least.has_value(), "a cut has parts");
    return *least;
}

std::vector<std::vector<Vector3d>> placedCorners(const Design& design, const Placement& placement) {
    const auto prepared = prepareDesign(design);
    std::vector<std::vector<Vector3d>> parts;
    for (std::size_t p = 0; p < prepared->singles; ++p)
        parts.push_back(placed(prepared->parts[p].solid, placement).vertices);
    return parts;
}

double reachOf(const std::vector<Vector3d>& points, const Vector3d& direction) {
    double reach = -std::numeric_limits<double>::infinity();
    for (const Vector3d& point : points)
        reach = std::max(reach, direction.dot(point));
    return reach;
}

}  // namespace macle
