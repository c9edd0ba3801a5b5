#include "render/defect_actors.h"

#include <vtkActor.h>
#include <vtkOpenGLPolyDataMapper.h>
#include <vtkPlane.h>
#include <vtkPointData.h>
#include <vtkPolyData.h>
#include <vtkProperty.h>

#include <algorithm>
#include <array>
#include <map>
#include <string>
#include <utility>

#include "render/blended_actor.h"
#include "render/ordered_renderer.h"
#include "render/poly_data.h"

namespace macle::render {

namespace {

constexpr double kCrease_deg = 50.0;
constexpr double kOutlineShare = 0.010;  // of the stone's radius
constexpr double kThrough = 0.38;        // opacity of what shines through
constexpr double kSmallShare = 0.02;     // of the stone's radius: gets a dot
constexpr double kDot_px = 4.0;
constexpr double kRim_px = 4.0;

// The surface swollen along its normals, of which only the far side is drawn: an outline.
vtkSmartPointer<vtkPolyData> swollen(const TriangleMesh& mesh, double by_mm) {
    const auto data = smoothSurface(mesh, 180.0);  // one normal per corner, so that it stays closed
    vtkDataArray* normals = data->GetPointData()->GetNormals();
    if (normals == nullptr) return data;
    for (vtkIdType i = 0; i < data->GetNumberOfPoints(); ++i) {
        double point[3];
        double normal[3];
        data->GetPoint(i, point);
        normals->GetTuple(i, normal);
        for (int k = 0; k < 3; ++k)
            point[k] += by_mm * normal[k];
        data->GetPoints()->SetPoint(i, point);
    }
    return data;
}

// The rim of an open sheet as segments.
std::vector<Segment> openRim(const TriangleMesh& mesh) {
    std::map<std::pair<std::uint32_t, std::uint32_t>, int> uses;
    for (const auto& triangle : mesh.triangles) {
        for (std::size_t k = 0; k < 3; ++k) {
            const std::uint32_t a = triangle[k];
            const std::uint32_t b = triangle[(k + 1) % 3];
            ++uses[{std::min(a, b), std::max(a, b)}];
        }
    }
    std::vector<Segment> rim;
    for (const auto& [edge, count] : uses)
        if (count == 1)
            rim.push_back({mesh.vertices.at(edge.first), mesh.vertices.at(edge.second)});
    return rim;
}

}  // namespace

struct DefectActors::Layer {
    vtkNew<vtkOpenGLPolyDataMapper> mapper;
    vtkNew<vtkOpenGLPolyDataMapper> hiddenMapper;
    vtkNew<vtkActor> actor;
    vtkNew<BlendedActor> hidden;  // behind something

