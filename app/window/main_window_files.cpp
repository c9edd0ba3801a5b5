// Opening, saving and writing.
#include <QAction>
#include <QFileDialog>
#include <QFileInfo>
#include <QGuiApplication>
#include <QMessageBox>
#include <QSettings>

#include "app/print/plan_sheet_pdf.h"
#include "app/print/sheet_state.h"
#include "app/window/first_place.h"
#include "app/window/history_dialog.h"
#include "app/window/main_window.h"
#include "app/window/recovery_dialog.h"
#include "app/window/report_dialog.h"
#include "core/bench/plan_sheet.h"
#include "core/cut/library.h"
#include "core/stone/mesh_file.h"
#include "core/stone/sample.h"

namespace macle::app {
namespace {

constexpr double kPictureScale = 2.0;
constexpr char kFolderKey[] = "folder";

std::filesystem::path toPath(const QString& name) {
    return std::filesystem::path(name.toStdU16String());
}

QString toText(const std::filesystem::path& path) {
    return QString::fromStdU16String(path.u16string());
}

QString folder() {
    return QSettings().value(kFolderKey).toString();
}

// A stone that holds no cut at all can still be looked at and appraised.
Layout firstLayout(const Prepared& prepared, Progress& progress) {
    Layout layout;
    PlannedStone& planned = layout.main();
    for (const ProportionInfo& proportion : findCut(planned.cut).proportions)
        planned.proportions[proportion.key] = proportion.standard;
    planned.placement.translation_mm = bounds(prepared.stone->rough.mesh).centre();
    try {
        planned.placement = firstPlace(*prepared.stone, *prepared.obstacles, planned, &progress);
    } catch (const Error& error) {
        if (error.code() != ErrorCode::NoSolution) throw;
    }
    return layout;
}

}  // namespace

void MainWindow::load(const QString& title, const Read& read, const std::filesystem::path& path,
                      const std::filesystem::path& draft) {
    if (job_) return;
    std::error_code fault;
    const bool ours =
        document_.isOpen() && std::filesystem::equivalent(path, document_.path(), fault);
    startJob(title, [this, read, path, draft, ours](Progress& progress) -> Job::HandOver {
        auto opened = std::make_shared<Opened>();
        Document::Content& content = opened->content;
        // Before reading, so that nobody replaces the file in between.
        std::string holder;
        if (!path.empty() && !ours && std::filesystem::exists(path) && !content.lock.take(path))
            holder = OpenLock::holderOf(path);
        ReadResult result = read(progress);
        progress.throwIfCancelled();
        if (auto* question = std::get_if<Job::HandOver>(&result)) return *question;
        StoneFile file = std::get<StoneFile>(std::move(result));
        const auto stone = std::make_shared<const Stone>(std::move(file.stone));
        opened->prepared =
            std::make_shared<Prepared>(*prepare(stone, 0, {}, 0, nullptr, &progress));
        content.stone = stone;
        content.layouts = std::move(file.layouts);
        content.path = path;
        content.history = std::move(file.history);
        content.approvals = std::move(file.approvals);
        content.notes = std::move(file.notes);
        content.recovered = !draft.empty();
        if (!holder.empty()) {
            content.notes.readOnly = true;
            content.notes.why = "it is open in " + holder;
        }
        if (content.layouts.empty()) {
            content.layouts.push_back(firstLayout(*opened->prepared, progress));
            content.history = {};
        }
        return [this, opened, draft, ours, holder] {
            // The number is known only now: another rough may have come meanwhile.
            opened->prepared->roughNumber = document_.roughNumber() + 1;
            workshop_.adopt(opened->prepared);
            if (!draft.empty()) keeper_.adoptNext(draft);
            if (ours) opened->content.lock = document_.giveUpLock();
            document_.reset(std::move(opened->content));
            tellFileNotes(!holder.empty(), holder);
        };
    });
}

// What the planner must know about the file before the first edit.
void MainWindow::tellFileNotes(bool heldElsewhere, const std::string& holder) {
    const FileNotes& notes = document_.notes();
    const QString name = toText(document_.path().filename());
    if (heldElsewhere) {
        auto* box =
            new QMessageBox(QMessageBox::Information, tr("Macle"),
                            tr("%1 is open in %2.").arg(name, QString::fromStdString(holder)),
                            QMessageBox::Ok, this);
        box->setObjectName("heldBox");
        box->setInformativeText(
            tr("You may look at it here and save it under another name, but not over it."));
        box->setAttribute(Qt::WA_DeleteOnClose);
        box->open();
    } else if (notes.readOnly) {
        stage_->setHint(tr("%1 can only be looked at: %2. Changes can be saved under another name.")
                            .arg(name, QString::fromStdString(notes.why)));
    } else if (!notes.replacedCuts.empty()) {
        QStringList cuts;
        for (const std::string& cut : notes.replacedCuts)
            cuts << QString::fromStdString(cut);
        stage_->setHint(
            tr("%1 brings its own form of %2; it is used from now on.").arg(name, cuts.join(", ")));
    } else if (notes.upgraded) {
        stage_->setHint(tr("%1 has an older form; saving gives it the present one.").arg(name));
    }
}

void MainWindow::offerRecovery() {
    std::vector<DraftInfo> left = draftsLeftBehind(keeper_.folder());
    if (left.empty()) return;
    auto* dialog = new RecoveryDialog(std::move(left), this);
    dialog->setAttribute(Qt::WA_DeleteOnClose);
    connect(dialog, &RecoveryDialog::recoverAsked, this, &MainWindow::recover);
    connect(dialog, &RecoveryDialog::discardFailed, this,
            [this](const QString& message, const QString& remedy) {
                showError(Error(ErrorCode::Io, message.toStdString(), remedy.toStdString()));
            });
    dialog->open();
}

void MainWindow::recover(const DraftInfo& draft) {
    if (job_) {
        connect(job_, &QObject::destroyed, this, [this, draft] { recover(draft); });
        return;
    }
    if (!mayDiscard()) return;
    load(
        tr("Recovering %1").arg(QString::fromStdString(draft.stoneName)),
        [file = draft.draft](Progress&) -> ReadResult { return openDraft(file); },
        // A file that went meanwhile cannot be the one to save to without asking.
        std::filesystem::exists(draft.of.file) ? draft.of.file : std::filesystem::path(),
        draft.draft);
}

void MainWindow::showHistory() {
    auto* dialog = findChild<HistoryDialog*>();
    if (dialog == nullptr) {
        dialog = new HistoryDialog(*document_.history(), this);
        dialog->setAttribute(Qt::WA_DeleteOnClose);
    }
    dialog->setChangeable(job_.isNull());
    dialog->show();
    dialog->raise();
    dialog->activateWindow();
}

void MainWindow::openPath(const std::filesystem::path& path) {
    if (job_ || !mayDiscard()) return;
    rememberFolder(path);
    if (path.extension() == ".macle") {
        load(tr("Opening %1").arg(toText(path.filename())),
             [path](Progress&) -> ReadResult { return openStoneFile(path); }, path, {});
        return;
    }
    Scan scan;
    scan.file = path;
    openScan(scan);
}

void MainWindow::openSample() {
    if (job_ || !mayDiscard()) return;
    load(tr("Making the sample stone"),
         [](Progress&) -> ReadResult {
             StoneFile file;
             file.stone = sampleStone();
             return file;
         },
         {}, {});
}

void MainWindow::askOpen() {
    const QString name = QFileDialog::getOpenFileName(
        this, tr("Open stone"), folder(),
        tr("Scans and stone files (*.stl *.ply *.obj *.macle *.STL *.PLY *.OBJ);;All files (*)"));
    if (!name.isEmpty()) openPath(toPath(name));
}

void MainWindow::askAddDefects() {
    const QString name = QFileDialog::getOpenFileName(
        this, tr("Add defects"), folder(),
        tr("Defect lists, meshes and volumes (*.json *.stl *.ply *.obj "
           "*.mha *.mhd *.nrrd *.nhdr *.vtk *.vti *.JSON *.STL *.PLY "
           "*.OBJ);;All files (*)"));
    if (!name.isEmpty()) addDefectsFrom(toPath(name));
}

void MainWindow::addDefectsFrom(const std::filesystem::path& path) {
    if (job_ || !document_.isOpen()) return;
    rememberFolder(path);
    if (isVolumeName(path)) {
        addDefectsFromVolume(path);
        return;
    }
    startJob(tr("Reading defects from %1").arg(toText(path.filename())),
             [this, path](Progress&) -> Job::HandOver {
                 auto found = std::make_shared<std::vector<Defect>>(readDefects(path));
                 return [this, found] {
                     std::vector<Defect> all = document_.stone()->defects;
                     all.insert(all.end(), found->begin(), found->end());
                     document_.changeDefects(
                         tr("Add %n defect(s)", nullptr, static_cast<int>(found->size())),
                         std::move(all), document_.stone()->clusters);
                 };
             });
}

bool MainWindow::save() {
    if (document_.path().empty() || !document_.readOnlyWhy().empty()) return askSaveAs();
    return saveTo(document_.path());
}

bool MainWindow::askSaveAs() {
    const auto path = askWhere(tr("Save stone"), "macle", tr("Stone files (*.macle)"));
    return !path.empty() && saveTo(path);
}

bool MainWindow::saveTo(const std::filesystem::path& path) {
    if (!document_.isOpen()) return false;
    QGuiApplication::setOverrideCursor(Qt::WaitCursor);
    try {
        document_.save(path);
    } catch (const Error& error) {
        QGuiApplication::restoreOverrideCursor();
        showError(error);
        return false;
    }
    QGuiApplication::restoreOverrideCursor();
    rememberFolder(path);
    stage_->setHint(tr("Saved as %1").arg(toText(path)));
    return true;
}

void MainWindow::askExport() {
    const auto path = askWhere(tr("Export finished mesh"), "stl", tr("Meshes (*.stl *.ply *.obj)"));
    if (!path.empty()) exportFinishedTo(path);
}

void MainWindow::exportFinishedTo(const std::filesystem::path& path) {
    const auto prepared = workshop_.prepared();
    if (!prepared) return;
    rememberFolder(path);
    const PlannedStone planned = document_.planned();
    startJob(tr("Writing the finished mesh"),
             [this, prepared, planned, path](Progress& progress) -> Job::HandOver {
                 const Design design = designOf(planned);
                 const FinishedStone finished =
                     prepared->cutter->finish(design, planned.placement, true);
                 progress.throwIfCancelled();
                 writeMeshFile(finished.mesh, path);
                 return [this, path] { stage_->setHint(tr("Written: %1").arg(toText(path))); };
             });
}

void MainWindow::askPicture() {
    const auto path = askWhere(tr("Picture"), "png", tr("Pictures (*.png)"));
    if (!path.empty()) writePictureTo(path);
}

void MainWindow::writePictureTo(const std::filesystem::path& path) {
    rememberFolder(path);
    const QSizeF size = QSizeF(stage_->view()->size()) * kPictureScale;
    const QImage image =
        stage_->view()->picture(static_cast<int>(size.width()), static_cast<int>(size.height()));
    if (image.save(toText(path), "PNG")) {
        stage_->setHint(tr("Written: %1").arg(toText(path)));
        return;
    }
    showError(Error(ErrorCode::Io, "The picture could not be written to " + path.string() + ".",
                    "Check that the folder exists and may be written to."));
}

void MainWindow::showReport() {
    auto* dialog = new ReportDialog(document_.stone(), this);
    dialog->setAttribute(Qt::WA_DeleteOnClose);
    connect(dialog, &QDialog::accepted, this, [this, dialog] {
        edit([&] {
            document_.changeScaleWeight(dialog->scale_ct());
            document_.changeTrusted(dialog->trusted());
            document_.renameStone(dialog->name());
        });
    });
    connect(dialog, &ReportDialog::placesChosen, this, &MainWindow::showPlaces);
    connect(dialog, &QDialog::finished, this, [this] {
        if (document_.isOpen()) displayLimits();
    });
    dialog->open();
}

// The ending is added before the dialog asks whether a file that exists may be replaced.
std::filesystem::path MainWindow::askWhere(const QString& title, const QString& ending,
                                           const QString& filter) {
    const QString suggestion = suggestedName(QLatin1Char('.') + ending);
    QFileDialog dialog(this, title, QFileInfo(suggestion).path(), filter);
    dialog.setAcceptMode(QFileDialog::AcceptSave);
    dialog.setDefaultSuffix(ending);
    dialog.selectFile(QFileInfo(suggestion).fileName());
    if (dialog.exec() != QDialog::Accepted || dialog.selectedFiles().isEmpty()) return {};
    return toPath(dialog.selectedFiles().front());
}

void MainWindow::rememberFolder(const std::filesystem::path& path) {
    QSettings().setValue(kFolderKey, QFileInfo(toText(path)).absolutePath());
}

void MainWindow::tellWritten(const std::filesystem::path& path) {
    rememberFolder(path);
    stage_->setHint(tr("Written: %1").arg(toText(path)));
}

QString MainWindow::suggestedName(const QString& ending) const {
    QString name = document_.path().empty() ? QString::fromStdString(document_.stone()->name)
                                            : toText(document_.path().stem());
    name.replace(QLatin1Char('/'), QLatin1Char('-'));
    if (name.isEmpty()) name = QStringLiteral("stone");
    return folder().isEmpty() ? name + ending : folder() + QLatin1Char('/') + name + ending;
}

}  // namespace macle::app
