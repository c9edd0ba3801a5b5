#include "render/limit_marks.h"

#include <vtkActor.h>
#include <vtkAppendPolyData.h>
#include <vtkOpenGLPolyDataMapper.h>
#include <vtkPolyData.h>
#include <vtkProperty.h>
#include <vtkSphereSource.h>

#include "render/ordered_renderer.h"

namespace macle::render {

namespace {

constexpr double kSphereShare = 0.014;  // of the stone's radius
constexpr double kRing_px = 9.0;

}  // namespace

LimitMarks::LimitMarks(OrderedRenderer& renderer) : renderer_(renderer) {
    mapper_->ScalarVisibilityOff();
    spheres_->SetMapper(mapper_);
    spheres_->ForceOpaqueOn();
    spheres_->GetProperty()->SetAmbient(0.6);
    spheres_->GetProperty()->SetDiffuse(0.4);
    renderer_.AddActor(spheres_);
    renderer_.AddActor2D(rings_.actor());
    setPoints({}, 1.0);
}

LimitMarks::~LimitMarks() = default;

void LimitMarks::setPoints(const std::vector<Eigen::Vector3d>& points_mm, double stoneRadius_mm) {
    points_ = points_mm;
    vtkNew<vtkAppendPolyData> all;
    for (const Eigen::Vector3d& point : points_) {
        vtkNew<vtkSphereSource> sphere;
        sphere->SetCenter(point.x(), point.y(), point.z());
        sphere->SetRadius(kSphereShare * stoneRadius_mm);
        sphere->SetThetaResolution(20);
        sphere->SetPhiResolution(12);
        all->AddInputConnection(sphere->GetOutputPort());
    }
    if (points_.empty()) {
        mapper_->SetInputData(vtkSmartPointer<vtkPolyData>::New());
    } else {
        all->Update();
        mapper_->SetInputData(all->GetOutput());
    }
    spheres_->SetVisibility(!points_.empty());
}

void LimitMarks::setPalette(const Palette& colours) {
    colour_ = colours.limit;
    halo_ = colours.halo;
    paint(*spheres_, colour_);
}

void LimitMarks::follow(double pixelRatio) {
    rings_.clear();
    for (const Eigen::Vector3d& point : points_) {
        renderer_.SetWorldPoint(point.x(), point.y(), point.z(), 1.0);
        renderer_.WorldToDisplay();
        const double* display = renderer_.GetDisplayPoint();
        const Eigen::Vector2d at(display[0], display[1]);
        rings_.ring(at, kRing_px * pixelRatio, 2.2 * pixelRatio, colour_, 1.4 * pixelRatio, halo_);
    }
    rings_.finish();
}

}  // namespace macle::render
