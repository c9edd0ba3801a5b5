// The section through the stone: along the view, the table or the axes of the scan, or any plane.
#include <QAction>

#include "app/window/main_window.h"

namespace macle::app {
namespace {

// Of the box, along the normal.
double halfAlong(const Box& box, const Eigen::Vector3d& normal) {
    return 0.5 * normal.cwiseAbs().dot(box.extent());
}

}  // namespace

void MainWindow::displaySection() {
    render::Scene& scene = view()->scene();
    if (!section_->isChecked() || !document_.isOpen()) {
        scene.setSection(Eigen::Vector3d::Zero(), 0.0);
        openPlane_.reset();
        view()->refresh();
        return;
    }
    const Eigen::Vector3d towards = -view()->sight().ahead;
    Eigen::Vector3d normal = towards;
    switch (stage_->sectionAcross()) {
        case SectionAcross::View:
            break;
        case SectionAcross::TableAxis:
            normal = document_.planned().placement.rotation * Eigen::Vector3d::UnitX();
            break;
        case SectionAcross::StoneX:
            normal = Eigen::Vector3d::UnitX();
            break;
        case SectionAcross::StoneY:
            normal = Eigen::Vector3d::UnitY();
            break;
        case SectionAcross::StoneZ:
            normal = Eigen::Vector3d::UnitZ();
            break;
        case SectionAcross::Any:
            openPlane_ = stage_->sectionPlane()->plane();
            if (openPlane_ && openPlane_->normal.dot(towards) < 0.0)
                openPlane_ = OpenPlane{-openPlane_->normal, -openPlane_->offset_mm};
            scene.setSection(openPlane_ ? openPlane_->normal : Eigen::Vector3d::Zero().eval(),
                             openPlane_ ? openPlane_->offset_mm : 0.0);
            view()->refresh();
            return;
    }
    // The side that is taken away is the one in front of the viewer.
    if (normal.dot(towards) < 0.0) normal = -normal;
    const Box box = bounds(document_.stone()->rough.mesh);
    openPlane_ = OpenPlane{
        normal, normal.dot(box.centre()) - stage_->sectionDepth() * halfAlong(box, normal)};
    scene.setSection(openPlane_->normal, openPlane_->offset_mm);
    view()->refresh();
}

// Another way to face. Any plane begins where the section stands.
void MainWindow::turnSection() {
    if (stage_->sectionAcross() == SectionAcross::Any && openPlane_)
        stage_->sectionPlane()->setPlane(*openPlane_);
    displaySection();
}

// The slider moves any plane along its normal, too.
void MainWindow::slideSection() {
    if (stage_->sectionAcross() == SectionAcross::Any && document_.isOpen()) {
        const auto plane = stage_->sectionPlane()->plane();
        if (!plane) return;
        const Box box = bounds(document_.stone()->rough.mesh);
        stage_->sectionPlane()->setOffset(plane->normal.dot(box.centre()) -
                                          stage_->sectionDepth() * halfAlong(box, plane->normal));
    }
    displaySection();
}

}  // namespace macle::app
