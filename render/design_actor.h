// The cut at its placement: facets near white, dark lines between them. When the exact finished
// stone is given it takes the design's place, with the skin left on it in a quiet tint.
#pragma once

#include <vtkActor.h>
#include <vtkMatrix4x4.h>
#include <vtkNew.h>
#include <vtkOpenGLPolyDataMapper.h>
#include <vtkPolyData.h>

#include "core/cut/placement.h"
#include "core/solid/convex_solid.h"
#include "render/edge_lines.h"
#include "render/palette.h"

class vtkPlane;

namespace macle::render {

class OrderedRenderer;

class DesignActor {
  public:
    explicit DesignActor(OrderedRenderer& renderer);

    void setParts(const std::vector<ConvexSolid>& partsForSizeOne);
    void setPlacement(const Placement& placement);  // O(1)
    void setFinished(const TriangleMesh& mesh);     // stone frame; empty restores the design
    void setPalette(const Palette& colours);
    void setVisible(bool visible);
    void clip(vtkPlane* plane);
    void follow(vtkRenderer& renderer, double pixelRatio);  // before each frame

    bool empty() const { return parts_.empty(); }
    const Placement& placement() const { return placement_; }
    const std::vector<ConvexSolid>& parts() const { return parts_; }
    const TriangleMesh& finished() const { return finished_; }
    bool visible() const { return visible_; }

  private:
    void applyVisibility();

    struct Layer {
        vtkNew<vtkOpenGLPolyDataMapper> mapper;
        vtkNew<vtkActor> actor;
    };
    std::vector<Layer*> all();

    vtkNew<vtkMatrix4x4> matrix_;  // cut frame, size 1, to stone frame
    Layer faces_;                  // cut frame
    Layer finishedFaces_;          // stone frame
    Layer finishedSkin_;           // stone frame
    EdgeLines lines_;
    EdgeLines finishedLines_;
    std::vector<ConvexSolid> parts_;
    Placement placement_;
    TriangleMesh finished_;  // empty: the design is drawn
    bool visible_ = true;
};

}  // namespace macle::render
