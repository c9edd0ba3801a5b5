#include "core/appraise/body_reading.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/base/error.h"
#include "core/base/units.h"

namespace macle {

using Eigen::Vector2d;
using Eigen::Vector3d;

namespace {

constexpr double kFar = std::numeric_limits<double>::infinity();

// A facet over the ray: height = start + slope * way.
struct Line {
    double start;
    double slope;
};

Line lineOver(const Vector3d& normal, double distance, const Vector2d& direction) {
    return {distance / normal.z(), -normal.head<2>().dot(direction) / normal.z()};
}

bool isUpright(const Vector3d& normal, double flat_deg) {
    return std::abs(normal.z()) <= std::sin(radians(flat_deg));
}

bool isLevel(const Vector3d& normal, double flat_deg) {
    return std::abs(normal.z()) >= std::cos(radians(flat_deg));
}

}  // namespace

double steepness_deg(const SeenFacet& facet) {
    return degrees(
        std::atan2(std::hypot(facet.normal.x(), facet.normal.y()), std::abs(facet.normal.z())));
}

double azimuth_deg(const SeenFacet& facet) {
    const double azimuth = degrees(std::atan2(facet.normal.y(), facet.normal.x()));
    return azimuth < 0.0 ? azimuth + 360.0 : azimuth;
}

BodyReading::BodyReading(const FacetBody& body) : body_(body) {
    require(!body.facets.empty(), "a body to be measured has facets");
    low_ = high_ = body.facets.front().corners_mm.front();
    for (const SeenFacet& facet : body.facets) {
        for (const Vector3d& at : facet.corners_mm) {
            low_ = low_.cwiseMin(at);
            high_ = high_.cwiseMax(at);
            const auto known = std::find_if(corners_.begin(), corners_.end(), [&](const Corner& c) {
                return c.facets.front()->part == facet.part && (c.at - at).norm() <= exact();
            });
            if (known == corners_.end())
                corners_.push_back({at, {&facet}});
            else if (known->facets.back() != &facet)
                known->facets.push_back(&facet);
        }
        const double steep = steepness_deg(facet);
        if (steep <= body.flat_deg) {
            const SeenFacet*& level = facet.normal.z() > 0.0 ? table_ : culet_;
            if (level == nullptr || facet.area_mm2 > level->area_mm2) level = &facet;
        } else if (steep >= 90.0 - body.flat_deg) {
            girdle_.push_back(&facet);
        } else {
            (facet.normal.z() > 0.0 ? crown_ : pavilion_).push_back(&facet);
        }
    }
}

std::pair<double, double> BodyReading::girdleAtWidest() const {
    double least = kFar;
    double most = -kFar;
    for (const Corner& c : corners_)
        if (c.at.y() >= high_.y() - exact()) {
            least = std::min(least, c.at.z());
            most = std::max(most, c.at.z());
        }
    return {least, most};
}

std::vector<const SeenFacet*> BodyReading::crownMains() const {
    std::vector<const SeenFacet*> mains;
    if (table_ == nullptr) return mains;
    for (const SeenFacet* facet : crown_) {
        const auto onTable = std::count_if(
            facet->corners_mm.begin(), facet->corners_mm.end(), [&](const Vector3d& at) {
                return std::abs(table_->normal.dot(at) - table_->distance_mm) <= exact();
            });
        const auto atGirdle = std::any_of(
            facet->corners_mm.begin(), facet->corners_mm.end(), [&](const Vector3d& at) {
                return at.head<2>().norm() >= outline(at.head<2>().normalized()) - exact();
            });
        if (onTable == 1 && atGirdle) mains.push_back(facet);
    }
    return mains;
}

std::vector<const SeenFacet*> BodyReading::pavilionMains() const {
    std::vector<const SeenFacet*> mains;
    for (const SeenFacet* facet : pavilion_)
        if (std::any_of(facet->corners_mm.begin(), facet->corners_mm.end(),
                        [&](const Vector3d& at) { return at.z() <= low_.z() + exact(); }))
            mains.push_back(facet);
    return mains;
}

std::vector<const SeenFacet*> BodyReading::facingWidth(
    const std::vector<const SeenFacet*>& facets) const {
    std::vector<const SeenFacet*> facing;
    for (const SeenFacet* facet : facets)
        if (std::abs(azimuth_deg(*facet) - 90.0) <= flat_deg() &&
            std::none_of(facing.begin(), facing.end(), [&](const SeenFacet* other) {
                return (other->normal - facet->normal).norm() <= radians(flat_deg());
            }))
            facing.push_back(facet);
    std::sort(facing.begin(), facing.end(), [](const SeenFacet* a, const SeenFacet* b) {
        return steepness_deg(*a) > steepness_deg(*b);
    });
    return facing;
}

bool BodyReading::insideAnother(const Corner& corner) const {
    for (std::size_t part = 0; part < body_.parts.size(); ++part) {
        if (static_cast<int>(part) == corner.facets.front()->part) continue;
        if (std::all_of(body_.parts[part].begin(), body_.parts[part].end(),
                        [&](const SeenPlane& plane) {
                            return plane.normal.dot(corner.at) < plane.distance_mm - exact();
                        }))
            return true;
    }
    return false;
}

std::vector<const BodyReading::Corner*> BodyReading::inner(bool crown, std::size_t facets) const {
    std::vector<const Corner*> found;
    for (const Corner& c : corners_) {
        if (c.facets.size() < facets) continue;
        const bool here = std::all_of(c.facets.begin(), c.facets.end(), [&](const SeenFacet* f) {
            return f != table_ && f != culet_ && (f->normal.z() > 0.0) == crown &&
                   steepness_deg(*f) < 90.0 - flat_deg();
        });
        if (!here || insideAnother(c)) continue;
        const double way = c.at.head<2>().norm();
        if (way > 10.0 * exact() && way < outline(c.at.head<2>() / way) - 10.0 * exact())
            found.push_back(&c);
    }
    return found;
}

double BodyReading::extentOf(const SeenFacet* level, const Vector3d& direction) const {
    if (level == nullptr) return 0.0;
    double low = kFar;
    double high = -kFar;
    for (const SeenFacet& facet : body_.facets) {
        if ((facet.normal - level->normal).norm() > radians(flat_deg()) ||
            std::abs(facet.distance_mm - level->distance_mm) > exact())
            continue;
        for (const Vector3d& at : facet.corners_mm) {
            low = std::min(low, at.dot(direction));
            high = std::max(high, at.dot(direction));
        }
    }
    return high - low;
}

double BodyReading::tableAlong(const Vector3d& direction) const {
    return extentOf(table_, direction);
}

double BodyReading::culetAlong(const Vector3d& direction) const {
    return extentOf(culet_, direction);
}

double BodyReading::tableEdge(const Vector2d& direction) const {
    if (table_ == nullptr) return 0.0;
    const Line top = lineOver(table_->normal, table_->distance_mm, direction);
    double farthest = 0.0;
    for (const auto& part : body_.parts) {
        double edge = kFar;
        for (const SeenPlane& plane : part) {
            if (plane.normal.z() <= 0.0 || isUpright(plane.normal, flat_deg()) ||
                isLevel(plane.normal, flat_deg()))
                continue;
            const Line line = lineOver(plane.normal, plane.distance_mm, direction);
            if (line.slope < top.slope)
                edge = std::min(edge, (line.start - top.start) / (top.slope - line.slope));
        }
        if (edge < kFar) farthest = std::max(farthest, edge);
    }
    return farthest;
}

double BodyReading::outline(const Vector2d& direction) const {
    double farthest = 0.0;
    for (const auto& part : body_.parts) {
        double edge = kFar;
        std::vector<Line> above;
        std::vector<Line> below;
        for (const SeenPlane& plane : part) {
            const double out = plane.normal.head<2>().dot(direction);
            if (isUpright(plane.normal, flat_deg())) {
                if (out > 0.0) edge = std::min(edge, plane.distance_mm / out);
            } else {
                (plane.normal.z() > 0.0 ? above : below)
                    .push_back(lineOver(plane.normal, plane.distance_mm, direction));
            }
        }
        for (const Line& up : above)
            for (const Line& down : below)
                if (down.slope > up.slope)
                    edge = std::min(edge, (up.start - down.start) / (down.slope - up.slope));
        if (edge < kFar) farthest = std::max(farthest, edge);
    }
    return farthest;
}

std::vector<double> BodyReading::pavilionSection() const {
    // The lowest points over each way: walks the upper envelope of the planes' lines from the
    // middle outward. Flatter lines lie inside.
    std::vector<Line> lines;
    for (const SeenPlane& plane : body_.parts.front())
        if (plane.normal.z() < 0.0 && !isUpright(plane.normal, flat_deg()))
            lines.push_back(lineOver(plane.normal, plane.distance_mm, Vector2d::UnitY()));
    const double end = outline(Vector2d::UnitY());
    std::vector<double> slopes;
    double way = 0.0;
    const auto heightOf = [](const Line& line, double at) { return line.start + line.slope * at; };
    while (way < end - exact()) {
        const Line* here = nullptr;
        for (const Line& line : lines)
            if (here == nullptr || heightOf(line, way + exact()) > heightOf(*here, way + exact()))
                here = &line;
        if (here == nullptr) break;
        double next = end;
        for (const Line& line : lines)
            if (line.slope > here->slope) {
                const double at = (here->start - line.start) / (line.slope - here->slope);
                if (at > way + exact()) next = std::min(next, at);
            }
        if (next - way > 10.0 * exact()) slopes.push_back(degrees(std::atan(here->slope)));
        way = next;
    }
    std::reverse(slopes.begin(), slopes.end());
    return slopes;
}

}  // namespace macle
