// Four corners and a name around the chosen thing, on top of everything.
#pragma once

#include <vtkNew.h>
#include <vtkTextActor.h>

#include <Eigen/Core>
#include <string>
#include <vector>

#include "render/palette.h"
#include "render/soft_strokes.h"

namespace macle::render {

class OrderedRenderer;

class FocusFrame {
  public:
    explicit FocusFrame(OrderedRenderer& renderer);
    ~FocusFrame();

    void around(const std::vector<Eigen::Vector3d>& points_mm, const std::string& label);
    void clear();
    void setPalette(const Palette& colours);
    void follow(double pixelRatio);  // before each frame

  private:
    OrderedRenderer& renderer_;
    std::vector<Eigen::Vector3d> points_;
    SoftStrokes strokes_;
    vtkNew<vtkTextActor> text_;
    Rgb colour_{};
    Rgb halo_{};
};

}  // namespace macle::render
