#include "render/defect_actors.h"

#include <vtkFloatArray.h>
#include <vtkPlane.h>
#include <vtkPointData.h>
#include <vtkPolyData.h>
#include <vtkProperty.h>

#include <map>
#include <utility>

#include "render/ordered_renderer.h"
#include "render/poly_data.h"

namespace macle::render {

namespace {

constexpr double kCrease_deg = 50.0;
constexpr double kOutlineShare = 0.010;  // of the stone's radius

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
    vtkNew<vtkActor> actor;

    Layer() {
        mapper->ScalarVisibilityOff();
        actor->SetMapper(mapper);
        actor->ForceOpaqueOn();
    }
    void clip(vtkPlane* plane) {
        mapper->RemoveAllClippingPlanes();
        if (plane != nullptr) mapper->AddClippingPlane(plane);
    }
};

DefectActors::DefectActors(OrderedRenderer& renderer)
    : renderer_(renderer), outline_(std::make_unique<Layer>()) {
    outline_->actor->GetProperty()->LightingOff();
    outline_->actor->VisibilityOff();
    outline_->mapper->SetInputData(vtkSmartPointer<vtkPolyData>::New());
    renderer_.AddActor(outline_->actor);
}

DefectActors::~DefectActors() = default;

void DefectActors::setDefects(const std::vector<Defect>& defects, double stoneRadius_mm) {
    for (const auto& layer : layers_)
        renderer_.RemoveActor(layer->actor);
    layers_.clear();
    surfaces_.clear();
    defects_ = defects;
    stoneRadius_mm_ = stoneRadius_mm;
    highlighted_ = -1;
    for (const Defect& defect : defects_) {
        surfaces_.push_back(defectSurface(defect));
        auto layer = std::make_unique<Layer>();
        layer->mapper->SetInputData(smoothSurface(surfaces_.back(), kCrease_deg));
        vtkProperty* look = layer->actor->GetProperty();
        paint(*layer->actor, severityColour(defect.severity));
        look->SetInterpolationToPhong();
        look->SetAmbient(0.68);  // the colour carries the meaning, so shading stays weak
        look->SetDiffuse(0.32);
        look->SetSpecular(0.0);
        layer->actor->SetVisibility(visible_);
        layer->clip(plane_);
        renderer_.AddActor(layer->actor);
        layers_.push_back(std::move(layer));
    }
    applyHighlight();
}

void DefectActors::setPalette(const Palette& colours) {
    paint(*outline_->actor, colours.highlight);
}

void DefectActors::setVisible(bool visible) {
    visible_ = visible;
    for (const auto& layer : layers_)
        layer->actor->SetVisibility(visible);
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
    outline_->clip(plane);
}

void DefectActors::applyHighlight() {
    const bool shown =
        visible_ && highlighted_ >= 0 && highlighted_ < static_cast<int>(defects_.size());
    outline_->actor->SetVisibility(shown);
    if (!shown) return;
    const auto index = static_cast<std::size_t>(highlighted_);
    const bool sheet = std::holds_alternative<Sheet>(defects_[index].shape);
    vtkProperty* look = outline_->actor->GetProperty();
    look->SetFrontfaceCulling(!sheet);
    look->SetLineWidth(4.0F);
    outline_->mapper->SetInputData(
        sheet ? segmentLines(openRim(surfaces_[index]))
              : swollen(surfaces_[index], kOutlineShare * stoneRadius_mm_));
}

}  // namespace macle::render
