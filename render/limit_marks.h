// Marks where something stops the design: a small sphere at the place, and a ring on top of
// everything that keeps its size on the screen.
#pragma once

#include <vtkNew.h>

#include <Eigen/Core>
#include <memory>
#include <vector>

#include "render/palette.h"
#include "render/soft_strokes.h"

class vtkActor;
class vtkOpenGLPolyDataMapper;

namespace macle::render {

class OrderedRenderer;

class LimitMarks {
  public:
    explicit LimitMarks(OrderedRenderer& renderer);
    ~LimitMarks();

    void setPoints(const std::vector<Eigen::Vector3d>& points_mm, double stoneRadius_mm);
    void setPalette(const Palette& colours);
    // Before each frame: rings to where the points are on the screen.
    void follow(double pixelRatio);

  private:
    OrderedRenderer& renderer_;
    std::vector<Eigen::Vector3d> points_;
    vtkNew<vtkOpenGLPolyDataMapper> mapper_;
    vtkNew<vtkActor> spheres_;
    SoftStrokes rings_;
    Rgb colour_{};
    Rgb halo_{};
};

}  // namespace macle::render
