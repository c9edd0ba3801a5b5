#include "render/saw_view.h"

#include <vtkCamera.h>
#include <vtkRenderer.h>

#include <algorithm>
#include <utility>

#include "render/ordered_renderer.h"
#include "render/plane_area.h"

namespace macle::render {

namespace {

constexpr double kHatchShare = 1.0 / 11.0;  // spacing, of the stone's radius
constexpr double kWideKerf_px = 4.0;        // its faces are two lines from here on

struct Widths {
    double outline_px;
    double hatch_px;
};
constexpr std::array<Widths, 2> kWidths = {{{1.4, 0.75}, {2.6, 1.15}}};

// Both sides of the plane show it.
void append(std::vector<FacetEdge>& edges, const std::vector<Segment>& segments,
            const Eigen::Vector3d& normal, const Eigen::Vector3d& lift = Eigen::Vector3d::Zero()) {
    for (const Segment& line : segments)
        edges.push_back({{line.from + lift, line.to + lift}, normal, -normal, true});
}

}  // namespace

struct SawView::Strokes {
    EdgeLines outline{nullptr};
    EdgeLines hatch{nullptr};
    EdgeLines faces{nullptr};
    EdgeLines section{nullptr};

    std::array<EdgeLines*, 4> all() { return {&hatch, &faces, &outline, &section}; }
};

SawView::SawView(OrderedRenderer& renderer) {
    for (std::size_t k = 0; k < strokes_.size(); ++k) {
        strokes_[k] = std::make_unique<Strokes>();
        Strokes& strokes = *strokes_[k];
        strokes.outline.setWidth(kWidths[k].outline_px);
        strokes.section.setWidth(kWidths[k].outline_px);
        strokes.hatch.setWidth(kWidths[k].hatch_px);
        strokes.faces.setWidth(kWidths[k].hatch_px);
        for (EdgeLines* lines : strokes.all())
            lines->addTo(renderer);
    }
}

SawView::~SawView() = default;

void SawView::setSaws(std::vector<SawOutline> saws, int chosen, double stoneRadius_mm) {
    saws_ = std::move(saws);
    chosen_ = chosen;
    widestKerf_mm_ = 0.0;
    std::array<std::vector<FacetEdge>, 2> outlines;
    std::array<std::vector<FacetEdge>, 2> hatches;
    std::array<std::vector<FacetEdge>, 2> faces;
    for (std::size_t s = 0; s < saws_.size(); ++s) {
        const SawOutline& saw = saws_[s];
        const std::size_t k = static_cast<int>(s) == chosen_ ? 1 : 0;
        append(outlines[k], saw.middle, saw.normal);
        append(
            hatches[k],
            PlaneArea(saw.middle, {saw.normal, saw.offset_mm}).hatch(kHatchShare * stoneRadius_mm),
            saw.normal);
        append(faces[k], saw.faces, saw.normal);
        widestKerf_mm_ = std::max(widestKerf_mm_, saw.kerf_mm);
    }
    for (std::size_t k = 0; k < strokes_.size(); ++k) {
        strokes_[k]->outline.setEdges(std::move(outlines[k]));
        strokes_[k]->hatch.setEdges(std::move(hatches[k]));
        strokes_[k]->faces.setEdges(std::move(faces[k]));
    }
}

void SawView::setPalette(const Palette& colours) {
    for (EdgeLines* lines : strokes_[0]->all())
        lines->setColour(colours.quietSaw);
    for (EdgeLines* lines : strokes_[1]->all())
        lines->setColour(colours.saw);
}

void SawView::setVisible(bool visible) {
    visible_ = visible;
    for (const auto& strokes : strokes_)
        for (EdgeLines* lines : strokes->all())
            lines->setVisible(visible);
}

void SawView::clip(vtkPlane* plane) {
    for (const auto& strokes : strokes_)
        for (EdgeLines* lines : {&strokes->outline, &strokes->hatch, &strokes->faces})
            lines->clip(plane);
}

void SawView::cut(const CutPlane* plane, const TriangleMesh& rough, double step_mm) {
    std::array<std::vector<FacetEdge>, 2> edges;
    if (plane != nullptr) {
        const PlaneArea whole(meshOutline(rough, *plane), *plane);
        for (std::size_t s = 0; s < saws_.size(); ++s) {
            const SawOutline& saw = saws_[s];
            const PlaneArea area = whole.within(saw.within);
            std::vector<FacetEdge>& into = edges[static_cast<int>(s) == chosen_ ? 1 : 0];
            const Eigen::Vector3d lift = step_mm * plane->normal;
            for (const HalfSpace& face : {saw.below, saw.above})
                append(into, area.along(face), plane->normal, lift);
        }
    }
    for (std::size_t k = 0; k < strokes_.size(); ++k)
        strokes_[k]->section.setEdges(std::move(edges[k]));
}

void SawView::follow(vtkRenderer& renderer, double pixelRatio) {
    const int* size = renderer.GetSize();
    const double height_mm = 2.0 * renderer.GetActiveCamera()->GetParallelScale();
    const double kerf_px = height_mm > 0.0 ? widestKerf_mm_ * size[1] / height_mm : 0.0;
    for (const auto& strokes : strokes_) {
        strokes->faces.setVisible(visible_ && kerf_px >= kWideKerf_px * pixelRatio);
        for (EdgeLines* lines : strokes->all())
            lines->follow(renderer, pixelRatio);
    }
}

}  // namespace macle::render
