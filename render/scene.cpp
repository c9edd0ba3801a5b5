#include "render/scene.h"

#include <vtkCamera.h>
#include <vtkLight.h>
#include <vtkRenderWindow.h>

#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "render/defect_actors.h"
#include "render/design_actor.h"
#include "render/limit_marks.h"
#include "render/ordered_renderer.h"
#include "render/other_stones.h"
#include "render/overlay.h"
#include "render/palette.h"
#include "render/poly_data.h"
#include "render/rough_actor.h"
#include "render/saw_view.h"
#include "render/section_view.h"
#include "render/view_camera.h"

namespace macle::render {

namespace {

Ball ballAround(const std::vector<Eigen::Vector3d>& points) {
    Ball ball;
    if (points.empty()) return ball;
    Eigen::Vector3d low = points.front();
    Eigen::Vector3d high = points.front();
    for (const Eigen::Vector3d& point : points) {
        low = low.cwiseMin(point);
        high = high.cwiseMax(point);
    }
    ball.centre = 0.5 * (low + high);
    ball.radius = 0.0;
    for (const Eigen::Vector3d& point : points)
        ball.radius = std::max(ball.radius, (point - ball.centre).norm());
    return ball;
}

void addLight(vtkRenderer& renderer, const Eigen::Vector3d& from, double intensity) {
    vtkNew<vtkLight> light;
    light->SetLightTypeToCameraLight();
    light->SetPosition(from.x(), from.y(), from.z());
    light->SetFocalPoint(0.0, 0.0, 0.0);
    light->SetIntensity(intensity);
    renderer.AddLight(light);
}

bool sameMesh(const TriangleMesh& a, const TriangleMesh& b) {
    return a.triangles == b.triangles && a.vertices == b.vertices;
}

}  // namespace

struct Scene::Impl {
    vtkNew<OrderedRenderer> renderer;
    RoughActor rough{*renderer};
    DefectActors defects{*renderer};
    OtherStones others{*renderer};
    DesignActor design{*renderer};
    SectionView section{*renderer};
    SawView saws{*renderer};
    LimitMarks limits{*renderer};
    Overlay overlay{*renderer};

    TriangleMesh roughMesh;
    bool hasStone = false;
    bool roughVisible = true;
    bool designCut = false;
    bool othersCut = false;
    double radius_mm = 1.0;

    void showTheme(Theme theme) {
        const Palette& colours = palette(theme);
        renderer->SetBackground(colours.background[0], colours.background[1],
                                colours.background[2]);
        rough.setPalette(colours);
        defects.setPalette(colours);
        others.setPalette(colours);
        design.setPalette(colours);
        section.setPalette(colours);
        saws.setPalette(colours);
        limits.setPalette(colours);
        overlay.setPalette(colours);
    }

    double pixelRatio() const {
        vtkRenderWindow* window = renderer->GetRenderWindow();
        return window != nullptr ? std::max(window->GetDPI() / 72.0, 0.5) : 1.0;
    }

    double aspect() const {
        if (renderer->GetRenderWindow() == nullptr) return 1.0;
        const int* size = renderer->GetSize();
        return size[0] > 0 && size[1] > 0 ? static_cast<double>(size[0]) / size[1] : 1.0;
    }

    // Everything the picture is about: the rough, or the design alone.
    Ball ball() const {
        if (!roughMesh.empty()) return ballAround(roughMesh.vertices);
        std::vector<Eigen::Vector3d> points;
        for (const ConvexSolid& part : design.parts()) {
            const ConvexSolid there = placed(part, design.placement());
            points.insert(points.end(), there.vertices.begin(), there.vertices.end());
        }
        for (const std::vector<ConvexSolid>& stone : others.stones())
            for (const ConvexSolid& part : stone)
                points.insert(points.end(), part.vertices.begin(), part.vertices.end());
        return ballAround(points);
    }

    double step_mm() const { return 2e-4 * radius_mm; }

    void cutRough() { section.cutRough(roughVisible ? roughMesh : TriangleMesh{}, step_mm()); }

    void cutDefects() {
        if (defects.visible()) {
            section.cutDefects(defects.defects(), defects.surfaces(), step_mm());
        } else {
            section.cutDefects({}, {}, step_mm());
        }
    }

    // Nothing to do while no section is on: moving the design stays cheap.
    void cutDesign() {
        if (section.plane() == nullptr && !designCut) return;
        designCut = section.plane() != nullptr;
        if (!design.finished().empty() && design.visible()) {
            section.cutFinished(design.finished(), step_mm());
            return;
        }
        std::vector<ConvexSolid> there;
        if (section.plane() != nullptr && design.visible())
            for (const ConvexSolid& part : design.parts())
                there.push_back(placed(part, design.placement()));
        section.cutDesign(there, step_mm());
    }

    void cutOthers() {
        if (section.plane() == nullptr && !othersCut) return;
        othersCut = section.plane() != nullptr;
        section.cutOthers(
            others.visible() ? others.stones() : std::vector<std::vector<ConvexSolid>>{},
            step_mm());
    }

    void cutSaws() { saws.cut(section.cutPlane(), roughMesh, 4.0 * step_mm()); }

