// The views of single steps: what goes off, what is left, and the facets just worked.
#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "core/base/tolerance.h"
#include "core/bench/sheet_view.h"

namespace macle {

using Eigen::Vector2d;
using Eigen::Vector3d;

namespace {

using From = SheetView::From;
using Ends = std::pair<std::uint32_t, std::uint32_t>;

constexpr int kSkin = -1;

struct WorkedPlane {
    const Facet* facet;
    bool fresh;
};

TriangleMesh inFrame(TriangleMesh mesh, const Placement& placement) {
    const Eigen::Matrix3d back = placement.rotation.toRotationMatrix().transpose();
    for (Vector3d& v : mesh.vertices)
        v = back * (v - placement.translation_mm);
    return mesh;
}

// Which worked plane each triangle lies in. Flat slivers go with what is beside them: their
// corners lie in the plane whatever their normal.
std::vector<int> planesOf(const TriangleMesh& mesh, const std::vector<WorkedPlane>& planes,
                          double size_mm) {
    constexpr double kAlong = 0.99;  // cosine; a wrong plane through all three corners is no plane
    constexpr double kSliver_mm2 = 1e-10;
    std::vector<int> labels;
    labels.reserve(mesh.triangles.size());
    for (const auto& t : mesh.triangles) {
        const Vector3d& a = mesh.vertices[t[0]];
        const Vector3d normal = (mesh.vertices[t[1]] - a).cross(mesh.vertices[t[2]] - a);
        const double length = normal.norm();
        int label = kSkin;
        for (std::size_t k = 0; k < planes.size() && label == kSkin; ++k) {
            const Facet& facet = *planes[k].facet;
            if (length > kSliver_mm2 && normal.dot(facet.normal) < kAlong * length) continue;
            const bool on = std::all_of(t.begin(), t.end(), [&](std::uint32_t corner) {
                return std::abs(facet.normal.dot(mesh.vertices[corner]) -
                                facet.distance * size_mm) < tolerance::kInside_mm;
            });
            if (on) label = static_cast<int>(k);
        }
        labels.push_back(label);
    }
    return labels;
}

struct Region {
    std::map<std::uint32_t, std::vector<std::uint32_t>> border;  // from corner to corner
    Vector3d middle = Vector3d::Zero();                          // of its largest triangle
    double largest = 0.0;
};

std::vector<std::vector<std::uint32_t>> loopsOf(Region& region) {
    std::vector<std::vector<std::uint32_t>> loops;
    while (!region.border.empty()) {
        std::vector<std::uint32_t> loop;
        std::uint32_t at = region.border.begin()->first;
        for (auto next = region.border.find(at); next != region.border.end();
             next = region.border.find(at)) {
            loop.push_back(at);
            at = next->second.back();
            next->second.pop_back();
            if (next->second.empty()) region.border.erase(next);
        }
        if (loop.size() >= 3) loops.push_back(std::move(loop));
    }
    return loops;
}

class StepSurface {
  public:
    StepSurface(const TriangleMesh& mesh, const std::vector<WorkedPlane>& planes, double size_mm)
        : mesh_(mesh), planes_(planes), labels_(planesOf(mesh, planes, size_mm)) {
        for (std::size_t i = 0; i < mesh.triangles.size(); ++i)
            for (std::size_t k = 0; k < 3; ++k)
                triangleAt_[{mesh.triangles[i][k], mesh.triangles[i][(k + 1) % 3]}] = i;
    }

