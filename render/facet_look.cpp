#include "render/facet_look.h"

#include <vtkActor.h>
#include <vtkMapper.h>
#include <vtkPolyData.h>
#include <vtkPolyDataMapper.h>
#include <vtkProperty.h>

namespace macle::render {

void lookFaceted(vtkActor& actor, vtkMapper& mapper) {
    // Global in VTK: the shift itself is zero for everything that does not ask for more.
    vtkMapper::SetResolveCoincidentTopologyToPolygonOffset();
    vtkMapper::SetResolveCoincidentTopologyPolygonOffsetParameters(0.0, 0.0);
    vtkMapper::SetResolveCoincidentTopologyLineOffsetParameters(0.0, 0.0);
    mapper.ScalarVisibilityOff();
    mapper.SetInputDataObject(vtkSmartPointer<vtkPolyData>::New());
    mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(2.0, 20.0);
    actor.SetMapper(&mapper);
    actor.ForceOpaqueOn();
    vtkProperty* look = actor.GetProperty();
    look->SetInterpolationToPhong();
    look->SetAmbient(0.74);
    look->SetDiffuse(0.30);
    look->SetSpecular(0.0);
}

}  // namespace macle::render
