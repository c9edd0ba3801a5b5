#include "app/window/main_window.h"

#include <QAction>
#include <QActionGroup>
#include <QApplication>
#include <QCloseEvent>
#include <QDragEnterEvent>
#include <QDropEvent>
#include <QKeyEvent>
#include <QMenu>
#include <QMessageBox>
#include <QMimeData>
#include <QScrollArea>
#include <QSettings>
#include <QSplitter>
#include <QUrl>
#include <QVBoxLayout>
#include <utility>

#include "app/window/appraisal_panel.h"
#include "app/window/compare_window.h"
#include "app/window/dividing_panel.h"
#include "app/window/facet_dialog.h"
#include "app/window/layouts_strip.h"
#include "app/window/work_dialog.h"

namespace macle::app {
namespace {

constexpr char kGeometryKey[] = "window/geometry";
constexpr char kColumnsKey[] = "window/columns";
constexpr char kThemeKey[] = "window/theme";
constexpr int kStepsTogether_ms = 1000;  // steps in one field nearer in time are undone together

std::filesystem::path dropped(const QMimeData* data) {
    if (data == nullptr || data->urls().size() != 1 || !data->urls().front().isLocalFile())
        return {};
    return {data->urls().front().toLocalFile().toStdU16String()};
}

}  // namespace

MainWindow::MainWindow(QWidget* parent) : QMainWindow(parent) {
    setObjectName("mainWindow");
    setAcceptDrops(true);
    setToolButtonStyle(Qt::ToolButtonTextOnly);
    makeActions();
    stage_ = new Stage(views_, {showRough_, showDefects_}, section_);
    makeMenus();
    cutPanel_ = new CutPanel(facets_, largest_, settle_, best_);
    resultPanel_ = new ResultPanel;
    cutScroll_ = new QScrollArea;
    cutScroll_->setWidget(cutPanel_);
    cutScroll_->setWidgetResizable(true);
    cutScroll_->setFrameShape(QFrame::NoFrame);
    cutScroll_->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
    cutScroll_->setMinimumWidth(cutPanel_->minimumSizeHint().width() + 18);
    cutScroll_->setFocusPolicy(Qt::NoFocus);
    auto* left = new QWidget;
    auto* leftColumn = new QVBoxLayout(left);
    leftColumn->setContentsMargins(0, 0, 0, 0);
    leftColumn->setSpacing(0);
    leftColumn->addWidget(cutScroll_, 1);
    leftColumn->addWidget(cutPanel_->fitBox());
    resultPanel_->setMinimumWidth(300);
    columns_ = new QSplitter(Qt::Horizontal);
    columns_->setChildrenCollapsible(false);
    columns_->setHandleWidth(4);
    columns_->addWidget(left);
    strip_ = new PlacementsStrip;
    layoutsStrip_ = new LayoutsStrip;
    auto* middle = new QWidget;
    auto* middleColumn = new QVBoxLayout(middle);
    middleColumn->setContentsMargins(0, 0, 0, 0);
    middleColumn->setSpacing(0);
    middleColumn->addWidget(stage_, 1);
    middleColumn->addWidget(strip_);
    middleColumn->addWidget(layoutsStrip_);
    columns_->addWidget(middle);
    columns_->addWidget(resultPanel_);
    columns_->setStretchFactor(0, 0);
    columns_->setStretchFactor(1, 1);
    columns_->setStretchFactor(2, 0);
    columns_->setSizes({270, 900, 370});
    setCentralWidget(columns_);
    connectParts();
    makeAppraisal();
    makeDividing();
    makeLayouts();
    makeBench();

    QSettings settings;
    resize(1500, 940);
    if (settings.contains(kGeometryKey))
        restoreGeometry(settings.value(kGeometryKey).toByteArray());
    if (settings.contains(kColumnsKey))
        columns_->restoreState(settings.value(kColumnsKey).toByteArray());
    setThemeChoice(static_cast<ThemeChoice>(
        std::clamp(settings.value(kThemeKey, 0).toInt(), 0, static_cast<int>(ThemeChoice::Dark))));
    updateActions();
    updateTitle();
}

MainWindow::~MainWindow() {
    document_.disconnect(this);
    document_.history()->disconnect(this);
    keeper_.disconnect(this);
    delete job_.data();
}

void MainWindow::connectParts() {
    connect(open_, &QAction::triggered, this, &MainWindow::askOpen);
    connect(sample_, &QAction::triggered, this, &MainWindow::openSample);
    connect(addDefects_, &QAction::triggered, this, &MainWindow::askAddDefects);
    connect(save_, &QAction::triggered, this, &MainWindow::save);
    connect(saveAs_, &QAction::triggered, this, &MainWindow::askSaveAs);
    connect(export_, &QAction::triggered, this, &MainWindow::askExport);
    connect(approve_, &QAction::triggered, this, &MainWindow::askApproval);
    connect(picture_, &QAction::triggered, this, &MainWindow::askPicture);
    connect(report_, &QAction::triggered, this, &MainWindow::showReport);
    connect(addByHand_, &QAction::triggered, this, &MainWindow::addDefectByHand);
    connect(changeDefect_, &QAction::triggered, this, &MainWindow::changeChosenDefect);
    connect(removeDefect_, &QAction::triggered, this, &MainWindow::removeChosenDefect);
    connect(cluster_, &QAction::triggered, this, &MainWindow::askClusters);
    connect(axes_, &QAction::triggered, this, &MainWindow::askAxes);
    connect(colour_, &QAction::triggered, this, &MainWindow::askColour);
    connect(history_, &QAction::triggered, this, &MainWindow::showHistory);
    connect(quit_, &QAction::triggered, this, &QWidget::close);
    connect(facets_, &QAction::triggered, this, &MainWindow::editFacets);
    connect(largest_, &QAction::triggered, this, &MainWindow::largestHere);
    connect(settle_, &QAction::triggered, this, &MainWindow::settleHere);
    connect(best_, &QAction::triggered, this, &MainWindow::findTheBest);
    connect(freeBest_, &QAction::triggered, this, &MainWindow::findWithFreeProportions);
    connect(prove_, &QAction::triggered, this, &MainWindow::proveABound);
    connect(clarity_, &QAction::triggered, this, &MainWindow::weighClarity);
    connect(price_, &QAction::triggered, this, &MainWindow::priceDefects);
    connect(strip_, &PlacementsStrip::chosen, this, &MainWindow::choosePlacement);
    connect(strip_, &PlacementsStrip::putAwayAsked, this, &MainWindow::putFindingsAway);
    connect(keys_, &QAction::triggered, this, &MainWindow::showKeys);
    connect(frame_, &QAction::triggered, this, [this] { view()->frame(); });
    connect(showRough_, &QAction::toggled, this, [this](bool shown) {
        view()->scene().setRoughVisible(shown);
        view()->refresh();
    });
    connect(showDefects_, &QAction::toggled, this, [this](bool shown) {
        view()->scene().setDefectsVisible(shown);
        view()->refresh();
    });
    connect(section_, &QAction::toggled, this, [this](bool on) {
        stage_->setSectionControls(on);
        displaySection();
    });
    connect(thirdDecimal_, &QAction::toggled, resultPanel_, &ResultPanel::setThirdDecimal);

    connect(&document_, &Document::opened, this, &MainWindow::displayStone);
    for (const auto signal : {&Document::opened, &Document::approved, &Document::stoneChanged,
                              &Document::layoutChanged})
        connect(&document_, signal, this, &MainWindow::displayState);
    connect(&document_, &Document::stoneChanged, this, [this] {
        resultPanel_->displayStone(*document_.stone());
        view()->scene().setStone(*document_.stone());
        displayFindings();
        displayDividing();
        requestFigures(true);
        updateActions();
        updateTitle();
    });
    connect(&document_, &Document::layoutChanged, this, &MainWindow::displayLayout);
    connect(&document_, &Document::modifiedChanged, this, &MainWindow::updateTitle);
    connect(&document_, &Document::pathChanged, this, &MainWindow::updateTitle);
    connect(document_.history(), &EditHistory::changed, this, &MainWindow::updateActions);
    connect(document_.history(), &EditHistory::troubled, this, &MainWindow::showError);
    connect(&keeper_, &Keeper::troubled, this, [this](const Error& error) {
        stage_->setHint(tr("The work is not kept safe: %1 %2")
                            .arg(QString::fromStdString(error.message()),
                                 QString::fromStdString(error.remedy())));
    });

    connect(&workshop_, &Workshop::figuresReady, this, &MainWindow::displayFigures);
    connect(&workshop_, &Workshop::preparedChanged, this, [this] {
        updateActions();
        if (std::exchange(preparingTold_, false) && !defectDrag_) stage_->setHint({});
        if (!sawDrag_) displaySaws();
        displayLayouts();
    });
    connect(&workshop_, &Workshop::preparing, this, [this](double fraction) {
        if (defectDrag_) return;  // the hint tells where the defect is
        preparingTold_ = true;
        stage_->setHint(tr("Preparing the stone for fitting: %1\u00a0%")
                            .arg(locale().toString(100.0 * fraction, 'f', 0)));
    });

    connect(stage_, &Stage::openAsked, this, &MainWindow::askOpen);
    connect(stage_, &Stage::sampleAsked, this, &MainWindow::openSample);
    connect(stage_, &Stage::cancelAsked, this, [this] {
        if (job_) job_->cancel();
    });
    connect(stage_, &Stage::keepAsked, this, [this] {
        keepBest_ = true;
        if (job_) job_->cancel();
    });
    connect(stage_, &Stage::sectionMoved, this, &MainWindow::displaySection);
    connect(stage_, &Stage::sectionTurned, this, &MainWindow::turnSection);
    connect(stage_, &Stage::sectionSlid, this, &MainWindow::slideSection);
    view()->setGripFinder([this](const Ray& ray) {
        return defectUnder(ray).has_value() || sawUnder(ray).has_value();
    });
    connect(view(), &StoneView::grasped, this, [this](const Ray& ray) {
        if (defectUnder(ray) || !beginSawDrag(ray)) beginDefectDrag(ray);
    });
    connect(view(), &StoneView::dragged, this,
            [this](const Ray& ray) { sawDrag_ ? dragSaw(ray) : dragDefect(ray); });
    connect(view(), &StoneView::dropped, this,
            [this] { sawDrag_ ? endSawDrag(true) : endDefectDrag(true); });

    connect(
        view(), &StoneView::cutHandled, this,
        [this](const Placement& placement, Handling kind, bool fresh) {
            if (!document_.isOpen() || searching_) return;
            handling_ = true;
            if (fresh || gesture_ == 0) gesture_ = document_.newGesture();
            const QString names[] = {tr("Turn cut"), tr("Move cut"), tr("Spin cut"),
                                     tr("Size cut")};
            edit([&] { document_.placeCut(names[static_cast<int>(kind)], placement, gesture_); });
        });
    connect(view(), &StoneView::picked, this, &MainWindow::takePick);
    connect(view(), &StoneView::handlingEnded, this, [this] {
        handling_ = false;
        if (!document_.isOpen()) return;
        displayDividing();
        displayLayouts();
        requestFigures(true);
    });

    connect(cutPanel_, &CutPanel::cutChosen, this,
            [this](const std::string& cut) { edit([&] { document_.changeCut(cut); }); });
    connect(cutPanel_, &CutPanel::proportionEdited, this,
            [this](const std::string& key, const QString& label, double value) {
                edit([&] {
                    document_.changeProportion(tr("Change %1").arg(label.toLower()), key, value,
                                               stepGesture(label));
                });
            });
    connect(cutPanel_, &CutPanel::placementEdited, this,
            [this](const QString& name, const Placement& placement) {
                edit([&] { document_.placeCut(name, placement, stepGesture(name)); });
            });
    connect(cutPanel_, &CutPanel::allowanceEdited, this, [this](double allowance_mm) {
        edit([&] {
            PlannedStone planned = document_.planned();
            planned.rules.allowance_mm = allowance_mm;
            document_.changePlanned(tr("Change allowance"), planned, stepGesture("allowance"));
        });
    });

    connect(resultPanel_, &ResultPanel::defectChosen, this, [this](int index) {
        chosenDefect_ = index;
        view()->scene().setHighlightedDefect(index);
        view()->refresh();
        updateActions();
    });
    connect(resultPanel_, &ResultPanel::policyEdited, this, [this](int index, DefectPolicy policy) {
        if (!document_.isOpen()) return;
        if (job_) {
            // Not now: the list shows again what holds.
            resultPanel_->displayStone(*document_.stone());
            return;
        }
        std::vector<Defect> defects = document_.stone()->defects;
        if (index < 0 || index >= static_cast<int>(defects.size())) return;
        Defect& defect = defects[static_cast<std::size_t>(index)];
        if (defect.policy == policy) return;
        defect.policy = policy;
        document_.changeDefects(tr("Policy of %1").arg(QString::fromStdString(defect.name)),
                                std::move(defects), document_.stone()->clusters);
    });
    connect(resultPanel_, &ResultPanel::limitChosen, this, [this](int index) {
        chosenLimit_ = index;
        displayLimits();
    });
}

// Runs one edit; what core refuses is said under the numbers, and the fields show what still holds.
void MainWindow::edit(const std::function<void()>& change) {
    if (!document_.isOpen()) return;
    try {
        change();
        cutPanel_->displayTrouble({});
    } catch (const Error& error) {
        cutPanel_->displayTrouble(QString::fromStdString(error.message() + " " + error.remedy()));
        cutPanel_->display(document_.planned());
    }
}

int MainWindow::stepGesture(const QString& field) {
    if (field != steppedField_ || !sinceStep_.isValid() || sinceStep_.elapsed() > kStepsTogether_ms)
        gesture_ = document_.newGesture();
    steppedField_ = field;
    sinceStep_.start();
    return gesture_;
}

void MainWindow::displayStone() {
    figures_.reset();
    drawn_.reset();
    finishedDrawn_ = false;
    chosenLimit_ = -1;
    chosenDefect_ = -1;
    measured_.clear();
    defectDrag_.reset();
    sawDrag_.reset();
    chosenSaw_ = -1;
    view()->letGripGo();
    stage_->setMeasured({});
    delete defectDialog_.data();
    delete axesDialog_.data();
    delete facetDialog_.data();
    delete workDialog_.data();
    delete compareWindow_.data();
    handling_ = false;
    gesture_ = 0;
    section_->setChecked(false);
    render::Scene& scene = view()->scene();
    scene.setFinishedMesh({});
    scene.setLimits({});
    scene.setHighlightedDefect(-1);
    view()->removeDesign();
    cutPanel_->displayTrouble({});
    resultPanel_->displayNothing();
    appraiser_.cancel();
    appraisalPanel_->displayNothing();
    stage_->setStoneOpen(document_.isOpen());
    if (document_.isOpen()) {
        scene.setStone(*document_.stone());
        view()->frame();
        resultPanel_->displayStone(*document_.stone());
        displayLayout();
        view()->setFocus();
    } else {
        scene.clearStone();
        displaySaws();
        displayDividing();
        workshop_.forget();
        layoutWeights_.forget();
        displayFindings();
    }
    view()->refresh();
    updateActions();
    updateTitle();
}

void MainWindow::displayLayout() {
    const PlannedStone& planned = document_.planned();
    cutPanel_->display(planned);
    if (facetDialog_) facetDialog_->display(planned);
    if (finishedDrawn_) {
        view()->scene().setFinishedMesh({});
        finishedDrawn_ = false;
    }
    view()->setPlacement(planned.placement);
    displayFindings();
    // While the cut is dragged nothing else of the layout changes.
    if (!handling_) {
        displayDividing();
        displaySaws();
    }
    requestFigures(!handling_);
}

void MainWindow::requestFigures(bool atRest) {
    Layout layout = document_.layout();
    const int which = document_.currentStone();
    if (preview_) layout.stones[static_cast<std::size_t>(which)].placement = *preview_;
    workshop_.request(document_.stone(), document_.roughNumber(), layout, which, atRest);
    resultPanel_->setComputing(true);
}

void MainWindow::displayFigures(const std::shared_ptr<const Figures>& figures) {
    if (!document_.isOpen()) return;
    figures_ = figures;
    if (figures->shaped && figures->shaped != drawn_) {
        drawn_ = figures->shaped;
        view()->setDesign(drawn_->design, drawn_->solids);
    }
    if (!workshop_.busy() && !handling_) appraiseNow();
    if (!workshop_.busy()) {
        if (finishedDrawn_ || !figures->finished.empty())
            view()->scene().setFinishedMesh(figures->finished);
        finishedDrawn_ = !figures->finished.empty();
        resultPanel_->setComputing(false);
    }
    resultPanel_->displayFigures(figures);
    if (figures->whole)
        dividing_->displayWeights(figures->whole);
    else if (!figures->wholeTrouble.empty() || !figures->trouble.empty())
        dividing_->displayTrouble(QString::fromStdString(
            figures->trouble.empty() ? figures->wholeTrouble
                                     : figures->trouble + " " + figures->remedy));
    if (defectDrag_) {
        if (defectDrag_->waiting) previewDefectDrag();
        return;
    }
    displayLimits();
    if (searching_ && preview_ && figures->trouble.empty())
        stage_->setJobText(tr("Looking for the best placement: %1 ct so far")
                               .arg(locale().toString(figures->appraisal.finished_ct, 'f', 2)));
}

void MainWindow::displayLimits() {
    std::vector<Eigen::Vector3d> points;
    int defect = chosenDefect_;
    if (figures_) {
        const int count = static_cast<int>(figures_->limits.size());
        for (int i = 0; i < count; ++i) {
            const FitLimit& limit = figures_->limits[static_cast<std::size_t>(i)];
            if (chosenLimit_ >= 0 && chosenLimit_ < count && i != chosenLimit_) continue;
            points.push_back(limit.point_mm);
            if (i != chosenLimit_) continue;
            const std::vector<Defect>& all = document_.stone()->defects;
            for (std::size_t d = 0; d < all.size(); ++d)
                if (all[d].name == limit.source) defect = static_cast<int>(d);
        }
    }
    view()->scene().setLimits(points);
    view()->scene().setHighlightedDefect(defect);
    view()->refresh();
}

void MainWindow::updateActions() {
    const bool idle = job_.isNull();
    const bool open = document_.isOpen();
    // What is prepared for an earlier version of the stone would fit by its defects.
    const auto prepared = workshop_.prepared();
    const bool ready = open && idle && prepared && prepared->about(document_);
    for (QAction* action : {open_, sample_})
        action->setEnabled(idle);
    for (QAction* action : {addDefects_, save_, saveAs_, report_, history_})
        action->setEnabled(open && idle);
    for (QAction* action : {export_, approve_, sheet_, marks_, largest_, settle_, best_, freeBest_,
                            prove_, clarity_, price_})
        action->setEnabled(ready);
    for (QAction* action : {picture_, frame_, showRough_, showDefects_, section_})
        action->setEnabled(open);
    for (QAction* action : views_)
        action->setEnabled(open);
    if (facetDialog_) facetDialog_->setEnabled(open && idle);
    for (QAction* action : {facets_, addByHand_, cluster_, axes_, colour_})
        action->setEnabled(open && idle);
    const bool chosen = open && chosenDefect_ >= 0 &&
                        chosenDefect_ < static_cast<int>(document_.stone()->defects.size());
    for (QAction* action : {changeDefect_, removeDefect_})
        action->setEnabled(idle && chosen);
    for (QAction* action : {newLayout_, copyLayout_, renameLayout_})
        action->setEnabled(open && idle);
    removeLayout_->setEnabled(open && idle && document_.layouts().size() > 1);
    addSaw_->setEnabled(open && idle);
    removeSaw_->setEnabled(open && idle && !document_.layout().saws.empty());
    addStone_->setEnabled(ready);
    for (QAction* action : {workingOrder_, findLayouts_, sideBySide_, chart_})
        action->setEnabled(ready);
    secondStone_->setEnabled(ready);
    removeStone_->setEnabled(open && idle && document_.layout().stones.size() > 1);
    dividing_->setChangeable(open && idle);
    layoutsStrip_->setChangeable(open && idle);
    nudgeMenu_->setEnabled(open && idle);
    undo_->setEnabled(idle && document_.history()->canUndo());
    redo_->setEnabled(idle && document_.history()->canRedo());
    cutPanel_->setEnabled(open && idle);
    cutPanel_->fitBox()->setEnabled(open && idle);
    resultPanel_->setEnabled(open);
    strip_->setChangeable(open && idle);
    view()->setCutMovable(idle);
}

void MainWindow::updateTitle() {
    QString name = tr("No stone");
    if (document_.isOpen()) {
        name = QString::fromStdString(document_.stone()->name);
        if (!document_.path().empty())
            name = QString::fromStdU16String(document_.path().filename().u16string());
    }
    if (!document_.readOnlyWhy().empty()) name = tr("%1 (to look at only)").arg(name);
    setWindowTitle(tr("%1[*] – Macle").arg(name));
    setWindowModified(document_.isModified());
}

void MainWindow::showError(const Error& error) {
    auto* box = new QMessageBox(QMessageBox::Warning, tr("Macle"),
                                QString::fromStdString(error.message()), QMessageBox::Ok, this);
    box->setObjectName("errorBox");
    box->setInformativeText(QString::fromStdString(error.remedy()));
    box->setTextFormat(Qt::PlainText);
    box->setAttribute(Qt::WA_DeleteOnClose);
    box->open();
}

void MainWindow::startJob(const QString& title, Job::Work work, bool keepable) {
    if (job_) return;
    job_ = new Job(title, std::move(work), this);
    connect(job_, &Job::finished, this, &MainWindow::endJob);
    connect(job_, &Job::failed, this, [this](const Error& error) {
        const Error told = error;
        endJob();
        showError(told);
    });
    stage_->showJob(job_, keepable);
    updateActions();
    job_->start();
}

void MainWindow::endJob() {
    stage_->hideJob();
    if (job_) job_->deleteLater();
    job_.clear();
    updateActions();
    endComparing();
    endFindLayouts();
    endSearch();
}

bool MainWindow::mayDiscard() {
    // A scan that was only looked at is there to be opened again.
    const bool onlyLookedAt = document_.path().empty() && document_.history()->count() == 0;
    if (!document_.isModified() || onlyLookedAt) return true;
    QMessageBox box(QMessageBox::Question, tr("Macle"),
                    tr("%1 has changes that are not saved.")
                        .arg(QString::fromStdString(document_.stone()->name)),
                    QMessageBox::Save | QMessageBox::Discard | QMessageBox::Cancel, this);
    box.setObjectName("discardBox");
    box.setInformativeText(tr("Save them first?"));
    box.setDefaultButton(QMessageBox::Save);
    const int answer = box.exec();
    if (answer == QMessageBox::Save) return save();
    return answer == QMessageBox::Discard;
}

void MainWindow::setThemeChoice(ThemeChoice choice) {
    themeChoice_ = choice;
    const render::Theme theme = resolved(choice);
    applyTheme(theme);
    stage_->themeChanged();
    cutPanel_->themeChanged();
    resultPanel_->themeChanged();
    appraisalPanel_->themeChanged();
    dividing_->themeChanged();
    if (workDialog_) workDialog_->setTheme(theme);
    if (facetDialog_) facetDialog_->themeChanged();
    stripDrawn_ = false;
    displayFindings();
    displayLayouts();
    view()->scene().setTheme(theme);
    view()->refresh();
    for (QAction* action : themes_->actions())
        action->setChecked(action->data().toInt() == static_cast<int>(choice));
    QSettings().setValue(kThemeKey, static_cast<int>(choice));
}

void MainWindow::closeEvent(QCloseEvent* event) {
    if (!mayDiscard()) {
        event->ignore();
        return;
    }
    QSettings settings;
    settings.setValue(kGeometryKey, saveGeometry());
    settings.setValue(kColumnsKey, columns_->saveState());
    if (job_) job_->cancel();
    // The work is saved or was given up just now.
    keeper_.letGo();
    event->accept();
}

void MainWindow::dragEnterEvent(QDragEnterEvent* event) {
    if (!job_ && !dropped(event->mimeData()).empty()) event->acceptProposedAction();
}

void MainWindow::dropEvent(QDropEvent* event) {
    const std::filesystem::path path = dropped(event->mimeData());
    if (path.empty()) return;
    event->acceptProposedAction();
    if (isVolumeName(path) && !document_.isOpen()) {
        showError(Error(ErrorCode::BadInput,
                        path.filename().string() + " is a volume, which defects are taken from.",
                        "Open the scan of the stone first, then drop the volume on it."));
        return;
    }
    if ((path.extension() == ".json" || isVolumeName(path)) && document_.isOpen())
        addDefectsFrom(path);
    else
        openPath(path);
}

void MainWindow::keyPressEvent(QKeyEvent* event) {
    if (event->key() == Qt::Key_Escape && sawDrag_) {
        view()->letGripGo();
        endSawDrag(false);
        return;
    }
    if (event->key() == Qt::Key_Escape && defectDrag_) {
        view()->letGripGo();
        endDefectDrag(false);
        return;
    }
    if (event->key() == Qt::Key_Escape && stage_->sectionPlane()->picking()) {
        stage_->sectionPlane()->stopPicking();
        displayLimits();
        return;
    }
    if (event->key() == Qt::Key_Escape && job_) {
        job_->cancel();
        return;
    }
    if (event->key() == Qt::Key_Escape && !measured_.empty()) {
        measured_.clear();
        stage_->setMeasured({});
        displayLimits();
        return;
    }
    QMainWindow::keyPressEvent(event);
}

}  // namespace macle::app
