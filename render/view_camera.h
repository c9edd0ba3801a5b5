// Where the viewer stands. The projection is parallel, so that lengths on the screen are true and
// the scale bar holds everywhere.
#pragma once

#include <Eigen/Geometry>

#include "render/scene.h"

class vtkCamera;

namespace macle::render {

struct Ball {
    Eigen::Vector3d centre = Eigen::Vector3d::Zero();
    double radius = 1.0;
};

// Shows the whole ball with a margin; `aspect` is width over height.
void frameBall(vtkCamera& camera, const Ball& ball, double aspect);

// Turns about the focal point; distance and scale stay.
void lookAlong(vtkCamera& camera, ViewFrom from, const Eigen::Quaterniond& designAxes);

}  // namespace macle::render