    void draw(const ViewAxes& axes, SheetView& view) const {
        const HiddenLines lines(mesh_, axes);
        std::vector<ViewEdge> ignored;
        std::map<std::string, Region> fresh;
        for (const auto& [ends, triangle] : triangleAt_) {
            const int own = labels_[triangle];
            const auto back = triangleAt_.find({ends.second, ends.first});
            const int other = back == triangleAt_.end() ? kSkin : labels_[back->second];
            if (isFresh(own)) {
                Region& region = fresh[nameOf(own)];
                if (nameOf(own) != nameOf(other)) region.border[ends.first].push_back(ends.second);
                note(region, triangle);
            }
            if (ends.first > ends.second || nameOf(own) == nameOf(other)) continue;
            if (isGirdle(own) && isGirdle(other)) continue;
            lines.split(mesh_.vertices[ends.first], mesh_.vertices[ends.second],
                        isFresh(own) || isFresh(other) ? view.freshEdges : view.visibleEdges,
                        ignored);
        }
        for (auto& [name, region] : fresh) {
            const Facet& facet = facetNamed(name);
            if (facet.normal.dot(axes.toViewer()) <= 0.0 || !lines.seen(region.middle)) continue;
            for (const auto& loop : loopsOf(region)) {
                OutlineLoop seen;
                for (const std::uint32_t corner : loop)
                    seen.push_back(axes.project(mesh_.vertices[corner]));
                view.freshFacets.push_back(std::move(seen));
            }
        }
    }

  private:
    bool isFresh(int label) const {
        return label != kSkin && planes_[static_cast<std::size_t>(label)].fresh;
    }
    bool isGirdle(int label) const {
        return label != kSkin &&
               planes_[static_cast<std::size_t>(label)].facet->kind == FacetKind::Girdle;
    }
    // Parts name what they share alike.
    std::string nameOf(int label) const {
        return label == kSkin ? std::string()
                              : planes_[static_cast<std::size_t>(label)].facet->name;
    }
    const Facet& facetNamed(const std::string& name) const {
        return *std::find_if(planes_.begin(), planes_.end(), [&](const WorkedPlane& plane) {
                    return plane.facet->name == name;
                })->facet;
    }
    void note(Region& region, std::size_t triangle) const {
        const auto& t = mesh_.triangles[triangle];
        const Vector3d &a = mesh_.vertices[t[0]], &b = mesh_.vertices[t[1]],
                       &c = mesh_.vertices[t[2]];
        const double area = (b - a).cross(c - a).norm();
        if (area < region.largest) return;
        region.largest = area;
        region.middle = (a + b + c) / 3.0;
    }

