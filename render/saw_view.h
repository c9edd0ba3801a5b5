// The saw planes: hatched violet outlines within their pieces, the chosen one stronger, and the two
// faces of a kerf that is wide enough to be told apart; on a section the lines where it meets them.
#pragma once

#include <array>
#include <memory>
#include <vector>

#include "render/edge_lines.h"
#include "render/palette.h"
#include "render/saw_outline.h"
#include "render/section_shapes.h"

class vtkPlane;

namespace macle::render {

class OrderedRenderer;

class SawView {
  public:
    explicit SawView(OrderedRenderer& renderer);  // after all faces
    ~SawView();

    void setSaws(std::vector<SawOutline> saws, int chosen, double stoneRadius_mm);
    void setPalette(const Palette& colours);
    void setVisible(bool visible);
    void clip(vtkPlane* plane);
    // Where the kerfs meet a section of the rough; null: no section.
    void cut(const CutPlane* plane, const TriangleMesh& rough, double step_mm);
    void follow(vtkRenderer& renderer, double pixelRatio);  // before each frame

    const std::vector<SawOutline>& saws() const { return saws_; }
    bool visible() const { return visible_; }

  private:
    struct Strokes;

    std::vector<SawOutline> saws_;
    int chosen_ = -1;
    double widestKerf_mm_ = 0.0;
    bool visible_ = true;
    std::array<std::unique_ptr<Strokes>, 2> strokes_;  // of the others, of the chosen one
};

}  // namespace macle::render