    void beforeFrame() {
        renderer->ResetCameraClippingRange();
        const double ratio = pixelRatio();
        others.follow(*renderer, ratio);
        design.follow(*renderer, ratio);
        saws.follow(*renderer, ratio);
        section.follow(*renderer, ratio);
        defects.follow(ratio);
        limits.follow(ratio);
        overlay.follow(ratio);
    }
};

Scene::Scene() : impl_(std::make_unique<Impl>()) {
    OrderedRenderer& renderer = *impl_->renderer;
    impl_->others.addLines(renderer);
    renderer.AutomaticLightCreationOff();
    addLight(renderer, {-0.55, 0.75, 1.0}, 0.85);  // over the left shoulder
    addLight(renderer, {0.6, -0.6, 0.8}, 0.40);    // a weak one from the other side
    renderer.GetActiveCamera()->ParallelProjectionOn();
    renderer.setBeforeFrame([this] { impl_->beforeFrame(); });
    setTheme(Theme::Light);
    setQuality(Quality::Rest);
    look(ViewFrom::Oblique);
}

Scene::~Scene() {
    impl_->renderer->setBeforeFrame({});  // the window may keep the renderer a little longer
}

vtkRenderer* Scene::renderer() const {
    return impl_->renderer;
}

void Scene::setTheme(Theme theme) {
    impl_->showTheme(theme);
}

void Scene::setQuality(Quality quality) {
    impl_->renderer->setPeeling(quality == Quality::Rest);
    impl_->rough.setQuality(quality);
}

void Scene::setStone(const Stone& stone) {
    const bool fresh = !impl_->hasStone || !sameMesh(stone.rough.mesh, impl_->roughMesh);
    if (fresh) {
        impl_->hasStone = true;
        impl_->roughMesh = stone.rough.mesh;
        impl_->rough.setMesh(stone.rough.mesh);
        impl_->radius_mm = impl_->ball().radius;
        impl_->cutRough();
        impl_->cutSaws();
    }
    impl_->defects.setDefects(stone.defects, impl_->radius_mm);
    impl_->cutDefects();
    if (fresh) frame();
}

void Scene::clearStone() {
    impl_->hasStone = false;
    impl_->roughMesh = {};
    impl_->rough.setMesh({});
    impl_->defects.setDefects({}, 1.0);
    impl_->limits.setPoints({}, 1.0);
    impl_->others.setStones({});
    impl_->saws.setSaws({}, -1, 1.0);
    impl_->cutRough();
    impl_->cutDefects();
    impl_->cutOthers();
    impl_->cutSaws();
}

void Scene::setRoughVisible(bool visible) {
    impl_->roughVisible = visible;
    impl_->rough.setVisible(visible);
    impl_->cutRough();
}

void Scene::setDefectsVisible(bool visible) {
    impl_->defects.setVisible(visible);
    impl_->cutDefects();
}

void Scene::setHighlightedDefect(int index) {
    impl_->defects.setHighlighted(index);
}

void Scene::setDesign(const std::vector<ConvexSolid>& partsForSizeOne) {
    impl_->design.setParts(partsForSizeOne);
    impl_->cutDesign();
}

void Scene::setPlacement(const Placement& placement) {
    impl_->design.setPlacement(placement);
    impl_->cutDesign();
}

void Scene::setDesignVisible(bool visible) {
    impl_->design.setVisible(visible);
    impl_->others.setVisible(visible);
    impl_->cutDesign();
    impl_->cutOthers();
}

void Scene::setFinishedMesh(const TriangleMesh& mesh) {
    impl_->design.setFinished(mesh);
    impl_->cutDesign();
}

void Scene::setOtherStones(const std::vector<OtherStone>& stones) {
    impl_->others.setStones(stones);
    impl_->cutOthers();
}

void Scene::setSaws(const std::vector<SawOutline>& saws, int chosen) {
    impl_->saws.setSaws(saws, chosen, impl_->radius_mm);
    impl_->cutSaws();
}

void Scene::setSawsVisible(bool visible) {
    impl_->saws.setVisible(visible);
}

const std::vector<SawOutline>& Scene::saws() const {
    return impl_->saws.saws();
}

std::optional<SawPick> Scene::pickSaw(const Eigen::Vector3d& origin_mm,
                                      const Eigen::Vector3d& direction, double reach_mm) const {
    if (!impl_->saws.visible()) return std::nullopt;
    SawRay ray{origin_mm, direction, reach_mm, std::nullopt};
    if (const CutPlane* cut = impl_->section.cutPlane())
        ray.open = HalfSpace{cut->normal, cut->offset_mm};
    return render::pickSaw(impl_->saws.saws(), ray);
}

void Scene::setLimits(const std::vector<Eigen::Vector3d>& points_mm) {
    impl_->limits.setPoints(points_mm, impl_->radius_mm);
}

void Scene::frame() {
    frameBall(*impl_->renderer->GetActiveCamera(), impl_->ball(), impl_->aspect());
}

void Scene::look(ViewFrom from) {
    lookAlong(*impl_->renderer->GetActiveCamera(), from, impl_->design.placement().rotation);
}

void Scene::setSection(const Eigen::Vector3d& normal, double offset_mm) {
    impl_->section.setPlane(normal, offset_mm);
    vtkPlane* plane = impl_->section.plane();
    impl_->rough.clip(plane);
    impl_->defects.clip(plane);
    impl_->design.clip(plane);
    impl_->cutRough();
    impl_->others.clip(plane);
    impl_->saws.clip(plane);
    impl_->cutDefects();
    impl_->cutDesign();
    impl_->cutOthers();
    impl_->cutSaws();
}

}  // namespace macle::render
