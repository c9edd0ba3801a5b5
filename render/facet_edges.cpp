#include "render/facet_edges.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <utility>

#include "core/base/units.h"

namespace macle::render {

namespace {

// Of the extent: what counts as touching in a picture. Far below a pixel at any zoom that makes
// sense, far above the rounding of corners.
constexpr double kTouchRelative = 1e-6;
constexpr double kParallel = 1e-12;  // squared sine of the angle between planes

struct Plane {
    Eigen::Vector3d normal = Eigen::Vector3d::UnitZ();
    double distance = 0.0;
    double above(const Eigen::Vector3d& point) const { return normal.dot(point) - distance; }
};

std::vector<Plane> facePlanes(const ConvexSolid& part) {
    std::vector<Plane> planes;
    for (const SolidFace& face : part.faces) {
        Plane plane;
        plane.normal.setZero();
        const std::size_t count = face.corners.size();
        const auto corner = [&](std::size_t index) -> const Eigen::Vector3d& {
            return part.vertices.at(static_cast<std::size_t>(face.corners[index % count]));
        };
        for (std::size_t i = 0; i < count; ++i)
            plane.normal += corner(i).cross(corner(i + 1));
        plane.normal.normalize();
        double sum = 0.0;
        for (std::size_t i = 0; i < count; ++i)
            sum += plane.normal.dot(corner(i));
        plane.distance = sum / static_cast<double>(count);
        planes.push_back(plane);
    }
    return planes;
}

double extentOf(const std::vector<ConvexSolid>& parts) {
    double most = 0.0;
    for (const ConvexSolid& part : parts)
        for (const Eigen::Vector3d& vertex : part.vertices)
            most = std::max(most, vertex.norm());
    return most;
}

using Interval = std::pair<double, double>;

// The stretch of a segment inside a convex body, as parameters 0..1.
std::optional<Interval> insideStretch(const Segment& segment, const std::vector<Plane>& planes,
                                      double slack) {
    double low = 0.0;
    double high = 1.0;
    for (const Plane& plane : planes) {
        const double from = plane.above(segment.from) - slack;
        const double to = plane.above(segment.to) - slack;
        if (from > 0.0 && to > 0.0) return std::nullopt;
        if (from <= 0.0 && to <= 0.0) continue;
        const double cross = from / (from - to);
        if (from > 0.0) {
            low = std::max(low, cross);
        } else {
            high = std::min(high, cross);
        }
        if (low >= high) return std::nullopt;
    }
    return Interval{low, high};
}

Eigen::Vector3d along(const Segment& segment, double share) {
    return segment.from + share * (segment.to - segment.from);
}

// Whether both facets of the edge are facets of the body too.
bool sharesBoth(const FacetEdge& edge, const std::vector<Plane>& body, double slack) {
    const auto has = [&](const Eigen::Vector3d& normal) {
        return std::any_of(body.begin(), body.end(), [&](const Plane& plane) {
            return plane.normal.cross(normal).squaredNorm() < kParallel &&
                   plane.normal.dot(normal) > 0.0 && std::abs(plane.above(edge.line.from)) <= slack;
        });
    };
    return has(edge.normal) && has(edge.otherNormal);
}

// What of the edge lies outside all the other bodies. An edge between two facets that a later body
// has too is an edge of both, drawn once.
void addOutside(const FacetEdge& edge, const std::vector<std::vector<Plane>>& bodies,
                std::size_t own, double slack, std::vector<FacetEdge>& out) {
    std::vector<Interval> hidden;
    for (std::size_t body = 0; body < bodies.size(); ++body) {
        if (body == own || (body > own && sharesBoth(edge, bodies[body], slack))) continue;
        if (const auto stretch = insideStretch(edge.line, bodies[body], slack))
            hidden.push_back(*stretch);
    }
    std::sort(hidden.begin(), hidden.end());
    const double least = slack / std::max((edge.line.to - edge.line.from).norm(), slack);
    double at = 0.0;
    const auto keep = [&](double low, double high) {
        if (high - low <= least) return;
        out.push_back(edge);
        out.back().line = {along(edge.line, low), along(edge.line, high)};
    };
    for (const Interval& interval : hidden) {
        keep(at, interval.first);
        at = std::max(at, interval.second);
    }
    keep(at, 1.0);
}

bool girdleBand(const Eigen::Vector3d& a, const Eigen::Vector3d& b) {
    constexpr double kUpright = 1e-6;           // of a unit normal's z
    constexpr double kRoundOutline_deg = 20.0;  // a straight-sided outline turns by more
    return std::abs(a.z()) < kUpright && std::abs(b.z()) < kUpright &&
           a.dot(b) > std::cos(radians(kRoundOutline_deg));
}

// Where two faces of different parts cross.
std::optional<Segment> crossing(const Plane& a, const std::vector<Plane>& bodyA, const Plane& b,
                                const std::vector<Plane>& bodyB, double reach, double slack) {
    const Eigen::Vector3d direction = a.normal.cross(b.normal);
    const double size = direction.squaredNorm();
    if (size < kParallel) return std::nullopt;  // parallel planes share no single line
    const Eigen::Vector3d point =
        (a.distance * b.normal.cross(direction) + b.distance * direction.cross(a.normal)) / size;
    const Eigen::Vector3d unit = direction / std::sqrt(size);
    const Segment line{point - reach * unit, point + reach * unit};
    const auto inA = insideStretch(line, bodyA, slack);
    const auto inB = insideStretch(line, bodyB, slack);
    if (!inA || !inB) return std::nullopt;
    const double low = std::max(inA->first, inB->first);
    const double high = std::min(inA->second, inB->second);
    if ((high - low) * 2.0 * reach < 4.0 * slack) return std::nullopt;
    // Both faces must come out of the other part there; where a face of one lies in a face of the
    // other there is no seam to see.
    const Eigen::Vector3d middle = along(line, 0.5 * (low + high));
    const double tilt = a.normal.dot(b.normal);
    const double step = 100.0 * slack;
    const Eigen::Vector3d onA = middle + step * (b.normal - tilt * a.normal).normalized();
    const Eigen::Vector3d onB = middle + step * (a.normal - tilt * b.normal).normalized();
    const auto within = [&](const Eigen::Vector3d& at, const std::vector<Plane>& body) {
        return std::all_of(body.begin(), body.end(),
                           [&](const Plane& plane) { return plane.above(at) <= slack; });
    };
    if (!within(onA, bodyA) || !within(onB, bodyB)) return std::nullopt;
    return Segment{along(line, low), along(line, high)};
}

using EdgeKey = std::pair<std::uint32_t, std::uint32_t>;

EdgeKey edgeKey(std::uint32_t a, std::uint32_t b) {
    return a < b ? EdgeKey{a, b} : EdgeKey{b, a};
}

constexpr int kSkin = -1;

Eigen::Vector3d triangleNormal(const TriangleMesh& mesh,
                               const std::array<std::uint32_t, 3>& triangle) {
    const Eigen::Vector3d& a = mesh.vertices.at(triangle[0]);
    return (mesh.vertices.at(triangle[1]) - a).cross(mesh.vertices.at(triangle[2]) - a);
}

// Patches of neighbours in one plane; a triangle alone in its plane counts as skin.
std::vector<int> facetsByFlatness(const TriangleMesh& mesh) {
    constexpr double kOnePlane_deg = 0.01;
    const double cosine = std::cos(radians(kOnePlane_deg));
    std::vector<int> patch(mesh.triangles.size());
    for (std::size_t i = 0; i < patch.size(); ++i)
        patch[i] = static_cast<int>(i);
    const auto root = [&](int index) {
        while (patch[static_cast<std::size_t>(index)] != index)
            index = patch[static_cast<std::size_t>(index)];
        return index;
    };
    std::vector<int> size(patch.size(), 1);
    std::map<EdgeKey, int> seen;
    for (std::size_t i = 0; i < mesh.triangles.size(); ++i) {
        const Eigen::Vector3d normal = triangleNormal(mesh, mesh.triangles[i]).normalized();
        for (std::size_t k = 0; k < 3; ++k) {
            const EdgeKey key = edgeKey(mesh.triangles[i][k], mesh.triangles[i][(k + 1) % 3]);
            const auto [place, fresh] = seen.try_emplace(key, static_cast<int>(i));
            if (fresh) continue;
            const auto& other = mesh.triangles[static_cast<std::size_t>(place->second)];
            if (triangleNormal(mesh, other).normalized().dot(normal) < cosine) continue;
            int a = root(place->second);
            int b = root(static_cast<int>(i));
            if (a == b) continue;
            if (size[static_cast<std::size_t>(a)] < size[static_cast<std::size_t>(b)])
                std::swap(a, b);
            patch[static_cast<std::size_t>(b)] = a;
            size[static_cast<std::size_t>(a)] += size[static_cast<std::size_t>(b)];
        }
    }
    std::vector<int> facets;
    for (std::size_t i = 0; i < patch.size(); ++i) {
        const int top = root(static_cast<int>(i));
        facets.push_back(size[static_cast<std::size_t>(top)] > 1 ? top : kSkin);
    }
    return facets;
}

// The facet each triangle lies on, counted through all parts.
std::vector<int> facetsByPlane(const TriangleMesh& mesh, const std::vector<ConvexSolid>& parts,
                               const Placement& placement) {
    std::vector<Plane> planes;
    for (const ConvexSolid& part : parts)
        for (const Plane& plane : facePlanes(placed(part, placement)))
            planes.push_back(plane);
    const double slack = kTouchRelative * std::max(placement.size_mm, 1.0);
    std::vector<int> facets;
    facets.reserve(mesh.triangles.size());
    for (const auto& triangle : mesh.triangles) {
        const Eigen::Vector3d normal = triangleNormal(mesh, triangle);
        int best = kSkin;
        double least = slack;
        for (std::size_t k = 0; k < planes.size(); ++k) {
            if (planes[k].normal.dot(normal) < 0.0) continue;
            double off = 0.0;
            for (const std::uint32_t corner : triangle)
                off = std::max(off, std::abs(planes[k].above(mesh.vertices.at(corner))));
            if (off < least) {
                least = off;
                best = static_cast<int>(k);
            }
        }
        facets.push_back(best);
    }
    return facets;
}

}  // namespace

std::vector<FacetEdge> facetEdges(const std::vector<ConvexSolid>& parts) {
    std::vector<std::vector<Plane>> bodies;
    for (const ConvexSolid& part : parts)
        bodies.push_back(facePlanes(part));
    const double slack = kTouchRelative * extentOf(parts);
    std::vector<FacetEdge> edges;
    for (std::size_t body = 0; body < parts.size(); ++body) {
        const ConvexSolid& part = parts[body];
        std::map<std::pair<int, int>, std::size_t> firstFace;
        for (std::size_t f = 0; f < part.faces.size(); ++f) {
            const std::vector<int>& corners = part.faces[f].corners;
            for (std::size_t i = 0; i < corners.size(); ++i) {
                const auto ends = std::minmax(corners[i], corners[(i + 1) % corners.size()]);
                const auto [place, fresh] = firstFace.try_emplace(ends, f);
                if (fresh) continue;
                FacetEdge edge;
                edge.line = {part.vertices.at(static_cast<std::size_t>(ends.first)),
                             part.vertices.at(static_cast<std::size_t>(ends.second))};
                edge.normal = bodies[body][f].normal;
                edge.otherNormal = bodies[body][place->second].normal;
                edge.drawnInside = !girdleBand(edge.normal, edge.otherNormal);
                addOutside(edge, bodies, body, slack, edges);
            }
        }
    }
    const double reach = 4.0 * extentOf(parts);
    for (std::size_t one = 0; one < parts.size(); ++one) {
        for (std::size_t two = one + 1; two < parts.size(); ++two) {
            for (const Plane& a : bodies[one]) {
                for (const Plane& b : bodies[two]) {
                    const auto seam = crossing(a, bodies[one], b, bodies[two], reach, slack);
                    if (seam) edges.push_back({*seam, a.normal, b.normal, true});
                }
            }
        }
    }
    return edges;
}

std::vector<Segment> outsideOthers(const std::vector<Segment>& segments,
                                   const std::vector<ConvexSolid>& parts, std::size_t own) {
    if (parts.size() < 2) return segments;
    std::vector<std::vector<Plane>> bodies;
    for (const ConvexSolid& part : parts)
        bodies.push_back(facePlanes(part));
    const double slack = kTouchRelative * extentOf(parts);
    std::vector<FacetEdge> edges;
    for (const Segment& segment : segments)
        addOutside({segment, Eigen::Vector3d::UnitZ(), Eigen::Vector3d::UnitZ(), true}, bodies, own,
                   slack, edges);
    std::vector<Segment> kept;
    for (const FacetEdge& edge : edges)
        kept.push_back(edge.line);
    return kept;
}

FinishedSurface splitFinished(const TriangleMesh& mesh, const std::vector<ConvexSolid>& parts,
                              const Placement& placement) {
    const std::vector<int> facets =
        parts.empty() ? facetsByFlatness(mesh) : facetsByPlane(mesh, parts, placement);
    const Eigen::Matrix3d toCut = placement.rotation.normalized().toRotationMatrix().transpose();
    FinishedSurface result;
    std::map<std::pair<int, std::uint32_t>, std::uint32_t> corners;
    std::map<EdgeKey, std::size_t> edges;  // the triangle that came first
    for (std::size_t i = 0; i < mesh.triangles.size(); ++i) {
        const auto& triangle = mesh.triangles[i];
        TriangleMesh& target = facets[i] == kSkin ? result.skin : result.facets;
        std::array<std::uint32_t, 3> own{};
        for (std::size_t k = 0; k < 3; ++k) {
            const auto [place, fresh] = corners.try_emplace(
                {facets[i], triangle[k]}, static_cast<std::uint32_t>(target.vertices.size()));
            if (fresh) target.vertices.push_back(mesh.vertices.at(triangle[k]));
            own[k] = place->second;
            const std::uint32_t from = triangle[k];
            const std::uint32_t to = triangle[(k + 1) % 3];
            const auto [first, alone] = edges.try_emplace(edgeKey(from, to), i);
            if (alone || facets[first->second] == facets[i]) continue;
            FacetEdge edge;
            edge.line = {mesh.vertices.at(from), mesh.vertices.at(to)};
            edge.normal = triangleNormal(mesh, triangle).normalized();
            edge.otherNormal = triangleNormal(mesh, mesh.triangles[first->second]).normalized();
            edge.drawnInside = facets[i] == kSkin || facets[first->second] == kSkin ||
                               !girdleBand(toCut * edge.normal, toCut * edge.otherNormal);
            result.edges.push_back(edge);
        }
        target.triangles.push_back(own);
    }
    return result;
}

}  // namespace macle::render