    explicit Layer(vtkPolyData* data) {
        mapper->SetInputData(data);
        hiddenMapper->SetInputData(data);
        actor->SetMapper(mapper);
        hidden->SetMapper(hiddenMapper);
        actor->ForceOpaqueOn();
        hidden->setOnlyHidden(true);
        for (vtkActor* one : all()) {
            one->PickableOff();
            vtkProperty* look = one->GetProperty();
            look->SetInterpolationToPhong();
            look->SetAmbient(0.68);  // the colour carries the meaning, so shading stays weak
            look->SetDiffuse(0.32);
            look->SetSpecular(0.0);
        }
        hidden->GetProperty()->SetOpacity(kThrough);
    }
    std::array<vtkActor*, 2> all() { return {actor.Get(), hidden.Get()}; }
    void show(bool on) {
        for (vtkActor* one : all())
            one->SetVisibility(on);
    }
    void clip(vtkPlane* plane) {
        for (vtkOpenGLPolyDataMapper* one : {mapper.Get(), hiddenMapper.Get()}) {
            one->RemoveAllClippingPlanes();
            if (plane != nullptr) one->AddClippingPlane(plane);
        }
    }
};

DefectActors::DefectActors(OrderedRenderer& renderer)
    : renderer_(renderer),
      outline_(std::make_unique<Layer>(vtkNew<vtkPolyData>())),
      frame_(renderer) {
    outline_->actor->GetProperty()->LightingOff();
    outline_->show(false);
    renderer_.AddActor(outline_->actor);
}

DefectActors::~DefectActors() = default;

std::unique_ptr<DefectActors::Layer> DefectActors::add(vtkPolyData* data) {
    auto layer = std::make_unique<Layer>(data);
    layer->clip(plane_);
    layer->show(visible_);
    for (vtkActor* actor : layer->all())
        renderer_.AddActor(actor);
    return layer;
}

void DefectActors::setDefects(const std::vector<Defect>& defects, double stoneRadius_mm) {
    if (dots_) layers_.push_back(std::move(dots_));
    for (const auto& layer : layers_)
        for (vtkActor* actor : layer->all())
            renderer_.RemoveActor(actor);
    layers_.clear();
    surfaces_.clear();
    defects_ = defects;
    stoneRadius_mm_ = stoneRadius_mm;
    highlighted_ = -1;
    std::vector<ColouredPoint> small;
    for (const Defect& defect : defects_) {
        surfaces_.push_back(defectSurface(defect));
        const Rgb colour = severityColour(defect.severity);
        layers_.push_back(add(smoothSurface(surfaces_.back(), kCrease_deg)));
        for (vtkActor* actor : layers_.back()->all())
            paint(*actor, colour);
        const Box box = bounds(surfaces_.back());
        if (0.5 * box.extent().norm() < kSmallShare * stoneRadius_mm)
            small.push_back({box.centre(), colour});
    }
    if (!small.empty()) {
        dots_ = add(pointCloud(small));
        for (vtkActor* actor : dots_->all())
            actor->GetProperty()->LightingOff();
    }
    applyHighlight();
}

void DefectActors::setPalette(const Palette& colours) {
    paint(*outline_->actor, colours.highlight);
    frame_.setPalette(colours);
}

void DefectActors::setVisible(bool visible) {
    visible_ = visible;
    for (const auto& layer : layers_)
        layer->show(visible);
    if (dots_) dots_->show(visible);
    applyHighlight();
}

void DefectActors::setHighlighted(int index) {
    highlighted_ = index;
    applyHighlight();
}

void DefectActors::clip(vtkPlane* plane) {
    plane_ = plane;
    for (const auto& layer : layers_)
        layer->clip(plane);
    if (dots_) dots_->clip(plane);
    outline_->clip(plane);
}

void DefectActors::follow(double pixelRatio) {
    frame_.follow(pixelRatio);
    outline_->actor->GetProperty()->SetLineWidth(static_cast<float>(kRim_px * pixelRatio));
    if (!dots_) return;
    for (vtkActor* actor : dots_->all())
        actor->GetProperty()->SetPointSize(static_cast<float>(kDot_px * pixelRatio));
}

void DefectActors::applyHighlight() {
    const bool shown =
        visible_ && highlighted_ >= 0 && highlighted_ < static_cast<int>(defects_.size());
    outline_->actor->SetVisibility(shown);
    if (!shown) {
        frame_.clear();
        return;
    }
    const auto index = static_cast<std::size_t>(highlighted_);
    const bool sheet = std::holds_alternative<Sheet>(defects_[index].shape);
    vtkProperty* look = outline_->actor->GetProperty();
    look->SetFrontfaceCulling(!sheet);
    outline_->mapper->SetInputData(
        sheet ? segmentLines(openRim(surfaces_[index]))
              : swollen(surfaces_[index], kOutlineShare * stoneRadius_mm_));
    const Defect& defect = defects_[index];
    frame_.around(surfaces_[index].vertices,
                  defect.name + "  severity " + std::to_string(defect.severity));
}

}  // namespace macle::render
