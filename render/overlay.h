// The scale bar (mm, exact: the projection is parallel) and the cross of the stone axes.
#pragma once

#include <vtkNew.h>
#include <vtkTextActor.h>

#include <array>

#include "render/palette.h"
#include "render/soft_strokes.h"

namespace macle::render {

class OrderedRenderer;

// A length of 1, 2 or 5 times a power of ten that is at most `most_mm`.
double roundLength_mm(double most_mm);

class Overlay {
  public:
    explicit Overlay(OrderedRenderer& renderer);
    ~Overlay();

    void setPalette(const Palette& colours);
    void setVisible(bool visible);
    void follow(double pixelRatio);  // before each frame

  private:
    void drawBar(double pixelRatio);
    void drawCross(double pixelRatio);

    OrderedRenderer& renderer_;
    SoftStrokes strokes_;
    vtkNew<vtkTextActor> barText_;
    std::array<vtkNew<vtkTextActor>, 3> axisText_;
    Rgb text_{};
    Rgb halo_{};
    bool visible_ = true;
};

}  // namespace macle::render
