// The section plane: what it cuts is outlined on it.
#pragma once

#include <vtkActor.h>
#include <vtkNew.h>
#include <vtkOpenGLPolyDataMapper.h>
#include <vtkPlane.h>

#include <Eigen/Core>

#include "render/palette.h"

class vtkPolyData;

namespace macle::render {

class OrderedRenderer;

class SectionOutlines {
  public:
    explicit SectionOutlines(OrderedRenderer& renderer);

    // Keeps n.x <= offset. Normal zero: off. Throws Error{BadUsage} on a value that is not finite.
    void setPlane(const Eigen::Vector3d& normal, double offset_mm);
    vtkPlane* plane() const { return on_ ? plane_.Get() : nullptr; }

    void setPalette(const Palette& colours);

    // Surfaces in the stone frame; null: nothing to outline.
    void cutRough(vtkPolyData* surface);
    void cutDesign(vtkPolyData* surface);

  private:
    struct Layer {
        vtkNew<vtkOpenGLPolyDataMapper> mapper;
        vtkNew<vtkActor> actor;
    };
    void cut(Layer& layer, vtkPolyData* surface);

    vtkNew<vtkPlane> plane_;
    bool on_ = false;
    Layer rough_;
    Layer design_;
};

}  // namespace macle::render
