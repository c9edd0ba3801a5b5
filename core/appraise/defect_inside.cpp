#include "core/appraise/defect_inside.h"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <limits>

#include "core/appraise/planar_hull.h"
#include "core/base/error.h"
#include "core/base/tolerance.h"
#include "core/solid/crown_edge.h"
#include "core/solid/prepared_design.h"

namespace macle {
namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;

// Sutherland and Hodgman, one plane.
void clip(std::vector<Vector3d>& polygon, const Vector3d& normal, double offset_mm) {
    std::vector<Vector3d> kept;
    kept.reserve(polygon.size() + 1);
    for (std::size_t i = 0; i < polygon.size(); ++i) {
        const Vector3d& p = polygon[i];
        const Vector3d& q = polygon[(i + 1) % polygon.size()];
        const double hp = normal.dot(p) - offset_mm;
        const double hq = normal.dot(q) - offset_mm;
        if (hp <= 0.0) kept.push_back(p);
        if ((hp <= 0.0) != (hq <= 0.0)) kept.push_back(p + (q - p) * (hp / (hp - hq)));
    }
    polygon.swap(kept);
}

// Even-odd rule.
bool insideOutline(const std::vector<Vector2d>& outline, const Vector2d& point) {
    bool inside = false;
    for (std::size_t i = 0, j = outline.size() - 1; i < outline.size(); j = i++) {
        const Vector2d& a = outline[i];
        const Vector2d& b = outline[j];
        if ((a.y() > point.y()) != (b.y() > point.y()) &&
            point.x() < (b.x() - a.x()) * (point.y() - a.y()) / (b.y() - a.y()) + a.x())
            inside = !inside;
    }
    return inside;
}

}  // namespace

PlacedDesign::PlacedDesign(const Design& design, const Placement& placement)
    : design_(design), placement_(placement) {
    bool girdle = false;
    const auto prepared = prepareDesign(design);
    for (std::size_t p = 0; p < prepared->singles; ++p) {
        const PreparedSolid& solidPart = prepared->parts[p];
        const ConvexSolid& solid = solidPart.solid;
        Part part;
        for (std::size_t f = 0; f < solid.faces.size(); ++f) {
            const SolidFace& face = solid.faces[f];
            const Facet& facet = solidPart.facets[f];
            part.planes.push_back(placed(facet));
            if (facet.kind == FacetKind::Table) {
                tables_.emplace_back();
                for (const int corner : face.corners)
                    tables_.back().push_back(
                        solid.vertices[static_cast<std::size_t>(corner)].head<2>());
            }
            if (facet.kind == FacetKind::Girdle)
                for (const int corner : face.corners) {
                    const double z = solid.vertices[static_cast<std::size_t>(corner)].z();
                    girdleLow_ = girdle ? std::min(girdleLow_, z) : z;
                    girdleHigh_ = girdle ? std::max(girdleHigh_, z) : z;
                    girdle = true;
                }
        }
        parts_.push_back(std::move(part));
    }
}

PlacedDesign::Plane PlacedDesign::placed(const Facet& facet) const {
    const Vector3d normal = placement_.rotation * facet.normal;
    return {normal, placement_.size_mm * facet.distance + normal.dot(placement_.translation_mm)};
}

// The union's surface is farther than that of the part in which the point lies deepest, or as far.
double PlacedDesign::depth_mm(const Vector3d& point) const {
    double deepest = -std::numeric_limits<double>::infinity();
    for (const Part& part : parts_) {
        double nearest = std::numeric_limits<double>::infinity();
        for (const Plane& plane : part.planes)
            nearest = std::min(nearest, plane.offset_mm - plane.normal.dot(point));
        deepest = std::max(deepest, nearest);
    }
    return std::max(0.0, deepest);
}

