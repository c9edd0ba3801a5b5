// Changes of the cut's facets by hand, and a changed cut kept as a new one.
#include <QFileDialog>
#include <QFileInfo>
#include <QInputDialog>
#include <QSettings>

#include "app/window/facet_dialog.h"
#include "app/window/main_window.h"
#include "core/base/text_file.h"
#include "core/cut/library.h"

namespace macle::app {
namespace {

constexpr char kCutsFolderKey[] = "cuts/folder";

}  // namespace

void MainWindow::editFacets() {
    if (!document_.isOpen()) return;
    if (facetDialog_) {
        facetDialog_->raise();
        facetDialog_->activateWindow();
        return;
    }
    facetDialog_ = new FacetDialog(this);
    facetDialog_->setAttribute(Qt::WA_DeleteOnClose);
    connect(facetDialog_, &FacetDialog::changed, this, &MainWindow::changeFacets);
    connect(facetDialog_, &FacetDialog::keepAsked, this, &MainWindow::askKeepCut);
    facetDialog_->display(document_.planned());
    facetDialog_->setEnabled(job_.isNull());
    facetDialog_->show();
}

void MainWindow::changeFacets(const QString& name, const std::vector<FacetEdit>& edits,
                              const QString& field) {
    if (!document_.isOpen() || job_) return;
    try {
        document_.changeFacets(name, edits, field.isEmpty() ? 0 : stepGesture(field));
        if (facetDialog_) facetDialog_->displayTrouble({});
    } catch (const Error& error) {
        if (!facetDialog_) return;
        facetDialog_->display(document_.planned());
        facetDialog_->displayTrouble(
            QString::fromStdString(error.message() + " " + error.remedy()));
    }
}

void MainWindow::askKeepCut() {
    QSettings settings;
    QString folder = qEnvironmentVariable("MACLE_CUTS");
    if (!QFileInfo(folder).isDir()) folder = settings.value(kCutsFolderKey).toString();
    const QString path = QFileDialog::getSaveFileName(this, tr("Keep as a new cut"),
                                                      folder + QStringLiteral("/new_cut.json"),
                                                      tr("Cut files (*.json)"));
    if (path.isEmpty()) return;
    settings.setValue(kCutsFolderKey, QFileInfo(path).absolutePath());
    bool given = false;
    const QString title = QInputDialog::getText(
        this, tr("Keep as a new cut"), tr("Title of the cut, as the list shows it:"),
        QLineEdit::Normal, QFileInfo(path).completeBaseName(), &given);
    if (given) keepCutAs(path.toStdString(), title.toStdString());
}

bool MainWindow::keepCutAs(const std::filesystem::path& path, const std::string& title) {
    if (!document_.isOpen()) return false;
    const PlannedStone& planned = document_.planned();
    try {
        const std::string name = path.stem().string();
        if (!cutFiles(name).empty())
            throw Error(ErrorCode::BadUsage,
                        "There is a cut named \"" + name + "\" already, and layouts may use it.",
                        "Give the changed cut a name of its own.");
        const std::string text = editedCutFile(planned.cut, path.stem().string(), title,
                                               planned.proportions, planned.edits);
        writeTextFile(path, "cut file", text);
        addCuts(path);
    } catch (const Error& error) {
        showError(error);
        return false;
    }
    cutPanel_->listCuts();
    cutPanel_->display(document_.planned());
    stage_->setHint(tr("“%1” is among the cuts now. This layout stays as it is: its own cut with "
                       "the changes. Put the file where $MACLE_CUTS points to, to have it next "
                       "time.")
                        .arg(QString::fromStdString(title)));
    return true;
}

}  // namespace macle::app
