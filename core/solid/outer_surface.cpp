#include "core/solid/outer_surface.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <utility>

#include "core/base/error.h"
#include "core/base/tolerance.h"
#include "core/solid/convex_solid.h"

namespace macle {

using Eigen::Vector3d;

namespace {

constexpr double kSame = tolerance::kMergeVertex_mm;   // for size 1
constexpr double kOn = 1e-2 * tolerance::kOnPlane_mm;  // splits leave no sliver thinner

using Polygon = std::vector<Vector3d>;

// The parts of a convex polygon on either side of a plane; empty where there is none.
std::pair<Polygon, Polygon> split(const Polygon& polygon, const Facet& plane) {
    Polygon inside;
    Polygon outside;
    std::vector<double> over;
    for (const Vector3d& at : polygon)
        over.push_back(plane.normal.dot(at) - plane.distance);
    if (std::all_of(over.begin(), over.end(), [](double d) { return d <= kOn; }))
        return {polygon, {}};
    if (std::all_of(over.begin(), over.end(), [](double d) { return d >= -kOn; }))
        return {{}, polygon};
    for (std::size_t k = 0; k < polygon.size(); ++k) {
        const std::size_t next = (k + 1) % polygon.size();
        if (over[k] <= kOn) inside.push_back(polygon[k]);
        if (over[k] >= -kOn) outside.push_back(polygon[k]);
        if (std::min(over[k], over[next]) < -kOn && std::max(over[k], over[next]) > kOn) {
            const double share = over[k] / (over[k] - over[next]);
            const Vector3d cross = polygon[k] + share * (polygon[next] - polygon[k]);
            inside.push_back(cross);
            outside.push_back(cross);
        }
    }
    return {inside, outside};
}

bool samePlane(const Facet& a, const Facet& b) {
    return (a.normal - b.normal).norm() <= kSame && std::abs(a.distance - b.distance) <= kSame;
}

// What of the pieces of a face lies outside the part. A face in a plane of the part is the part's
// own when the part comes first.
std::vector<Polygon> outsideOf(std::vector<Polygon> pieces, const Facet& facet,
                               const ConvexPart& part, bool partFirst) {
    const bool shared = std::any_of(part.facets.begin(), part.facets.end(),
                                    [&](const Facet& f) { return samePlane(f, facet); });
    if (shared && !partFirst) return pieces;
    std::vector<Polygon> kept;
    for (Polygon& piece : pieces) {
        std::vector<Polygon> off;
        Polygon rest = piece;
        for (const Facet& plane : part.facets) {
            if (samePlane(plane, facet)) continue;
            auto [inside, outside] = split(rest, plane);
            if (!outside.empty()) off.push_back(std::move(outside));
            rest = std::move(inside);
            if (rest.empty()) break;
        }
        if (rest.empty())
            kept.push_back(std::move(piece));  // whole: no needless seams
        else
            kept.insert(kept.end(), off.begin(), off.end());
    }
    return kept;
}

class Weld {
  public:
    std::uint32_t number(const Vector3d& at) {
        for (std::size_t k = 0; k < points_.size(); ++k)
            if ((points_[k] - at).norm() <= kSame) return static_cast<std::uint32_t>(k);
        points_.push_back(at);
        return static_cast<std::uint32_t>(points_.size() - 1);
    }

    // The ring with every known point that lies on one of its edges.
    std::vector<std::uint32_t> withMeets(const std::vector<std::uint32_t>& ring) const {
        std::vector<std::uint32_t> full;
        for (std::size_t k = 0; k < ring.size(); ++k) {
            const Vector3d& from = points_[ring[k]];
            const Vector3d way = points_[ring[(k + 1) % ring.size()]] - from;
            std::map<double, std::uint32_t> between;
            for (std::size_t p = 0; p < points_.size(); ++p) {
                const double share = (points_[p] - from).dot(way) / way.squaredNorm();
                const double reach = share * way.norm();
                if (reach > kSame && reach < way.norm() - kSame &&
                    (points_[p] - from - share * way).norm() <= kSame)
                    between[share] = static_cast<std::uint32_t>(p);
            }
            full.push_back(ring[k]);
            for (const auto& [share, point] : between)
                full.push_back(point);
        }
        return full;
    }

    std::vector<Vector3d>& points() { return points_; }

  private:
    std::vector<Vector3d> points_;
};

void checkClosed(const TriangleMesh& mesh) {
    std::set<std::pair<std::uint32_t, std::uint32_t>> edges;
    for (const auto& t : mesh.triangles)
        for (std::size_t k = 0; k < 3; ++k)
            require(edges.insert({t[k], t[(k + 1) % 3]}).second,
                    "an edge of the outer surface is used once each way");
    for (const auto& [from, to] : edges)
        require(edges.contains({to, from}), "the outer surface is closed");
}

}  // namespace

TriangleMesh outerSurface(const Design& design, double size_mm) {
    Placement placement;
    placement.size_mm = size_mm;
    if (design.parts.size() == 1)
        return triangulated(placed(makeSolid(design.parts.front()), placement));

    Weld weld;
    std::vector<std::vector<std::uint32_t>> rings;
    for (std::size_t own = 0; own < design.parts.size(); ++own) {
        const ConvexSolid solid = makeSolid(design.parts[own]);
        for (const SolidFace& face : solid.faces) {
            const Facet& facet = design.parts[own].facets[static_cast<std::size_t>(face.facet)];
            Polygon whole;
            for (const int corner : face.corners)
                whole.push_back(solid.vertices[static_cast<std::size_t>(corner)]);
            std::vector<Polygon> pieces{whole};
            for (std::size_t other = 0; other < design.parts.size(); ++other)
                if (other != own)
                    pieces = outsideOf(std::move(pieces), facet, design.parts[other], other < own);
            for (const Polygon& piece : pieces) {
                std::vector<std::uint32_t> ring;
                for (const Vector3d& at : piece)
                    if (const std::uint32_t n = weld.number(at); ring.empty() || ring.back() != n)
                        ring.push_back(n);
                while (ring.size() > 1 && ring.front() == ring.back())
                    ring.pop_back();
                if (ring.size() >= 3) rings.push_back(std::move(ring));
            }
        }
    }
    TriangleMesh mesh;
    const std::size_t known = weld.points().size();
    std::vector<Vector3d> middles;
    for (const auto& ring : rings) {
        const std::vector<std::uint32_t> full = weld.withMeets(ring);
        if (full.size() == ring.size()) {
            for (std::size_t k = 1; k + 1 < ring.size(); ++k)
                mesh.triangles.push_back({ring[0], ring[k], ring[k + 1]});
            continue;
        }
        // Points in one line: round the middle, so that no triangle is flat.
        Vector3d middle = Vector3d::Zero();
        for (const std::uint32_t corner : ring)
            middle += weld.points()[corner];
        const auto centre = static_cast<std::uint32_t>(known + middles.size());
        middles.push_back(middle / static_cast<double>(ring.size()));
        for (std::size_t k = 0; k < full.size(); ++k)
            mesh.triangles.push_back({centre, full[k], full[(k + 1) % full.size()]});
    }
    mesh.vertices = weld.points();
    mesh.vertices.insert(mesh.vertices.end(), middles.begin(), middles.end());
    checkClosed(mesh);
    const double volume = designVolume(design);
    require(std::abs(signedVolume_mm3(mesh) - volume) <= tolerance::kVolumeRelative * volume,
            "the outer surface holds the design's volume");
    for (Vector3d& vertex : mesh.vertices)
        vertex *= size_mm;
    return mesh;
}

}  // namespace macle