std::string PlacedDesign::zone(const Vector3d& point) const {
    const Vector3d c =
        placement_.rotation.conjugate() * (point - placement_.translation_mm) / placement_.size_mm;
    const bool underTable =
        std::any_of(tables_.begin(), tables_.end(), [&](const std::vector<Eigen::Vector2d>& table) {
            return insideOutline(table, c.head<2>());
        });
    if (underTable && c.z() >= 0.0) return kZones[0];
    if (!underTable && c.z() >= girdleLow_ && c.z() <= girdleHigh_) return kZones[2];
    return c.z() >= 0.0 ? kZones[1] : kZones[3];
}

bool PlacedDesign::outsideEveryPart(const TriangleMesh& surface) const {
    return std::all_of(parts_.begin(), parts_.end(), [&](const Part& part) {
        return std::any_of(part.planes.begin(), part.planes.end(), [&](const Plane& plane) {
            return std::all_of(
                surface.vertices.begin(), surface.vertices.end(), [&](const Vector3d& v) {
                    return plane.normal.dot(v) - plane.offset_mm >= -tolerance::kInside_mm;
                });
        });
    });
}

bool PlacedDesign::insideOnePart(const TriangleMesh& surface) const {
    return std::any_of(parts_.begin(), parts_.end(), [&](const Part& part) {
        return std::all_of(part.planes.begin(), part.planes.end(), [&](const Plane& plane) {
            return std::all_of(
                surface.vertices.begin(), surface.vertices.end(), [&](const Vector3d& v) {
                    return plane.normal.dot(v) - plane.offset_mm <= tolerance::kOnPlane_mm;
                });
        });
    });
}

std::optional<PlacedDesign::InsideSurface> PlacedDesign::surfaceInside(
    const std::vector<Part>& parts, const TriangleMesh& surface) {
    InsideSurface inside{Vector3d::Zero(), {}};
    std::optional<Vector3d> centre;
    for (const Part& part : parts) {
        Vector3d moment = Vector3d::Zero();
        double area = 0.0;
        for (const auto& t : surface.triangles) {
            std::vector<Vector3d> polygon = {surface.vertices[t[0]], surface.vertices[t[1]],
                                             surface.vertices[t[2]]};
            for (const Plane& plane : part.planes) {
                // Most planes leave the whole triangle or nothing of it.
                const double offset_mm = plane.offset_mm - tolerance::kInside_mm;
                int outside = 0;
                for (const auto corner : t)
                    outside += plane.normal.dot(surface.vertices[corner]) - offset_mm > 0.0 ? 1 : 0;
                if (outside == 0) continue;
                if (outside == 3) polygon.clear();
                clip(polygon, plane.normal, offset_mm);
                if (polygon.size() < 3) break;
            }
            if (polygon.size() < 3) continue;
            for (std::size_t i = 2; i < polygon.size(); ++i) {
                const double a =
                    0.5 * (polygon[i - 1] - polygon[0]).cross(polygon[i] - polygon[0]).norm();
                moment += a * (polygon[0] + polygon[i - 1] + polygon[i]) / 3.0;
                area += a;
            }
            inside.corners.insert(inside.corners.end(), polygon.begin(), polygon.end());
        }
        if (area > 0.0 && !centre) centre = moment / area;
    }
    if (!centre) return std::nullopt;
    inside.centre = *centre;
    return inside;
}

double PlacedDesign::widthAcross_mm(const std::vector<Vector3d>& points) const {
    const Eigen::Matrix3d toCut = placement_.rotation.conjugate().toRotationMatrix();
    std::vector<Vector2d> flat;
    flat.reserve(points.size());
    for (const Vector3d& p : points)
        flat.emplace_back((toCut * p).head<2>());
    return hullWidest(planarHull(std::move(flat)));
}

