// Taking in a scan: reading it, and the questions it may raise.
#include <algorithm>

#include "app/window/intake_dialog.h"
#include "app/window/main_window.h"
#include "app/window/volume_dialog.h"
#include "core/stone/mesh_file.h"
#include "core/stone/volume.h"

namespace macle::app {
namespace {

QString toText(const std::filesystem::path& path) {
    return QString::fromStdU16String(path.u16string());
}

// Whether there is something to ask beyond what was asked.
bool offersMore(const ScanChoices& choices, const IntakeRequest& request) {
    return (!choices.holes_mm.empty() && !request.closeHoles) ||
           (choices.shells.size() > 1 && request.shell < 0);
}

}  // namespace

// The scan is read once; the questions come between attempts to take it in.
void MainWindow::openScan(const Scan& scan) {
    load(
        tr("Opening %1").arg(toText(scan.file.filename())),
        [this, scan](Progress& progress) -> ReadResult {
            Scan read = scan;
            if (!read.raw)
                read.raw = std::make_shared<const TriangleMesh>(readMeshFile(read.file, &progress));
            StoneFile content;
            content.stone.material = loadMaterial("diamond");
            content.stone.name = read.file.stem().string();
            if (!read.unitAsked && unitIsDoubtful(*read.raw)) {
                auto choices = unitChoices(*read.raw, content.stone.material.density_g_cm3);
                if (choices.size() > 1)
                    return Job::HandOver([this, read, choices] { askUnit(read, choices); });
            }
            try {
                content.stone.rough = takeInAsked(*read.raw, read.request, &progress);
            } catch (const Error& error) {
                if (error.code() != ErrorCode::BadInput) throw;
                TriangleMesh scaled = *read.raw;
                for (Eigen::Vector3d& v : scaled.vertices)
                    v *= read.request.unit_mm;
                const ScanChoices choices = choicesFor(scaled, &progress);
                const Error told(error.code(), read.file.string() + ": " + error.message(),
                                 error.remedy());
                if (!offersMore(choices, read.request)) throw told;
                return Job::HandOver([this, read, told, choices] { askMend(read, told, choices); });
            }
            return content;
        },
        {}, {});
}

void MainWindow::askUnit(Scan scan, const std::vector<UnitChoice>& choices) {
    auto* dialog = new UnitDialog(toText(scan.file.filename()), choices, this);
    dialog->setAttribute(Qt::WA_DeleteOnClose);
    connect(dialog, &QDialog::accepted, this, [this, dialog, scan]() mutable {
        scan.request.unit_mm = dialog->chosen().unit_mm;
        scan.request.unitName = dialog->chosen().name;
        scan.unitAsked = true;
        openScan(scan);
    });
    dialog->open();
}

void MainWindow::askMend(Scan scan, const Error& trouble, const ScanChoices& choices) {
    auto* dialog = new MendDialog(QString::fromStdString(trouble.message()), choices, this);
    dialog->setAttribute(Qt::WA_DeleteOnClose);
    connect(dialog, &QDialog::accepted, this, [this, dialog, scan]() mutable {
        scan.request = dialog->request(scan.request);
        openScan(scan);
    });
    dialog->open();
}

// The volume is read in a job; its dialog shows what it finds on the stage until it is closed.
void MainWindow::addDefectsFromVolume(const std::filesystem::path& path) {
    if (job_ || !document_.isOpen()) return;
    startJob(tr("Reading %1").arg(toText(path.filename())),
             [this, path](Progress& progress) -> Job::HandOver {
                 auto volume = std::make_shared<const Volume>(readVolume(path, &progress));
                 return [this, volume] { askVolumeDefects(volume); };
             });
}

void MainWindow::askVolumeDefects(const std::shared_ptr<const Volume>& volume) {
    auto* dialog = new VolumeDialog(volume, document_.stone(), this);
    dialog->setAttribute(Qt::WA_DeleteOnClose);
    connect(dialog, &VolumeDialog::previewed, this, [this](const std::vector<Defect>& defects) {
        Stone shown = *document_.stone();
        shown.defects.insert(shown.defects.end(), defects.begin(), defects.end());
        view()->scene().setStone(shown);
        view()->refresh();
    });
    connect(dialog, &QDialog::finished, this, [this, dialog](int result) {
        if (!document_.isOpen()) return;
        if (result != QDialog::Accepted || dialog->searching()) {
            view()->scene().setStone(*document_.stone());
            view()->refresh();
            return;
        }
        std::vector<Defect> all = document_.stone()->defects;
        const auto& found = dialog->found().defects;
        all.insert(all.end(), found.begin(), found.end());
        document_.changeDefects(tr("Add %n defect(s)", nullptr, static_cast<int>(found.size())),
                                std::move(all), document_.stone()->clusters);
    });
    dialog->open();
}

}  // namespace macle::app
