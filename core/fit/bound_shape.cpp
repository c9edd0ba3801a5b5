#include "core/fit/bound_shape.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "core/solid/convex_solid.h"

namespace macle {

namespace {

using Eigen::Vector3d;

// Facets made by one formula repeat to a few roundings.
constexpr double kSameFacet = 1e-11;
constexpr int kMostTurns = 64;

// Largest miss when each facet of `a`, turned, is matched to one of `b`; infinity without match.
double missOf(const ConvexPart& a, const ConvexPart& b, const Eigen::Matrix3d& turn) {
    if (a.facets.size() != b.facets.size()) return std::numeric_limits<double>::infinity();
    double worst = 0.0;
    std::vector<char> used(b.facets.size(), 0);
    for (const Facet& facet : a.facets) {
        const Vector3d normal = turn * facet.normal;
        double nearest = std::numeric_limits<double>::infinity();
        std::size_t at = 0;
        for (std::size_t k = 0; k < b.facets.size(); ++k) {
            if (used[k]) continue;
            const double miss = (b.facets[k].normal - normal).norm() +
                                std::abs(b.facets[k].distance / facet.distance - 1.0);
            if (miss < nearest) {
                nearest = miss;
                at = k;
            }
        }
        if (!(nearest < kSameFacet)) return std::numeric_limits<double>::infinity();
        used[at] = 1;
        worst = std::max(worst, nearest);
    }
    return worst;
}

double missOf(const Design& design, const Eigen::Matrix3d& turn) {
    double worst = 0.0;
    std::vector<char> used(design.parts.size(), 0);
    for (const ConvexPart& part : design.parts) {
        double nearest = std::numeric_limits<double>::infinity();
        std::size_t at = 0;
        for (std::size_t i = 0; i < design.parts.size(); ++i) {
            if (used[i]) continue;
            const double miss = missOf(part, design.parts[i], turn);
            if (miss < nearest) {
                nearest = miss;
                at = i;
            }
        }
        if (!std::isfinite(nearest)) return nearest;
        used[at] = 1;
        worst = std::max(worst, nearest);
    }
    return worst;
}

}  // namespace

BoundPart::BoundPart(const ConvexPart& part) {
    const ConvexSolid solid = makeSolid(part);
    for (const Facet& facet : part.facets)
        facets_.push_back({facet.normal, facet.distance});
    for (const Vector3d& corner : solid.vertices) {
        double reach = 1.0;
        for (const BoundFacet& facet : facets_)
            reach = std::max(reach, facet.normal.dot(corner) / facet.distance);
        vertices_.push_back(corner / (reach * (1.0 + 1e-14)));
    }
    neighbours_.resize(vertices_.size());
    for (const SolidFace& face : solid.faces)
        for (std::size_t i = 0; i < face.corners.size(); ++i) {
            const int a = face.corners[i], b = face.corners[(i + 1) % face.corners.size()];
            neighbours_[a].push_back(b);
            neighbours_[b].push_back(a);
        }
    for (std::vector<int>& list : neighbours_) {
        std::sort(list.begin(), list.end());
        list.erase(std::unique(list.begin(), list.end()), list.end());
    }
    startVertex_.assign(6 * kGrid * kGrid, 0);
    for (int side = 0; side < 6; ++side)
        for (int i = 0; i < kGrid; ++i)
            for (int j = 0; j < kGrid; ++j) {
                const int axis = side / 2;
                Vector3d direction;
                direction[axis] = side % 2 ? -1.0 : 1.0;
                direction[(axis + 1) % 3] = 2.0 * (i + 0.5) / kGrid - 1.0;
                direction[(axis + 2) % 3] = 2.0 * (j + 0.5) / kGrid - 1.0;
                int best = 0;
                for (std::size_t v = 1; v < vertices_.size(); ++v)
                    if (direction.dot(vertices_[v]) > direction.dot(vertices_[best]))
                        best = static_cast<int>(v);
                startVertex_[(side * kGrid + i) * kGrid + j] = best;
            }
}

int BoundPart::gridIndex(const Vector3d& direction) const {
    int axis = 0;
    direction.cwiseAbs().maxCoeff(&axis);
    const double length = std::abs(direction[axis]);
    if (!(length > 0.0)) return 0;
    const int side = 2 * axis + (direction[axis] < 0.0 ? 1 : 0);
    auto square = [&](double x) {
        return std::clamp(static_cast<int>((x / length + 1.0) * 0.5 * kGrid), 0, kGrid - 1);
    };
    return (side * kGrid + square(direction[(axis + 1) % 3])) * kGrid +
           square(direction[(axis + 2) % 3]);
}

int BoundPart::climb(const Vector3d& direction, int start) const {
    int at = start;
    double best = direction.dot(vertices_[at]);
    for (bool moved = true; moved;) {
        moved = false;
        for (const int next : neighbours_[at]) {
            const double here = direction.dot(vertices_[next]);
            if (here > best) {
                best = here;
                at = next;
                moved = true;
                break;
            }
        }
    }
    return at;
}

int BoundPart::farthest(const Vector3d& direction) const {
    return climb(direction, startVertex_[gridIndex(direction)]);
}

DesignSymmetry findSymmetry(const Design& design) {
    DesignSymmetry found;
    for (int order = kMostTurns; order > 1; --order) {
        const Eigen::Matrix3d turn =
            Eigen::AngleAxisd(2.0 * std::numbers::pi / order, Vector3d::UnitZ()).toRotationMatrix();
        const double miss = missOf(design, turn);
        if (!std::isfinite(miss)) continue;
        found.order = order;
        // A turn by several steps is the same step repeated.
        found.error = order * miss;
        break;
    }
    // The axis of a half turn swaps some facet with another, and so lies midway between their
    // azimuths or is perpendicular to that; it is enough to try the partners of one facet.
    std::vector<double> axes{0.0};
    const ConvexPart& part = design.parts.front();
    const Facet* first = nullptr;
    for (const Facet& facet : part.facets)
        if (facet.normal.head<2>().norm() > 0.1) {
            first = &facet;
            break;
        }
    if (first)
        for (const ConvexPart& other : design.parts)
            for (const Facet& facet : other.facets)
                if (facet.normal.head<2>().norm() > 0.1 &&
                    std::abs(facet.normal.z() + first->normal.z()) < kSameFacet)
                    axes.push_back(0.5 * (std::atan2(first->normal.y(), first->normal.x()) +
                                          std::atan2(facet.normal.y(), facet.normal.x())));
    for (const double azimuth : axes) {
        const Eigen::Matrix3d turn =
            Eigen::AngleAxisd(std::numbers::pi, Vector3d(std::cos(azimuth), std::sin(azimuth), 0.0))
                .toRotationMatrix();
        const double miss = missOf(design, turn);
        if (!std::isfinite(miss)) continue;
        found.flips = true;
        found.error += miss;
        break;
    }
    return found;
}

}  // namespace macle
