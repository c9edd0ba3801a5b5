#include "render/section_view.h"

#include <vtkPolyData.h>
#include <vtkProperty.h>

#include <cmath>

#include "core/base/error.h"
#include "render/ordered_renderer.h"
#include "render/poly_data.h"

namespace macle::render {

namespace {

constexpr double kRoughArea = 0.22;   // opacity
constexpr double kDesignTone = 0.90;  // of the stone's white, so that cut and polished differ

}  // namespace

struct SectionView::Area {
    vtkNew<vtkOpenGLPolyDataMapper> mapper;
    vtkNew<vtkActor> actor;

    explicit Area(OrderedRenderer& renderer) {
        mapper->ScalarVisibilityOff();
        mapper->SetInputData(vtkSmartPointer<vtkPolyData>::New());
        actor->SetMapper(mapper);
        actor->PickableOff();
        actor->VisibilityOff();
        actor->GetProperty()->LightingOff();
        renderer.AddActor(actor);
    }
};

SectionView::SectionView(OrderedRenderer& renderer)
    : renderer_(renderer),
      rough_(std::make_unique<Area>(renderer)),
      others_(std::make_unique<Area>(renderer)),
      design_(std::make_unique<Area>(renderer)) {
    rough_->actor->ForceTranslucentOn();
    rough_->actor->GetProperty()->SetOpacity(kRoughArea);
    roughLines_.addTo(renderer);
    otherLines_.addTo(renderer);
    designLines_.addTo(renderer);
}

SectionView::~SectionView() = default;

void SectionView::setPlane(const Eigen::Vector3d& normal, double offset_mm) {
    if (!normal.allFinite() || !std::isfinite(offset_mm)) {
        throw Error(ErrorCode::BadUsage, "the section plane has a value that is not a number",
                    "give a finite normal and offset, or the normal zero to switch it off");
    }
    const double length = normal.norm();
    on_ = length > 0.0;
    if (!on_) return;
    cut_ = {normal / length, offset_mm};
    const Eigen::Vector3d origin = cut_.normal * offset_mm;
    const Eigen::Vector3d kept = -cut_.normal;  // VTK keeps the side its normal points to
    plane_->SetOrigin(origin.x(), origin.y(), origin.z());
    plane_->SetNormal(kept.x(), kept.y(), kept.z());
}

void SectionView::setPalette(const Palette& colours) {
    paint(*rough_->actor, colours.rough);
    const auto toned = [](Rgb tone) {
        for (double& value : tone)
            value *= kDesignTone;
        return tone;
    };
    paint(*design_->actor, toned(colours.stone));
    paint(*others_->actor, toned(colours.otherStone));
    otherLines_.setColour(colours.otherEdge);
    roughLines_.setColour(colours.text);
    designLines_.setColour(colours.edge);
}

void SectionView::cutRough(const TriangleMesh& mesh, double step_mm) {
    show(*rough_, &roughLines_, on_ ? cutMesh(mesh, cut_) : SectionShape{}, step_mm);
}

void SectionView::cutDesign(const std::vector<ConvexSolid>& parts, double step_mm) {
    show(*design_, &designLines_, on_ ? cutParts(parts, cut_) : SectionShape{}, 2.0 * step_mm);
}

void SectionView::cutOthers(const std::vector<std::vector<ConvexSolid>>& stones, double step_mm) {
    SectionShape all;
    if (on_) {
        for (const std::vector<ConvexSolid>& parts : stones) {
            const SectionShape one = cutParts(parts, cut_);
            append(all.area, one.area);
            all.outline.insert(all.outline.end(), one.outline.begin(), one.outline.end());
        }
    }
    show(*others_, &otherLines_, all, 2.0 * step_mm);
}

void SectionView::cutFinished(const TriangleMesh& mesh, double step_mm) {
    show(*design_, &designLines_, on_ ? cutMesh(mesh, cut_) : SectionShape{}, 2.0 * step_mm);
}

void SectionView::cutDefects(const std::vector<Defect>& defects,
                             const std::vector<TriangleMesh>& surfaces, double step_mm) {
    for (const auto& area : defects_)
        renderer_.RemoveActor(area->actor);
    defects_.clear();
    if (!on_) return;
    for (std::size_t i = 0; i < defects.size(); ++i) {
        const SectionShape shape = cutMesh(surfaces.at(i), cut_);
        if (shape.area.empty()) continue;
        defects_.push_back(std::make_unique<Area>(renderer_));
        paint(*defects_.back()->actor, severityColour(defects[i].severity));
        show(*defects_.back(), nullptr, shape, 3.0 * step_mm);
    }
}

void SectionView::follow(vtkRenderer& renderer, double pixelRatio) {
    roughLines_.follow(renderer, pixelRatio);
    otherLines_.follow(renderer, pixelRatio);
    designLines_.follow(renderer, pixelRatio);
}

void SectionView::show(Area& area, EdgeLines* lines, const SectionShape& shape, double lift_mm) {
    const Eigen::Vector3d lift = lift_mm * cut_.normal;
    TriangleMesh lifted = shape.area;
    for (Eigen::Vector3d& vertex : lifted.vertices)
        vertex += lift;
    area.mapper->SetInputData(bareSurface(lifted));
    area.actor->SetVisibility(!lifted.empty());
    if (lines == nullptr) return;
    std::vector<FacetEdge> edges;  // drawn from either side of the plane
    for (const Segment& segment : shape.outline)
        edges.push_back(
            {{segment.from + lift, segment.to + lift}, cut_.normal, -cut_.normal, true});
    lines->setEdges(std::move(edges));
}

}  // namespace macle::render