std::optional<Glimpse> PlacedDesign::glimpse(const Defect& defect) const {
    const TriangleMesh surface = defectSurface(defect);
    if (surface.empty() || outsideEveryPart(surface)) return std::nullopt;
    Glimpse glimpse;
    Vector3d place = defectBounds(defect).centre();
    if (insideOnePart(surface)) {
        if (const auto* ellipsoid = std::get_if<Ellipsoid>(&defect.shape)) {
            // Its shadow across the axis is the ellipse of the upper corner of its own matrix.
            const Eigen::Matrix3d turned =
                (placement_.rotation.conjugate() * ellipsoid->rotation).toRotationMatrix();
            const Eigen::Matrix3d shape =
                turned * ellipsoid->halfAxes_mm.cwiseAbs2().asDiagonal() * turned.transpose();
            const Eigen::SelfAdjointEigenSolver<Eigen::Matrix2d> shadow(
                shape.topLeftCorner<2, 2>());
            glimpse.seen_mm = 2.0 * std::sqrt(shadow.eigenvalues().maxCoeff());
        } else {
            glimpse.seen_mm = widthAcross_mm(surface.vertices);
        }
    } else if (const auto inside = surfaceInside(parts_, surface)) {
        place = inside->centre;
        glimpse.seen_mm = widthAcross_mm(inside->corners);
    } else {
        // Its surface lies outside: either the whole design lies within it, or they only touch.
        if (std::holds_alternative<Sheet>(defect.shape) ||
            !contains(surface, placement_.translation_mm))
            return std::nullopt;
        place = placement_.translation_mm;
        std::vector<Vector3d> corners;
        const auto prepared = prepareDesign(design_);
        for (const PreparedSolid& part : prepared->parts)
            if (part.single())
                for (const Vector3d& corner : part.solid.vertices)
                    corners.push_back(placement_.rotation * (placement_.size_mm * corner));
        glimpse.seen_mm = widthAcross_mm(corners);
    }
    glimpse.zone = zone(place);
    glimpse.depth_mm = depth_mm(place);
    return glimpse;
}

bool PlacedDesign::reachesOutOfEdge(const Defect& defect, const TriangleMesh& surface) const {
    std::vector<Part> inner;
    for (const ConvexPart& part : withoutCrownEdge(design_).parts) {
        inner.emplace_back();
        for (const Facet& facet : part.facets)
            inner.back().planes.push_back(placed(facet));
    }
    // All that must stay clear may also lie inside the defect.
    return surfaceInside(inner, surface).has_value() ||
           (!std::holds_alternative<Sheet>(defect.shape) &&
            contains(surface, placement_.translation_mm));
}

std::optional<DefectInside> PlacedDesign::look(const Defect& defect) const {
    const TriangleMesh surface = defectSurface(defect);
    if (surface.empty() || outsideEveryPart(surface)) return std::nullopt;

    DefectInside found;
    Vector3d place = defectBounds(defect).centre();
    if (insideOnePart(surface)) {
        found.volume_mm3 = defectVolume_mm3(defect);
    } else {
        const std::optional<InsideSurface> reaches = surfaceInside(parts_, surface);
        if (std::holds_alternative<Sheet>(defect.shape)) {
            if (!reaches) return std::nullopt;
            place = reaches->centre;
        } else {
            Rough body;
            body.mesh = surface;
            body.volume_mm3 = signedVolume_mm3(surface);
            FinishedStone common;
            try {
                common = RoughCutter(body).finish(design_, placement_, false);
            } catch (const Error& error) {
                if (error.code() != ErrorCode::NoSolution) throw;
                return std::nullopt;
            }
            if (!common.inside && !reaches) return std::nullopt;  // they only touch
            place = common.inside ? placement_.translation_mm : reaches->centre;
            // The surface encloses an ellipsoid; the share inside is applied to its own volume.
            found.volume_mm3 = common.inside
                                   ? common.volume_mm3
                                   : defectVolume_mm3(defect) * common.volume_mm3 / body.volume_mm3;
        }
    }
    found.name = defect.name;
    found.kind = kindName(defect.kind);
    found.severity = defect.severity;
    found.largest_mm = defectBounds(defect).extent().maxCoeff();
    found.zone = zone(place);
    found.depth_mm = depth_mm(place);
    found.forbidden =
        defect.policy == DefectPolicy::MustBeCutAway ||
        (defect.policy == DefectPolicy::MayStayAtEdge && reachesOutOfEdge(defect, surface));
    return found;
}

}  // namespace macle
