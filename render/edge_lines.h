// The dark lines of a faceted solid. Only edges with a face towards the viewer are drawn, so that
// none of the far side shows through; edges of the outline are bolder than those inside it.
#pragma once

#include <vtkActor.h>
#include <vtkNew.h>
#include <vtkOpenGLPolyDataMapper.h>

#include <array>
#include <vector>

#include "render/facet_edges.h"
#include "render/palette.h"

class vtkCamera;
class vtkMatrix4x4;
class vtkPlane;

namespace macle::render {

class OrderedRenderer;

class EdgeLines {
  public:
    // `matrix` takes the edges' frame to the stone frame; null: they are in it.
    EdgeLines(OrderedRenderer& renderer, vtkMatrix4x4* matrix);

    void setEdges(std::vector<FacetEdge> edges);
    void setColour(const Rgb& colour);
    void setVisible(bool visible);
    void clip(vtkPlane* plane);  // cut open, far edges are seen from inside and drawn too
    void follow(vtkCamera& camera, double pixelRatio);  // before each frame

  private:
    struct Layer {
        vtkNew<vtkOpenGLPolyDataMapper> mapper;
        vtkNew<vtkActor> actor;
    };
    Layer inner_;
    Layer outline_;
    vtkMatrix4x4* matrix_;
    std::vector<FacetEdge> edges_;
    bool visible_ = true;
    bool open_ = false;
    bool stale_ = true;
    std::array<double, 4> seenFrom_{};
};

}  // namespace macle::render
