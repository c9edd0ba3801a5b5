#include "render/ordered_renderer.h"

#include <vtkCullerCollection.h>
#include <vtkObjectFactory.h>

namespace macle::render {

vtkStandardNewMacro(OrderedRenderer)

    OrderedRenderer::OrderedRenderer() {
    this->GetCullers()->RemoveAllItems();  // the few actors are wanted in their order, always
    this->SetMaximumNumberOfPeels(8);
    this->SetOcclusionRatio(0.0);
}

OrderedRenderer::~OrderedRenderer() = default;

void OrderedRenderer::setPeeling(bool on) {
    this->SetUseDepthPeeling(on);
    this->SetUseFXAA(on);
}

void OrderedRenderer::Render() {
    if (beforeFrame_) beforeFrame_();
    this->Superclass::Render();
}

void OrderedRenderer::DeviceRenderTranslucentPolygonalGeometry(vtkFrameBufferObjectBase* fbo) {
    if (this->UseDepthPeeling != 0) {
        this->Superclass::DeviceRenderTranslucentPolygonalGeometry(fbo);
        return;
    }
    // The default here is a weighted, order-free blend, which washes out the silhouette.
    this->LastRenderingUsedDepthPeeling = 0;
    this->UpdateTranslucentPolygonalGeometry();
}

}  // namespace macle::render
