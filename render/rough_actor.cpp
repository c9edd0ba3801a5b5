#include "render/rough_actor.h"

#include <vtkPlane.h>
#include <vtkProperty.h>
#include <vtkShaderProperty.h>

#include <string>

#include "core/base/numbers.h"
#include "render/ordered_renderer.h"
#include "render/poly_data.h"

namespace macle::render {

namespace {

// Natural faces meet at 70 degrees (octahedron) or more; scan noise stays well below this.
constexpr double kCrease_deg = 40.0;

// Opacity grows where the skin turns away from the viewer, as through thicker glass.
std::string silhouetteShader(const Palette& colours) {
    return "//VTK::Light::Impl\n"
           "  float away = 1.0 - clamp(abs(normalVCVSOutput.z), 0.0, 1.0);\n"
           "  gl_FragData[0].a = mix(" +
           formatFixed(colours.roughOpacity, 4) + ", " + formatFixed(colours.rimOpacity, 4) +
           ", away * away * away);\n";
}

}  // namespace

RoughActor::RoughActor(OrderedRenderer& renderer) {
    for (Layer* layer : {&whole_, &back_, &front_}) {
        layer->mapper->ScalarVisibilityOff();
        layer->actor->SetMapper(layer->mapper);
        layer->actor->ForceTranslucentOn();
        layer->actor->PickableOff();
        vtkProperty* look = layer->actor->GetProperty();
        look->SetInterpolationToPhong();
        look->SetAmbient(0.45);
        look->SetDiffuse(0.55);
        look->SetSpecular(0.0);
        renderer.AddActor(layer->actor);
    }
    back_.actor->GetProperty()->FrontfaceCullingOn();
    front_.actor->GetProperty()->BackfaceCullingOn();
    setMesh({});
}

void RoughActor::setMesh(const TriangleMesh& mesh) {
    empty_ = mesh.empty();
    const auto surface = smoothSurface(mesh, kCrease_deg);
    for (Layer* layer : {&whole_, &back_, &front_})
        layer->mapper->SetInputData(surface);
    applyVisibility();
}

void RoughActor::setPalette(const Palette& colours) {
    for (Layer* layer : {&whole_, &back_, &front_}) {
        vtkProperty* look = layer->actor->GetProperty();
        paint(*layer->actor, colours.rough);
        look->SetOpacity(colours.roughOpacity);
        vtkShaderProperty* shader = layer->actor->GetShaderProperty();
        shader->ClearAllFragmentShaderReplacements();
        shader->AddFragmentShaderReplacement("//VTK::Light::Impl", true, silhouetteShader(colours),
                                             false);
    }
}

void RoughActor::setVisible(bool visible) {
    visible_ = visible;
    applyVisibility();
}

void RoughActor::setQuality(Quality quality) {
    quality_ = quality;
    applyVisibility();
}

void RoughActor::clip(vtkPlane* plane) {
    for (Layer* layer : {&whole_, &back_, &front_}) {
        layer->mapper->RemoveAllClippingPlanes();
        if (plane != nullptr) layer->mapper->AddClippingPlane(plane);
    }
}

void RoughActor::applyVisibility() {
    const bool shown = visible_ && !empty_;
    whole_.actor->SetVisibility(shown && quality_ == Quality::Rest);
    back_.actor->SetVisibility(shown && quality_ == Quality::Drag);
    front_.actor->SetVisibility(shown && quality_ == Quality::Drag);
}

}  // namespace macle::render
