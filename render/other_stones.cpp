#include "render/other_stones.h"

#include <vtkPlane.h>
#include <vtkPolyData.h>
#include <vtkProperty.h>

#include "render/facet_look.h"
#include "render/ordered_renderer.h"
#include "render/poly_data.h"

namespace macle::render {

namespace {

FacetEdge placed(const FacetEdge& edge, const Placement& placement) {
    const auto point = [&](const Eigen::Vector3d& cut) -> Eigen::Vector3d {
        return placement.rotation * (placement.size_mm * cut) + placement.translation_mm;
    };
    return {{point(edge.line.from), point(edge.line.to)},
            placement.rotation * edge.normal,
            placement.rotation * edge.otherNormal,
            edge.drawnInside};
}

}  // namespace

OtherStones::OtherStones(OrderedRenderer& renderer) {
    lookFaceted(*faces_, *mapper_);
    renderer.AddActor(faces_);
    faces_->VisibilityOff();
}

void OtherStones::addLines(OrderedRenderer& renderer) {
    lines_.addTo(renderer);
}

void OtherStones::setStones(const std::vector<OtherStone>& stones) {
    stones_.clear();
    std::vector<ConvexSolid> all;
    std::vector<FacetEdge> edges;
    for (const OtherStone& stone : stones) {
        if (!(stone.placement.size_mm > 0.0)) continue;
        stones_.emplace_back();
        for (const ConvexSolid& part : stone.partsForSizeOne)
            stones_.back().push_back(macle::placed(part, stone.placement));
        all.insert(all.end(), stones_.back().begin(), stones_.back().end());
        for (const FacetEdge& edge : facetEdges(stone.partsForSizeOne))
            edges.push_back(placed(edge, stone.placement));
    }
    mapper_->SetInputData(flatFaces(all));
    lines_.setEdges(std::move(edges));
    setVisible(visible_);
}

void OtherStones::setPalette(const Palette& colours) {
    paint(*faces_, colours.otherStone);
    lines_.setColour(colours.otherEdge);
}

void OtherStones::setVisible(bool visible) {
    visible_ = visible;
    faces_->SetVisibility(visible && !stones_.empty());
    lines_.setVisible(visible);
}

void OtherStones::clip(vtkPlane* plane) {
    mapper_->RemoveAllClippingPlanes();
    if (plane != nullptr) mapper_->AddClippingPlane(plane);
    lines_.clip(plane);
}

void OtherStones::follow(vtkRenderer& renderer, double pixelRatio) {
    lines_.follow(renderer, pixelRatio);
}

}  // namespace macle::render
