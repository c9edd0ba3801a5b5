// Dragging a defect with the mouse: in the plane of an open section, or, without one, the chosen
// defect in the plane that faces the view. One step of the history for each drag.
#include <QAction>

#include "app/window/main_window.h"
#include "core/stone/defect_move.h"

namespace macle::app {
namespace {

constexpr double kSlack_px = 5.0;  // thin and small defects are taken hold of beside them

// Where a line of sight meets the plane, before the eye.
std::optional<Eigen::Vector3d> onPlane(const Ray& ray, const OpenPlane& plane) {
    const double slope = plane.normal.dot(ray.direction);
    if (slope == 0.0) return std::nullopt;
    const double way = (plane.offset_mm - plane.normal.dot(ray.origin_mm)) / slope;
    if (!(way > 0.0)) return std::nullopt;
    return ray.origin_mm + way * ray.direction;
}

}  // namespace

// What a press would take hold of. With a section open all that it cuts can be taken; without one
// only the chosen defect, so that a drag on the cut does not move a defect unawares.
std::optional<MainWindow::DefectGrip> MainWindow::defectUnder(const Ray& ray) const {
    if (!document_.isOpen() || job_ || defectDialog_ || !showDefects_->isChecked())
        return std::nullopt;
    const std::vector<Defect>& defects = document_.stone()->defects;
    const Sight sight = view()->sight();
    DefectGrip grip;
    if (openPlane_) {
        const auto place = onPlane(ray, *openPlane_);
        if (!place) return std::nullopt;
        double least = kSlack_px * millimetresPerPixel(sight, *place);
        for (std::size_t i = 0; i < defects.size(); ++i) {
            const double far = farFrom_mm(defects[i], *place);
            if (far > least || (far == least && grip.index >= 0)) continue;
            least = far;
            grip.index = static_cast<int>(i);
        }
        grip.plane = *openPlane_;
        grip.start_mm = *place;
    } else if (chosenDefect_ >= 0 && chosenDefect_ < static_cast<int>(defects.size())) {
        const Defect& chosen = defects[static_cast<std::size_t>(chosenDefect_)];
        const double slack = kSlack_px * millimetresPerPixel(sight, defectBounds(chosen).centre());
        const auto place = underPointer(chosen, ray.origin_mm, ray.direction, slack);
        if (!place) return std::nullopt;
        grip.index = chosenDefect_;
        grip.plane = {-sight.ahead, -sight.ahead.dot(*place)};
        grip.start_mm = *place;
    }
    if (grip.index < 0) return std::nullopt;
    return grip;
}

void MainWindow::beginDefectDrag(const Ray& ray) {
    const auto grip = defectUnder(ray);
    if (!grip) return;
    defectDrag_.emplace();
    defectDrag_->grip = *grip;
    defectDrag_->shown = *document_.stone();
}

void MainWindow::dragDefect(const Ray& ray) {
    if (!defectDrag_) return;
    DefectDrag& drag = *defectDrag_;
    const auto place = onPlane(ray, drag.grip.plane);
    if (!place) return;
    const auto index = static_cast<std::size_t>(drag.grip.index);
    drag.shown.defects[index] =
        movedBy(document_.stone()->defects[index], *place - drag.grip.start_mm);
    drag.moved = true;
    view()->scene().setStone(drag.shown);
    view()->scene().setHighlightedDefect(drag.grip.index);
    view()->refresh();
    const Eigen::Vector3d middle = defectBounds(drag.shown.defects[index]).centre();
    const auto number = [this](double value) { return locale().toString(value, 'f', 3); };
    stage_->setHint(tr("%1 at %2  %3  %4 mm   ·   Esc: leave it where it was")
                        .arg(QString::fromStdString(drag.shown.defects[index].name),
                             number(middle.x()), number(middle.y()), number(middle.z())));
    previewDefectDrag();
}

// Figures of the latest place; a place passed while others are computed is left out.
void MainWindow::previewDefectDrag() {
    DefectDrag& drag = *defectDrag_;
    drag.waiting = workshop_.busy();
    if (drag.waiting) return;
    workshop_.request(std::make_shared<const Stone>(drag.shown), document_.roughNumber(),
                      document_.layout(), document_.currentStone(), false);
    resultPanel_->setComputing(true);
}

void MainWindow::endDefectDrag(bool keep) {
    if (!defectDrag_) return;
    const DefectDrag drag = std::move(*defectDrag_);
    defectDrag_.reset();
    stage_->setHint({});
    if (!drag.moved) return;
    if (keep) {
        const auto index = static_cast<std::size_t>(drag.grip.index);
        edit([&] {
            document_.changeDefects(
                tr("Move %1").arg(QString::fromStdString(drag.shown.defects[index].name)),
                drag.shown.defects, document_.stone()->clusters);
        });
        return;
    }
    view()->scene().setStone(*document_.stone());
    displayLimits();
    requestFigures(true);
}

}  // namespace macle::app
