// What the bench gets: the working order step by step, the plan sheet, and the marks on the skin.
#include <QAction>

#include "app/print/plan_sheet_pdf.h"
#include "app/print/sheet_state.h"
#include "app/window/appraisal_panel.h"
#include "app/window/main_window.h"
#include "app/window/sheet_dialog.h"
#include "app/window/work_dialog.h"
#include "core/base/text_file.h"
#include "core/bench/marks_file.h"
#include "core/bench/sheet_data.h"

namespace macle::app {
namespace {

void writeSheet(const PlanSheet& sheet, const std::filesystem::path& path) {
    if (path.extension() == ".csv")
        writeTextFile(path, "sheet", planSheetCsv(sheet));
    else if (path.extension() == ".json")
        writeTextFile(path, "sheet", planSheetJson(sheet));
    else
        writePlanSheetPdf(sheet, path);
}

}  // namespace

void MainWindow::makeBench() {
    connect(workingOrder_, &QAction::triggered, this, &MainWindow::showWorkingOrder);
    connect(sheet_, &QAction::triggered, this, &MainWindow::showSheet);
    connect(marks_, &QAction::triggered, this, [this] {
        const auto path = askWhere(tr("Marks on the skin"), "dxf", tr("Drawings (*.dxf *.svg)"));
        if (!path.empty()) writeMarksTo(path);
    });
}

void MainWindow::showWorkingOrder() {
    const auto prepared = workshop_.prepared();
    if (!prepared || job_) return;
    const Layout layout = document_.layout();
    const AppraisalWishes wishes = appraisalPanel_->wishes();
    startJob(tr("Working out the steps"),
             [this, prepared, layout, wishes](Progress& progress) -> Job::HandOver {
                 const AppraisalFiles files = readAppraisalFiles(wishes);
                 OrderRequest request;
                 request.rates = &files.rates;
                 request.keepShapes = true;
                 const WholeLayout whole = weighWhole(prepared->divided, layout, &progress);
                 const auto order = std::make_shared<const WorkingOrder>(orderWork(
                     *prepared->of, *prepared->wholeCutter, layout, whole, request, &progress));
                 return [this, stone = prepared->of, layout, order] {
                     auto* dialog =
                         new WorkDialog(stone, layout, order, resolved(themeChoice_), this);
                     dialog->setAttribute(Qt::WA_DeleteOnClose);
                     workDialog_ = dialog;
                     dialog->show();
                 };
             });
}

// The sheet of the layout as it is, with value, time and light where they can be told.
void MainWindow::makeSheet(const std::function<void(std::shared_ptr<const PlanSheet>)>& then) {
    const auto prepared = workshop_.prepared();
    if (!prepared || job_) return;
    const Layout layout = document_.layout();
    const AppraisalWishes wishes = appraisalPanel_->wishes();
    startJob(tr("Making the plan sheet"),
             [prepared, layout, wishes, then,
              approvals = document_.approvals()](Progress& progress) -> Job::HandOver {
                 const AppraisalFiles files = readAppraisalFiles(wishes);
                 SheetRequest request;
                 request.state = sheetState(*prepared->of, layout, approvals);
                 request.inputs = files.inputs();
                 auto sheet = std::make_shared<const PlanSheet>(makePlanSheet(
                     *prepared->of, *prepared->wholeCutter, layout, request, &progress));
                 return [sheet, then] { then(sheet); };
             });
}

void MainWindow::showSheet() {
    makeSheet([this](const std::shared_ptr<const PlanSheet>& sheet) {
        auto* dialog = new SheetDialog(sheet, this);
        dialog->setAttribute(Qt::WA_DeleteOnClose);
        connect(dialog, &SheetDialog::writeAsked, this, [this, sheet](const QString& ending) {
            const auto path =
                askWhere(tr("Plan sheet"), ending, QStringLiteral("*.%1").arg(ending));
            if (!path.empty()) writeShown([&] { writeSheet(*sheet, path); }, path);
        });
        connect(dialog, &SheetDialog::marksAsked, this, [this](const QString& ending) {
            const auto path =
                askWhere(tr("Marks on the skin"), ending, QStringLiteral("*.%1").arg(ending));
            if (!path.empty()) writeMarksTo(path);
        });
        dialog->show();
    });
}

void MainWindow::writeSheetTo(const std::filesystem::path& path) {
    makeSheet([this, path](const std::shared_ptr<const PlanSheet>& sheet) {
        writeShown([&] { writeSheet(*sheet, path); }, path);
    });
}

void MainWindow::writeMarksTo(const std::filesystem::path& path) {
    const auto prepared = workshop_.prepared();
    if (!prepared || job_) return;
    const Layout layout = document_.layout();
    startJob(tr("Working out the marks"),
             [this, prepared, layout, path](Progress& progress) -> Job::HandOver {
                 MarkRequest request;
                 request.girdles = true;
                 request.stones.clear();
                 for (std::size_t i = 0; i < layout.stones.size(); ++i)
                     request.stones.push_back(i);
                 const TriangleMesh& skin = prepared->of->rough.mesh;
                 const Marks marks = marksOf(skin, layout, prepared->divided->division, request);
                 progress.throwIfCancelled();
                 const MarksHeading heading{prepared->of->name, layout.name};
                 writeTextFile(path, "drawing",
                               path.extension() == ".svg" ? marksSvg(marks, skin, heading)
                                                          : marksDxf(marks, heading));
                 return [this, path] { tellWritten(path); };
             });
}

void MainWindow::writeShown(const std::function<void()>& write, const std::filesystem::path& path) {
    try {
        write();
        tellWritten(path);
    } catch (const Error& error) {
        showError(error);
    }
}

}  // namespace macle::app
