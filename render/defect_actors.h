// Defects in the colour of their severity; the chosen one wears an outline. What of them the cut
// hides shines through it faintly, and one too small to see has a dot of a few pixels.
#pragma once

#include <memory>
#include <vector>

#include "core/stone/defect.h"
#include "render/focus_frame.h"
#include "render/palette.h"

class vtkPlane;
class vtkPolyData;

namespace macle::render {

class OrderedRenderer;

class DefectActors {
  public:
    explicit DefectActors(OrderedRenderer& renderer);
    ~DefectActors();

    void setDefects(const std::vector<Defect>& defects, double stoneRadius_mm);
    void setPalette(const Palette& colours);
    void setVisible(bool visible);
    void setHighlighted(int index);  // -1 or out of range: none
    void clip(vtkPlane* plane);
    void follow(double pixelRatio);  // before each frame

    bool visible() const { return visible_; }
    const std::vector<Defect>& defects() const { return defects_; }
    const std::vector<TriangleMesh>& surfaces() const { return surfaces_; }

  private:
    struct Layer;
    void applyHighlight();
    std::unique_ptr<Layer> add(vtkPolyData* data);

    OrderedRenderer& renderer_;
    std::vector<Defect> defects_;
    std::vector<TriangleMesh> surfaces_;
    std::vector<std::unique_ptr<Layer>> layers_;  // one per defect
    std::unique_ptr<Layer> dots_;
    std::unique_ptr<Layer> outline_;  // of the highlighted one
    FocusFrame frame_;                // around it, on top of everything
    vtkPlane* plane_ = nullptr;
    double stoneRadius_mm_ = 1.0;
    int highlighted_ = -1;
    bool visible_ = true;
};

}  // namespace macle::render
