#include "render/section_outlines.h"

#include <vtkCutter.h>
#include <vtkPolyData.h>
#include <vtkProperty.h>

#include "core/base/error.h"
#include "render/ordered_renderer.h"

namespace macle::render {

SectionOutlines::SectionOutlines(OrderedRenderer& renderer) {
    for (Layer* layer : {&rough_, &design_}) {
        layer->mapper->ScalarVisibilityOff();
        layer->mapper->SetInputData(vtkSmartPointer<vtkPolyData>::New());
        layer->actor->SetMapper(layer->mapper);
        layer->actor->ForceOpaqueOn();
        layer->actor->VisibilityOff();
        layer->actor->GetProperty()->LightingOff();
        layer->actor->GetProperty()->SetLineWidth(2.2F);
        renderer.AddActor(layer->actor);
    }
}

void SectionOutlines::setPlane(const Eigen::Vector3d& normal, double offset_mm) {
    if (!normal.allFinite() || !std::isfinite(offset_mm)) {
        throw Error(ErrorCode::BadUsage, "the section plane has a value that is not a number",
                    "give a finite normal and offset, or the normal zero to switch it off");
    }
    const double length = normal.norm();
    on_ = length > 0.0;
    if (!on_) return;
    const Eigen::Vector3d unit = normal / length;
    const Eigen::Vector3d origin = unit * offset_mm;
    const Eigen::Vector3d kept = -unit;  // VTK keeps the side its normal points to
    plane_->SetOrigin(origin.data());
    plane_->SetNormal(kept.data());
}

void SectionOutlines::setPalette(const Palette& colours) {
    paint(*rough_.actor, colours.text);
    paint(*design_.actor, colours.edge);
}

void SectionOutlines::cutRough(vtkPolyData* surface) {
    cut(rough_, surface);
}

void SectionOutlines::cutDesign(vtkPolyData* surface) {
    cut(design_, surface);
}

void SectionOutlines::cut(Layer& layer, vtkPolyData* surface) {
    const bool shown = on_ && surface != nullptr && surface->GetNumberOfCells() > 0;
    layer.actor->SetVisibility(shown);
    if (!shown) return;
    // The surface comes without normals: handed on to the lines they would shade them black.
    vtkNew<vtkCutter> cutter;
    cutter->SetInputData(surface);
    cutter->SetCutFunction(plane_);
    cutter->Update();
    layer.mapper->SetInputData(cutter->GetOutput());
}

}  // namespace macle::render
