// Defects in the colour of their severity; the chosen one wears an outline.
#pragma once

#include <vtkActor.h>
#include <vtkNew.h>
#include <vtkOpenGLPolyDataMapper.h>

#include <memory>
#include <vector>

#include "core/stone/defect.h"
#include "render/palette.h"

class vtkPlane;

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

    const std::vector<Defect>& defects() const { return defects_; }
    const std::vector<TriangleMesh>& surfaces() const { return surfaces_; }

  private:
    void applyHighlight();

    struct Layer;
    OrderedRenderer& renderer_;
    std::vector<Defect> defects_;
    std::vector<TriangleMesh> surfaces_;
    std::vector<std::unique_ptr<Layer>> layers_;  // one per defect
    std::unique_ptr<Layer> outline_;              // of the highlighted one
    vtkPlane* plane_ = nullptr;
    double stoneRadius_mm_ = 1.0;
    int highlighted_ = -1;
    bool visible_ = true;
};

}  // namespace macle::render
