// Picking on the stage, measuring, defects by hand, clusters, crystal axes and colour.
#include <QAction>

#include "app/window/cluster_dialog.h"
#include "app/window/colour_dialog.h"
#include "app/window/main_window.h"
#include "core/base/units.h"
#include "core/stone/pick.h"

namespace macle::app {
namespace {

constexpr double kFaceRadiusShare = 0.03;  // of the stone's extent: what counts as one face

}  // namespace

void MainWindow::takePick(const Eigen::Vector3d& origin, const Eigen::Vector3d& direction) {
    if (!document_.isOpen()) return;
    const TriangleMesh& skin = document_.stone()->rough.mesh;
    const auto pick = pickSkin(skin, origin, direction, openPlane_);
    if (!pick) {
        stage_->setHint(tr("There is no stone under the pointer."));
        return;
    }
    if (SectionPlane* plane = stage_->sectionPlane(); plane->picking()) {
        plane->addPoint(pick->place_mm);
        showPlaces(plane->points());
        return;
    }
    if (defectDialog_) {
        defectDialog_->moveTo(pick->place_mm);
        return;
    }
    if (axesDialog_) {
        const double radius = kFaceRadiusShare * bounds(skin).extent().maxCoeff();
        const auto face = faceAt(skin, pick->place_mm, radius);
        if (face && !pick->onSection)
            axesDialog_->addFace(*face);
        else
            stage_->setHint(tr("Pick on the skin of the rough; this is a section."));
        return;
    }
    measure(pick->place_mm);
}

// One point: where it is; a second: how far; a third: the angle at the second. A fourth begins
// anew.
void MainWindow::measure(const Eigen::Vector3d& place) {
    if (measured_.size() == 3) measured_.clear();
    measured_.push_back(place);
    view()->scene().setLimits(measured_);
    view()->refresh();
    const auto number = [this](double value, int decimals) {
        return locale().toString(value, 'f', decimals);
    };
    const Eigen::Vector3d& p = measured_.back();
    if (measured_.size() == 1) {
        stage_->setMeasured(tr("Point %1  %2  %3 mm. Alt + click a second one for the length.")
                                .arg(number(p.x(), 3), number(p.y(), 3), number(p.z(), 3)));
        return;
    }
    const Eigen::Vector3d& q = measured_[measured_.size() - 2];
    if (measured_.size() == 2) {
        const Eigen::Vector3d d = p - q;
        stage_->setMeasured(
            tr("Length %1 mm (%2  %3  %4). Alt + click a third point for the angle.")
                .arg(number(d.norm(), 3), number(d.x(), 3), number(d.y(), 3), number(d.z(), 3)));
        return;
    }
    const Eigen::Vector3d a = measured_[0] - q, b = p - q;
    stage_->setMeasured(tr("Angle %1° at the second point; lengths %2 mm and %3 mm.")
                            .arg(number(degrees(std::atan2(a.cross(b).norm(), a.dot(b))), 2),
                                 number(a.norm(), 3), number(b.norm(), 3)));
}

void MainWindow::showPlaces(const std::vector<Eigen::Vector3d>& places) {
    view()->scene().setLimits(places);
    view()->refresh();
}

void MainWindow::addDefectByHand() {
    if (!document_.isOpen()) return;
    Defect start;
    start.name = tr("defect %1").arg(document_.stone()->defects.size() + 1).toStdString();
    Eigen::Vector3d place = bounds(document_.stone()->rough.mesh).centre();
    // On the open section, where the planner is looking.
    if (openPlane_)
        place -= (openPlane_->normal.dot(place) - openPlane_->offset_mm) * openPlane_->normal;
    start.shape = Ellipsoid{place, {0.2, 0.2, 0.2}, Eigen::Quaterniond::Identity()};
    start.kind = DefectKind::Crystal;
    editDefect(start, tr("Add a defect"), -1);
}

void MainWindow::changeChosenDefect() {
    const auto& defects = document_.stone()->defects;
    if (chosenDefect_ < 0 || chosenDefect_ >= static_cast<int>(defects.size())) return;
    editDefect(defects[static_cast<std::size_t>(chosenDefect_)], tr("Change defect"),
               chosenDefect_);
}

// `index`: the defect that is changed; -1 for one more. The dialog stays beside the stage.
void MainWindow::editDefect(const Defect& start, const QString& title, int index) {
    delete defectDialog_.data();
    try {
        defectDialog_ = new DefectDialog(start, title, this);
    } catch (const Error& error) {
        showError(error);
        return;
    }
    defectDialog_->setAttribute(Qt::WA_DeleteOnClose);
    connect(defectDialog_, &DefectDialog::changed, this,
            [this, index](const Defect& defect) { showWith(defect, index); });
    connect(defectDialog_, &QDialog::finished, this,
            [this, index, cluster = start.cluster](int result) {
                Defect made = defectDialog_->defect();
                defectDialog_.clear();
                if (!document_.isOpen()) return;
                std::vector<Defect> all = document_.stone()->defects;
                if (result != QDialog::Accepted || job_ || index >= static_cast<int>(all.size())) {
                    view()->scene().setStone(*document_.stone());
                    view()->refresh();
                    return;
                }
                made.cluster = cluster;
                const QString name = QString::fromStdString(made.name);
                if (index < 0)
                    all.push_back(std::move(made));
                else
                    all[static_cast<std::size_t>(index)] = std::move(made);
                edit([&] {
                    document_.changeDefects(
                        index < 0 ? tr("Add %1").arg(name) : tr("Change %1").arg(name),
                        std::move(all), document_.stone()->clusters);
                });
            });
    defectDialog_->show();
    showWith(start, index);
}

void MainWindow::showWith(const Defect& defect, int index) {
    if (!document_.isOpen()) return;
    Stone shown = *document_.stone();
    if (index < 0 || index >= static_cast<int>(shown.defects.size())) {
        shown.defects.push_back(defect);
        index = static_cast<int>(shown.defects.size()) - 1;
    } else {
        shown.defects[static_cast<std::size_t>(index)] = defect;
    }
    view()->scene().setStone(shown);
    view()->scene().setHighlightedDefect(index);
    view()->refresh();
}

void MainWindow::removeChosenDefect() {
    ClusteredDefects all{document_.stone()->defects, document_.stone()->clusters};
    if (chosenDefect_ < 0 || chosenDefect_ >= static_cast<int>(all.defects.size())) return;
    const QString name =
        QString::fromStdString(all.defects[static_cast<std::size_t>(chosenDefect_)].name);
    removeDefect(all, chosenDefect_);
    chosenDefect_ = -1;
    edit([&] {
        document_.changeDefects(tr("Remove %1").arg(name), std::move(all.defects),
                                std::move(all.clusters));
    });
}

void MainWindow::askClusters() {
    if (!document_.isOpen()) return;
    auto* dialog =
        new ClusterDialog({document_.stone()->defects, document_.stone()->clusters}, this);
    dialog->setAttribute(Qt::WA_DeleteOnClose);
    connect(dialog, &ClusterDialog::defectChosen, this, [this](int index) {
        view()->scene().setHighlightedDefect(index);
        view()->refresh();
    });
    connect(dialog, &QDialog::finished, this, [this, dialog](int result) {
        if (!document_.isOpen()) return;
        displayLimits();
        if (result != QDialog::Accepted || job_) return;
        const ClusteredDefects all = dialog->result();
        const int count = static_cast<int>(all.clusters.size());
        edit([&] { document_.changeDefects(tr("Change clusters"), all.defects, all.clusters); });
        stage_->setHint(tr("%n cluster(s).", nullptr, count));
    });
    dialog->open();
}

void MainWindow::askAxes() {
    if (!document_.isOpen()) return;
    delete axesDialog_.data();
    const Eigen::Vector3d table = document_.planned().placement.rotation * Eigen::Vector3d::UnitZ();
    axesDialog_ = new AxesDialog(document_.stone()->axes, table, this);
    axesDialog_->setAttribute(Qt::WA_DeleteOnClose);
    connect(axesDialog_, &QDialog::finished, this, [this](int result) {
        const auto axes = axesDialog_->axes();
        axesDialog_.clear();
        if (result != QDialog::Accepted || !axes || !document_.isOpen() || job_) return;
        edit([&] { document_.changeAxes(tr("Crystal axes"), axes); });
    });
    axesDialog_->show();
}

void MainWindow::askColour() {
    if (!document_.isOpen()) return;
    auto* dialog = new ColourDialog(document_.stone()->colour,
                                    bounds(document_.stone()->rough.mesh).centre(), this);
    dialog->setAttribute(Qt::WA_DeleteOnClose);
    connect(dialog, &QDialog::accepted, this,
            [this, dialog] { edit([&] { document_.changeColour(dialog->record()); }); });
    dialog->open();
}

}  // namespace macle::app
