// Lines and rings on the overlay with feathered edges, so that they are smooth without
// multisampling and have the same width on every driver. Display pixels, origin lower left.
#pragma once

#include <vtkActor2D.h>
#include <vtkNew.h>

#include <Eigen/Core>
#include <vector>

#include "render/palette.h"

class vtkCellArray;
class vtkPoints;
class vtkPolyData;
class vtkUnsignedCharArray;

namespace macle::render {

class SoftStrokes {
  public:
    SoftStrokes();
    ~SoftStrokes();

    vtkActor2D* actor() const { return actor_; }

    void clear();
    // What is drawn first stays on top.
    void line(const Eigen::Vector2d& from, const Eigen::Vector2d& to, double width_px,
              const Rgb& colour, double opacity = 1.0);
    // With a halo of `halo_px` on either side and beyond the ends; joints are mitred.
    void path(const std::vector<Eigen::Vector2d>& points, double width_px, const Rgb& colour,
              double halo_px, const Rgb& halo);
    void ring(const Eigen::Vector2d& centre, double radius_px, double width_px, const Rgb& colour,
              double halo_px, const Rgb& halo);
    void finish();  // after the last stroke

  private:
    vtkIdType corner(const Eigen::Vector2d& at, const Rgb& colour, double opacity);
    void quad(vtkIdType a, vtkIdType b, vtkIdType c, vtkIdType d);

    vtkNew<vtkActor2D> actor_;
    vtkNew<vtkPolyData> data_;
    vtkNew<vtkPoints> points_;
    vtkNew<vtkCellArray> cells_;
    vtkNew<vtkUnsignedCharArray> colours_;
};

}  // namespace macle::render
