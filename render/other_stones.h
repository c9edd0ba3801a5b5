// The layout's other stones: drawn like the cut but quieter, so that the one at hand stands out.
#pragma once

#include <vtkActor.h>
#include <vtkNew.h>
#include <vtkOpenGLPolyDataMapper.h>

#include <vector>

#include "render/edge_lines.h"
#include "render/palette.h"

class vtkPlane;

namespace macle::render {

class OrderedRenderer;

class OtherStones {
  public:
    explicit OtherStones(OrderedRenderer& renderer);  // adds the faces
    void addLines(OrderedRenderer& renderer);         // after all faces

    void setStones(const std::vector<OtherStone>& stones);
    void setPalette(const Palette& colours);
    void setVisible(bool visible);
    void clip(vtkPlane* plane);
    void follow(vtkRenderer& renderer, double pixelRatio);  // before each frame

    // Placed, each stone's convex parts together.
    const std::vector<std::vector<ConvexSolid>>& stones() const { return stones_; }
    bool visible() const { return visible_; }

  private:
    vtkNew<vtkOpenGLPolyDataMapper> mapper_;
    vtkNew<vtkActor> faces_;
    EdgeLines lines_{nullptr};
    std::vector<std::vector<ConvexSolid>> stones_;
    bool visible_ = true;
};

}  // namespace macle::render