    const TriangleMesh& mesh_;
    const std::vector<WorkedPlane>& planes_;
    std::vector<int> labels_;
    std::map<Ends, std::size_t> triangleAt_;
};

// Counter-clockwise hull of points in a plane (Andrew's monotone chain).
std::vector<Vector2d> hullOf(std::vector<Vector2d> points) {
    const auto less = [](const Vector2d& a, const Vector2d& b) {
        return a.x() != b.x() ? a.x() < b.x() : a.y() < b.y();
    };
    std::sort(points.begin(), points.end(), less);
    points.erase(std::unique(points.begin(), points.end()), points.end());
    if (points.size() < 3) return points;
    std::vector<Vector2d> hull;
    for (int pass = 0; pass < 2; ++pass) {
        const std::size_t floor = hull.size() + 1;
        for (const Vector2d& p : points) {
            while (hull.size() > floor) {
                const Vector2d a = hull.back() - hull[hull.size() - 2], b = p - hull.back();
                if (a.x() * b.y() - a.y() * b.x() > 0.0) break;
                hull.pop_back();
            }
            hull.push_back(p);
        }
        hull.pop_back();
        std::reverse(points.begin(), points.end());
    }
    return hull;
}

ViewAxes acrossPlane(const Vector3d& normal) {
    const Vector3d right = normal.unitOrthogonal();
    return {right, normal.cross(right)};
}

}  // namespace

std::vector<Vector3d> sectionHull(const TriangleMesh& surface, const Vector3d& normal,
                                  double offset_mm) {
    const ViewAxes axes = acrossPlane(normal);
    std::vector<Vector2d> points;
    for (const auto& t : surface.triangles)
        for (std::size_t k = 0; k < 3; ++k) {
            const Vector3d& a = surface.vertices[t[k]];
            const Vector3d& b = surface.vertices[t[(k + 1) % 3]];
            const double over = normal.dot(a) - offset_mm, then = normal.dot(b) - offset_mm;
            if ((over > 0.0) == (then > 0.0)) continue;
            points.push_back(axes.project(a + over / (over - then) * (b - a)));
        }
    std::vector<Vector3d> corners;
    for (const Vector2d& p : hullOf(std::move(points)))
        corners.push_back(p.x() * axes.right + p.y() * axes.up + offset_mm * normal);
    return corners;
}

std::vector<SheetView> stepViews(const TriangleMesh& before, const TriangleMesh& after,
                                 const Design& design, const Placement& placement,
                                 const std::vector<std::string>& worked,
                                 const std::vector<std::string>& fresh) {
    const std::set<std::string> known(worked.begin(), worked.end());
    const std::set<std::string> now(fresh.begin(), fresh.end());
    std::vector<WorkedPlane> planes;
    double up = 0.0;
    for (const ConvexPart& part : design.parts)
        for (const Facet& facet : part.facets) {
            if (!known.contains(facet.name)) continue;
            planes.push_back({&facet, now.contains(facet.name)});
            if (planes.back().fresh) up += facet.normal.z();
        }
    constexpr double kLevel = 1e-6;  // rounding in a sum over a whole girdle
    const TriangleMesh then = inFrame(before, placement), left = inFrame(after, placement);
    const StepSurface surface(left, planes, placement.size_mm);
    const ViewAxes below{Vector3d::UnitX(), -Vector3d::UnitY()};
    const ViewAxes above{Vector3d::UnitX(), Vector3d::UnitY()};
    std::vector<SheetView> views;
    for (const bool side : {false, true}) {
        SheetView view;
        const bool culet = up < -kLevel;
        view.from = side ? From::Side : culet ? From::Culet : From::Table;
        view.title = side ? "From the side" : culet ? "From the culet" : "From the table";
        const ViewAxes axes = side    ? ViewAxes{Vector3d::UnitX(), Vector3d::UnitZ()}
                              : culet ? below
                                      : above;
        view.roughOutline = outlineOf(then, axes);
        view.bodyOutline = outlineOf(left, axes);
        surface.draw(axes, view);
        views.push_back(std::move(view));
    }
    return views;
}

std::vector<SheetView> sawViews(const TriangleMesh& before,
                                const std::vector<const TriangleMesh*>& after,
                                const Vector3d& normal, double offset_mm,
                                const std::vector<std::string>& labels) {
    const Vector3d along = normal.unitOrthogonal();
    std::vector<SheetView> views(2);
    views[0].from = From::Along;
    views[0].title = "Saw edge on, n to right";
    views[1].from = From::Across;
    views[1].title = "Against n";
    const std::vector<Vector3d> section = sectionHull(before, normal, offset_mm);
    for (SheetView& view : views) {
        const bool edgeOn = view.from == From::Along;
        const ViewAxes axes = edgeOn ? ViewAxes{normal, along} : acrossPlane(normal);
        view.roughOutline = outlineOf(before, axes);
        for (std::size_t i = 0; i < after.size(); ++i) {
            std::vector<OutlineLoop> loops = outlineOf(*after[i], axes);
            if (edgeOn && !loops.empty()) {
                Vector2d low = loops[0][0], high = low;
                for (const Vector2d& p : loops[0]) {
                    low = low.cwiseMin(p);
                    high = high.cwiseMax(p);
                }
                if (i < labels.size()) view.labels.push_back({0.5 * (low + high), labels[i]});
            }
            for (OutlineLoop& loop : loops)
                view.bodyOutline.push_back(std::move(loop));
        }
        OutlineLoop cut;
        for (const Vector3d& p : section)
            cut.push_back(axes.project(p));
        if (!cut.empty()) view.saws.push_back(std::move(cut));
    }
    return views;
}

}  // namespace macle
