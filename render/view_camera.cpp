#include "render/view_camera.h"

#include <vtkCamera.h>

#include <algorithm>

namespace macle::render {

namespace {

constexpr double kMargin = 1.10;

struct View {
    Eigen::Vector3d from;  // towards the viewer
    Eigen::Vector3d up;
};

View viewOf(ViewFrom from) {
    switch (from) {
        case ViewFrom::Table:
            return {Eigen::Vector3d::UnitZ(), Eigen::Vector3d::UnitY()};
        case ViewFrom::Culet:
            return {-Eigen::Vector3d::UnitZ(), Eigen::Vector3d::UnitY()};
        case ViewFrom::Side:
            return {-Eigen::Vector3d::UnitY(), Eigen::Vector3d::UnitZ()};
        case ViewFrom::End:
            return {Eigen::Vector3d::UnitX(), Eigen::Vector3d::UnitZ()};
        case ViewFrom::Oblique:
            break;
    }
    return {Eigen::Vector3d(0.42, -0.78, 0.46).normalized(), Eigen::Vector3d::UnitZ()};
}

}  // namespace

void frameBall(vtkCamera& camera, const Ball& ball, double aspect) {
    Eigen::Vector3d towards;
    camera.GetDirectionOfProjection(towards.data());
    const double radius = std::max(ball.radius, 1e-6);
    const Eigen::Vector3d position = ball.centre - 8.0 * radius * towards;
    camera.SetFocalPoint(ball.centre.data());
    camera.SetPosition(position.data());
    camera.SetParallelScale(kMargin * radius / std::min(aspect, 1.0));
}

void lookAlong(vtkCamera& camera, ViewFrom from, const Eigen::Quaterniond& designAxes) {
    const View view = viewOf(from);
    const Eigen::Matrix3d axes = designAxes.normalized().toRotationMatrix();
    const Eigen::Vector3d focus(camera.GetFocalPoint());
    const Eigen::Vector3d position = focus + camera.GetDistance() * (axes * view.from);
    const Eigen::Vector3d up = axes * view.up;
    camera.SetPosition(position.data());
    camera.SetViewUp(up.data());
    camera.OrthogonalizeViewUp();
}

}  // namespace macle::render
