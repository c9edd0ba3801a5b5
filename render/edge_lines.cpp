#include "render/edge_lines.h"

#include <vtkCamera.h>
#include <vtkMatrix4x4.h>
#include <vtkPlane.h>
#include <vtkPolyData.h>
#include <vtkProperty.h>

#include <cmath>
#include <utility>

#include "render/ordered_renderer.h"

namespace macle::render {

namespace {

constexpr double kInner_px = 1.25;
constexpr double kOutline_px = 2.0;

// Where the viewer is, in the frame of the edges: a point (w = 1), or a direction (w = 0).
std::array<double, 4> viewer(vtkCamera& camera, vtkMatrix4x4* matrix) {
    std::array<double, 4> place{};
    if (camera.GetParallelProjection() != 0) {
        camera.GetDirectionOfProjection(place.data());
        for (double& value : place)
            value = -value;
        place[3] = 0.0;
    } else {
        camera.GetPosition(place.data());
        place[3] = 1.0;
    }
    if (matrix == nullptr) return place;
    vtkNew<vtkMatrix4x4> inverse;
    vtkMatrix4x4::Invert(matrix, inverse);
    inverse->MultiplyPoint(place.data(), place.data());
    return place;
}

}  // namespace

EdgeLines::EdgeLines(OrderedRenderer& renderer, vtkMatrix4x4* matrix) : matrix_(matrix) {
    for (Layer* layer : {&inner_, &outline_}) {
        layer->mapper->ScalarVisibilityOff();
        layer->mapper->SetInputData(vtkSmartPointer<vtkPolyData>::New());
        layer->actor->SetMapper(layer->mapper);
        layer->actor->ForceOpaqueOn();
        layer->actor->GetProperty()->LightingOff();
        layer->actor->VisibilityOff();
        if (matrix_ != nullptr) layer->actor->SetUserMatrix(matrix_);
        renderer.AddActor(layer->actor);
    }
}

void EdgeLines::setEdges(std::vector<FacetEdge> edges) {
    edges_ = std::move(edges);
    stale_ = true;
}

void EdgeLines::setColour(const Rgb& colour) {
    for (Layer* layer : {&inner_, &outline_})
        paint(*layer->actor, colour);
}

void EdgeLines::setVisible(bool visible) {
    visible_ = visible;
    stale_ = true;
}

void EdgeLines::clip(vtkPlane* plane) {
    open_ = plane != nullptr;
    stale_ = true;
    for (Layer* layer : {&inner_, &outline_}) {
        layer->mapper->RemoveAllClippingPlanes();
        if (plane != nullptr) layer->mapper->AddClippingPlane(plane);
    }
}

void EdgeLines::follow(vtkCamera& camera, double pixelRatio) {
    inner_.actor->GetProperty()->SetLineWidth(static_cast<float>(kInner_px * pixelRatio));
    outline_.actor->GetProperty()->SetLineWidth(static_cast<float>(kOutline_px * pixelRatio));
    const std::array<double, 4> from = viewer(camera, matrix_);
    if (!stale_ && from == seenFrom_) return;
    stale_ = false;
    seenFrom_ = from;
    std::vector<Segment> inner;
    std::vector<Segment> outline;
    const Eigen::Vector3d place(from[0], from[1], from[2]);
    if (visible_) {
        for (const FacetEdge& edge : edges_) {
            const Eigen::Vector3d towards = place - from[3] * edge.line.from;
            const bool one = edge.normal.dot(towards) > 0.0;
            const bool other = edge.otherNormal.dot(towards) > 0.0;
            if (one != other) {
                outline.push_back(edge.line);
            } else if (edge.drawnInside && (one || open_)) {
                inner.push_back(edge.line);
            }
        }
    }
    inner_.mapper->SetInputData(segmentLines(inner));
    outline_.mapper->SetInputData(segmentLines(outline));
    inner_.actor->SetVisibility(!inner.empty());
    outline_.actor->SetVisibility(!outline.empty());
}

}  // namespace macle::render
