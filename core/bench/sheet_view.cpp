#include "core/bench/sheet_view.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "core/base/tolerance.h"
#include "core/bench/drawn_faces.h"
#include "core/solid/outer_surface.h"

namespace macle {

using Eigen::Vector2d;
using Eigen::Vector3d;

namespace {

using From = SheetView::From;

ViewAxes axesOf(From from) {
    const Vector3d x = Vector3d::UnitX(), y = Vector3d::UnitY(), z = Vector3d::UnitZ();
    switch (from) {
        case From::Culet:
            return {x, -y};
        case From::Side:
            return {x, z};
        case From::End:
            return {y, z};
        default:
            return {x, y};
    }
}

const char* titleOf(From from) {
    switch (from) {
        case From::Culet:
            return "From the culet";
        case From::Side:
            return "From the side";
        case From::End:
            return "From the end";
        default:
            return "From the table";
    }
}

SheetView viewFrom(From from) {
    SheetView view;
    view.from = from;
    view.title = titleOf(from);
    return view;
}

TriangleMesh inCutFrame(TriangleMesh mesh, const Placement& placement) {
    const Eigen::Matrix3d back = placement.rotation.toRotationMatrix().transpose();
    for (Vector3d& v : mesh.vertices)
        v = back * (v - placement.translation_mm);
    return mesh;
}

bool sameEdge(const ViewEdge& a, const ViewEdge& b) {
    const auto near = [](const Vector2d& p, const Vector2d& q) {
        return (p - q).norm() < tolerance::kInside_mm;
    };
    return (near(a[0], b[0]) && near(a[1], b[1])) || (near(a[0], b[1]) && near(a[1], b[0]));
}

// Edges within a facet are none; parts name the facets they share alike.
void addEdges(const std::vector<DrawnFace>& faces, const HiddenLines& lines, bool dropGirdleEdges,
              bool wantHidden, SheetView& view) {
    using Corner = std::array<double, 3>;
    std::map<std::array<Corner, 2>, std::vector<const Facet*>> facetsAt;
    const auto key = [](const Vector3d& at) { return Corner{at.x(), at.y(), at.z()}; };
    for (const DrawnFace& face : faces)
        for (std::size_t i = 0; i < face.corners.size(); ++i) {
            const Corner a = key(face.corners[i]);
            const Corner b = key(face.corners[(i + 1) % face.corners.size()]);
            facetsAt[{std::min(a, b), std::max(a, b)}].push_back(face.facet);
        }
    std::vector<ViewEdge> hidden;
    for (const auto& [ends, facets] : facetsAt) {
        bool girdleOnly = true, one = facets.size() > 1;
        for (const Facet* facet : facets) {
            girdleOnly = girdleOnly && facet->kind == FacetKind::Girdle;
            one = one && facet->name == facets.front()->name;
        }
        if (one || (girdleOnly && dropGirdleEdges)) continue;
        lines.split(Vector3d(ends[0].data()), Vector3d(ends[1].data()), view.visibleEdges, hidden);
    }
    for (const ViewEdge& edge : hidden)
        if (wantHidden && std::none_of(view.visibleEdges.begin(), view.visibleEdges.end(),
                                       [&](const ViewEdge& seen) { return sameEdge(edge, seen); }))
            view.hiddenEdges.push_back(edge);
}

void append(std::vector<OutlineLoop>& list, std::vector<OutlineLoop> more) {
    for (OutlineLoop& loop : more)
        list.push_back(std::move(loop));
}

}  // namespace

std::vector<SheetView> stoneViews(const Stone& piece, const Design& design,
                                  const Placement& placement) {
    const std::vector<ConvexSolid> solids = solidsInCutFrame(design, placement.size_mm);
    const Vector3d size = boundsOf(solids).extent();
    std::vector<From> wanted = {From::Table, From::Culet, From::Side};
    constexpr double kRoundShare = 0.01;  // length and width nearer than this: one side view
    if (std::abs(size.x() - size.y()) > kRoundShare * size.y()) wanted.push_back(From::End);

    const std::vector<DrawnFace> faces = drawnFaces(design, solids, placement.size_mm);
    const TriangleMesh surface = outerSurface(design, placement.size_mm);
    const TriangleMesh skin = inCutFrame(piece.rough.mesh, placement);
    std::vector<TriangleMesh> defects;
    for (const Defect& defect : piece.defects)
        defects.push_back(inCutFrame(defectSurface(defect), placement));

    std::vector<SheetView> views;
    for (const From from : wanted) {
        SheetView view = viewFrom(from);
        const ViewAxes axes = axesOf(from);
        addEdges(faces, HiddenLines(surface, axes), view.fromSide(), true, view);
        view.roughOutline = outlineOf(skin, axes);
        for (const TriangleMesh& defect : defects)
            append(view.defectOutlines, outlineOf(defect, axes));
        view.width_mm = axes.right.cwiseAbs().dot(size);
        view.height_mm = axes.up.cwiseAbs().dot(size);
        views.push_back(std::move(view));
    }
    return views;
}

std::vector<SheetView> overviewOf(const Stone& stone, const std::vector<ViewedStone>& stones,
                                  const std::vector<ViewedSaw>& saws) {
    const Placement& frame = stones.front().placement;
    const TriangleMesh skin = inCutFrame(stone.rough.mesh, frame);
    std::vector<TriangleMesh> defects;
    for (const Defect& defect : stone.defects)
        defects.push_back(inCutFrame(defectSurface(defect), frame));
    std::vector<SheetView> views;
    for (const From from : {From::Table, From::Side}) {
        SheetView view = viewFrom(from);
        view.title += " of stone 1";
        const ViewAxes axes = axesOf(from);
        view.roughOutline = outlineOf(skin, axes);
        for (const TriangleMesh& defect : defects)
            append(view.defectOutlines, outlineOf(defect, axes));
        for (const ViewedStone& one : stones) {
            const std::vector<ConvexSolid> solids =
                solidsInCutFrame(*one.design, one.placement.size_mm);
            std::vector<DrawnFace> faces = drawnFaces(*one.design, solids, one.placement.size_mm);
            const auto moved = [&](const Vector3d& p) {
                return Vector3d(frame.rotation.conjugate() *
                                (one.placement.rotation * p + one.placement.translation_mm -
                                 frame.translation_mm));
            };
            for (DrawnFace& face : faces)
                for (Vector3d& corner : face.corners)
                    corner = moved(corner);
            TriangleMesh surface = outerSurface(*one.design, one.placement.size_mm);
            for (Vector3d& v : surface.vertices)
                v = moved(v);
            addEdges(faces, HiddenLines(surface, axes), true, false, view);
            if (stones.size() > 1)
                view.labels.push_back({axes.project(moved(Vector3d::Zero())), one.label});
        }
        for (const ViewedSaw& saw : saws) {
            OutlineLoop loop;
            for (const Vector3d& p : saw.section)
                loop.push_back(
                    axes.project(frame.rotation.conjugate() * (p - frame.translation_mm)));
            if (loop.empty()) continue;
            const auto top = std::max_element(
                loop.begin(), loop.end(),
                [](const Vector2d& a, const Vector2d& b) { return a.y() < b.y(); });
            view.labels.push_back({*top, saw.label});
            view.saws.push_back(std::move(loop));
        }
        views.push_back(std::move(view));
    }
    return views;
}

}  // namespace macle
