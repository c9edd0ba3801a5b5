#include "render/design_actor.h"

#include <vtkPlane.h>

#include "render/facet_edges.h"
#include "render/facet_look.h"
#include "render/ordered_renderer.h"
#include "render/poly_data.h"

namespace macle::render {

namespace {

constexpr double kSkinCrease_deg = 60.0;

}  // namespace

std::vector<DesignActor::Layer*> DesignActor::all() {
    return {&faces_, &finishedFaces_, &finishedSkin_};
}

DesignActor::DesignActor(OrderedRenderer& renderer) : lines_(matrix_), finishedLines_(nullptr) {
    for (Layer* layer : all()) {
        lookFaceted(*layer->actor, *layer->mapper);
        renderer.AddActor(layer->actor);
    }
    faces_.actor->SetUserMatrix(matrix_);
    lines_.addTo(renderer);
    finishedLines_.addTo(renderer);
    applyVisibility();
}

void DesignActor::setParts(const std::vector<ConvexSolid>& partsForSizeOne) {
    parts_ = partsForSizeOne;
    faces_.mapper->SetInputData(flatFaces(parts_));
    lines_.setEdges(facetEdges(parts_));
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
    finished_ = mesh;
    const FinishedSurface split = splitFinished(mesh, parts_, placement_);
    finishedFaces_.mapper->SetInputData(smoothSurface(split.facets, 1.0));
    finishedSkin_.mapper->SetInputData(smoothSurface(split.skin, kSkinCrease_deg));
    finishedLines_.setEdges(split.edges);
    applyVisibility();
}

void DesignActor::setPalette(const Palette& colours) {
    for (Layer* layer : {&faces_, &finishedFaces_})
        paint(*layer->actor, colours.stone);
    paint(*finishedSkin_.actor, colours.skin);
    lines_.setColour(colours.edge);
    finishedLines_.setColour(colours.edge);
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
    lines_.clip(plane);
    finishedLines_.clip(plane);
}

void DesignActor::follow(vtkRenderer& renderer, double pixelRatio) {
    lines_.follow(renderer, pixelRatio);
    finishedLines_.follow(renderer, pixelRatio);
}

void DesignActor::applyVisibility() {
    const bool whole = finished_.empty();
    for (Layer* layer : all()) {
        const bool wanted = (layer == &faces_) == whole;
        layer->actor->SetVisibility(visible_ && wanted &&
                                    layer->mapper->GetInput()->GetNumberOfCells() > 0);
    }
    lines_.setVisible(visible_ && whole);
    finishedLines_.setVisible(visible_ && !whole);
}

}  // namespace macle::render
