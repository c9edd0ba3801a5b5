// The rough as a quiet translucent skin with a soft silhouette.
#pragma once

#include <vtkActor.h>
#include <vtkNew.h>
#include <vtkOpenGLPolyDataMapper.h>
#include <vtkPolyData.h>

#include "core/stone/mesh.h"
#include "render/palette.h"

class vtkPlane;

namespace macle::render {

class OrderedRenderer;

class RoughActor {
  public:
    // Adds itself to the renderer: back before front.
    explicit RoughActor(OrderedRenderer& renderer);

    void setMesh(const TriangleMesh& mesh);
    void setPalette(const Palette& colours);
    void setVisible(bool visible);
    void setQuality(Quality quality);
    void clip(vtkPlane* plane);  // null: not clipped

  private:
    void applyVisibility();

    struct Layer {
        vtkNew<vtkOpenGLPolyDataMapper> mapper;
        vtkNew<vtkActor> actor;
    };
    Layer whole_;  // rest: both sides at once, sorted by peeling
    Layer back_;   // drag
    Layer front_;  // drag
    bool empty_ = true;
    bool visible_ = true;
    Quality quality_ = Quality::Rest;
};

}  // namespace macle::render
