#include "app/window/camera_link.h"

#include <vtkCamera.h>
#include <vtkCommand.h>
#include <vtkNew.h>
#include <vtkRenderer.h>

#include <algorithm>
#include <array>
#include <functional>

#include "app/window/stone_view.h"

namespace macle::app {
namespace {

vtkCamera& cameraOf(StoneView& view) {
    return *view.scene().renderer()->GetActiveCamera();
}

// What is linked; the clipping range is each view's own.
std::array<double, 10> poseOf(vtkCamera& camera) {
    std::array<double, 10> pose{};
    std::copy_n(camera.GetPosition(), 3, pose.begin());
    std::copy_n(camera.GetFocalPoint(), 3, pose.begin() + 3);
    std::copy_n(camera.GetViewUp(), 3, pose.begin() + 6);
    pose[9] = camera.GetParallelScale();
    return pose;
}

void setPose(vtkCamera& camera, const std::array<double, 10>& pose) {
    camera.SetPosition(pose.data());
    camera.SetFocalPoint(pose.data() + 3);
    camera.SetViewUp(pose.data() + 6);
    camera.SetParallelScale(pose[9]);
}

class Moved : public vtkCommand {
  public:
    static Moved* New() { return new Moved; }
    std::function<void()> tell;
    void Execute(vtkObject*, unsigned long, void*) override { tell(); }
};

}  // namespace

CameraLink::CameraLink(QObject* parent) : QObject(parent) {}

CameraLink::~CameraLink() {
    release();
}

void CameraLink::release() {
    for (const Watch& watch : watched_)
        cameraOf(*watch.view).RemoveObserver(watch.tag);
    watched_.clear();
    leader_ = nullptr;
}

void CameraLink::setViews(const std::vector<StoneView*>& views) {
    release();
    for (StoneView* view : views) {
        vtkNew<Moved> command;
        command->tell = [this, view] { noticed(view); };
        watched_.push_back({view, cameraOf(*view).AddObserver(vtkCommand::ModifiedEvent, command),
                            poseOf(cameraOf(*view))});
    }
    if (!views.empty()) leader_ = views.front();
}

void CameraLink::setLinked(bool linked) {
    linked_ = linked;
    if (linked && leader_ != nullptr) spread();
}

// A camera also tells of its clipping range, which each frame sets and which leads nobody.
void CameraLink::noticed(StoneView* view) {
    if (copying_) return;
    for (Watch& watch : watched_) {
        if (watch.view != view) continue;
        const std::array<double, 10> pose = poseOf(cameraOf(*view));
        if (pose == watch.pose) return;
        watch.pose = pose;
        leader_ = view;
    }
    if (linked_) spread();
}

void CameraLink::spread() {
    copying_ = true;
    const std::array<double, 10> pose = poseOf(cameraOf(*leader_));
    for (Watch& watch : watched_) {
        if (watch.pose == pose) continue;
        watch.pose = pose;
        setPose(cameraOf(*watch.view), pose);
        watch.view->refresh();
    }
    copying_ = false;
}

void turnView(StoneView& view, double right_deg, double up_deg) {
    vtkCamera& camera = cameraOf(view);
    camera.Azimuth(-right_deg);
    camera.Elevation(-up_deg);
    camera.OrthogonalizeViewUp();
    view.refresh();
}

void zoomView(StoneView& view, double factor) {
    vtkCamera& camera = cameraOf(view);
    camera.SetParallelScale(camera.GetParallelScale() / factor);
    view.refresh();
}

}  // namespace macle::app
