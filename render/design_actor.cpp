#include "render/design_actor.h"

#include <vtkPlane.h>
#include <vtkProperty.h>

#include "render/facet_edges.h"
#include "render/ordered_renderer.h"
#include "render/poly_data.h"

namespace macle::render {

namespace {

constexpr double kEdgeWidth_px = 1.6;
constexpr double kSkinCrease_deg = 60.0;

}  // namespace

std::vector<DesignActor::Layer*> DesignActor::all() {
    return {&faces_, &lines_, &finishedFaces_, &finishedSkin_, &finishedLines_};
}

DesignActor::DesignActor(OrderedRenderer& renderer) {
    // Faces step back a little so that lines on them are whole. Global in VTK: the shift itself is
    // zero for everything that does not ask for more.
    vtkMapper::SetResolveCoincidentTopologyToPolygonOffset();
    vtkMapper::SetResolveCoincidentTopologyPolygonOffsetParameters(0.0, 0.0);
    vtkMapper::SetResolveCoincidentTopologyLineOffsetParameters(0.0, 0.0);
    for (Layer* layer : all()) {
        layer->mapper->ScalarVisibilityOff();
        layer->mapper->SetInputData(vtkSmartPointer<vtkPolyData>::New());
        layer->actor->SetMapper(layer->mapper);
        layer->actor->ForceOpaqueOn();
        renderer.AddActor(layer->actor);
    }
    for (Layer* layer : {&faces_, &finishedFaces_, &finishedSkin_}) {
        layer->mapper->SetRelativeCoincidentTopologyPolygonOffsetParameters(1.0, 20.0);
        vtkProperty* look = layer->actor->GetProperty();
        look->SetInterpolationToPhong();
        look->SetAmbient(0.62);
        look->SetDiffuse(0.38);
        look->SetSpecular(0.0);
    }
    for (Layer* layer : {&lines_, &finishedLines_}) {
        vtkProperty* look = layer->actor->GetProperty();
        look->LightingOff();
        look->SetLineWidth(static_cast<float>(kEdgeWidth_px));
    }
    for (Layer* layer : {&faces_, &lines_})
        layer->actor->SetUserMatrix(matrix_);
    applyVisibility();
}

void DesignActor::setParts(const std::vector<ConvexSolid>& partsForSizeOne) {
    parts_ = partsForSizeOne;
    faces_.mapper->SetInputData(flatFaces(parts_));
    lines_.mapper->SetInputData(segmentLines(facetEdges(parts_)));
    applyVisibility();
}

void DesignActor::setPlacement(const Placement& placement) {
    placement_ = placement;
    const Eigen::Matrix3d linear =
        placement.size_mm * placement.rotation.normalized().toRotationMatrix();
    matrix_->Identity();
    for (int row = 0; row < 3; ++row) {
        for (int column = 0; column < 3; ++column)
            matrix_->SetElement(row, column, linear(row, column));
        matrix_->SetElement(row, 3, placement.translation_mm(row));
    }
}

void DesignActor::setFinished(const TriangleMesh& mesh) {
    finished_ = !mesh.empty();
    const FinishedSurface split = splitFinished(mesh, parts_, placement_);
    finishedFaces_.mapper->SetInputData(smoothSurface(split.facets, 1.0));
    finishedSkin_.mapper->SetInputData(smoothSurface(split.skin, kSkinCrease_deg));
    finishedLines_.mapper->SetInputData(segmentLines(split.edges));
    applyVisibility();
}

void DesignActor::setPalette(const Palette& colours) {
    for (Layer* layer : {&faces_, &finishedFaces_})
        paint(*layer->actor, colours.stone);
    paint(*finishedSkin_.actor, colours.skin);
    for (Layer* layer : {&lines_, &finishedLines_})
        paint(*layer->actor, colours.edge);
}

void DesignActor::setVisible(bool visible) {
    visible_ = visible;
    applyVisibility();
}

void DesignActor::clip(vtkPlane* plane) {
    for (Layer* layer : all()) {
        layer->mapper->RemoveAllClippingPlanes();
        if (plane != nullptr) layer->mapper->AddClippingPlane(plane);
    }
}

void DesignActor::applyVisibility() {
    for (Layer* layer : all()) {
        const bool wanted = (layer == &faces_ || layer == &lines_) != finished_;
        layer->actor->SetVisibility(visible_ && wanted &&
                                    layer->mapper->GetInput()->GetNumberOfCells() > 0);
    }
}

}  // namespace macle::render
