// The dark lines of a faceted solid. Only edges with a face towards the viewer are drawn, so that
// none of the far side shows through; edges of the outline are bolder than those inside it. Lines
// are ribbons with feathered sides, made anew when the view changes: smooth without multisampling,
// and of the same width on every driver.
#pragma once

#include <vtkNew.h>
#include <vtkOpenGLPolyDataMapper.h>

#include <optional>
#include <vector>

#include "render/blended_actor.h"
#include "render/facet_edges.h"
#include "render/palette.h"

class vtkRenderer;
class vtkMatrix4x4;
class vtkPlane;

namespace macle::render {

class OrderedRenderer;

class EdgeLines {
  public:
    // `matrix` takes the edges' frame to the stone frame; null: they are in it.
    explicit EdgeLines(vtkMatrix4x4* matrix);

    void addTo(OrderedRenderer& renderer);  // after the faces they lie on

    void setEdges(std::vector<FacetEdge> edges);
    void setColour(const Rgb& colour);
    void setWidth(double width_px);  // of every line, instead of one for outline and one inside
    void setVisible(bool visible);
    void clip(vtkPlane* plane);                             // null: not clipped
    void follow(vtkRenderer& renderer, double pixelRatio);  // before each frame

  private:
    struct View;
    View viewOf(vtkRenderer& renderer) const;
    void build(const View& view, double pixelRatio);

    vtkNew<vtkOpenGLPolyDataMapper> mapper_;
    vtkNew<BlendedActor> actor_;
    vtkMatrix4x4* matrix_;
    std::vector<FacetEdge> edges_;
    Rgb colour_{};
    std::optional<double> width_px_;
    bool visible_ = true;
    bool stale_ = true;
    std::vector<double> drawnFor_;  // the view of the ribbons as they are
};

}  // namespace macle::render
