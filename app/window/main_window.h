// MainWindow: ties document, workshop, stage and panels together and holds the commands.
// Thread contract: GUI thread.
#pragma once

#include <QList>
#include <QMainWindow>
#include <QPointer>
#include <filesystem>
#include <optional>
#include <variant>

#include "app/window/appraiser.h"
#include "app/window/axes_dialog.h"
#include "app/window/cut_panel.h"
#include "app/window/defect_dialog.h"
#include "app/window/document.h"
#include "app/window/find_layouts_dialog.h"
#include "app/window/job.h"
#include "app/window/keeper.h"
#include "app/window/layout_weights.h"
#include "app/window/placements_strip.h"
#include "app/window/result_panel.h"
#include "app/window/sketch.h"
#include "app/window/stage.h"
#include "app/window/theme.h"
#include "app/window/workshop.h"
#include "core/bench/plan_sheet.h"
#include "core/fit/bound.h"
#include "core/fit/free_fit.h"
#include "core/stone/intake.h"
#include "core/stone/volume.h"

class QAction;
class QActionGroup;
class QDockWidget;
class QMenu;
class QScrollArea;
class QSplitter;

namespace macle::app {

class AppraisalPanel;
class CompareWindow;
class DividingPanel;
class FacetDialog;
class LayoutsStrip;
class WorkDialog;

class MainWindow : public QMainWindow {
    Q_OBJECT
  public:
    explicit MainWindow(QWidget* parent = nullptr);
    ~MainWindow() override;

    Document& document() { return document_; }
    Workshop& workshop() { return workshop_; }
    StoneView* view() const { return stage_->view(); }
    bool jobRunning() const { return !job_.isNull(); }

    // Open in the background; an unusable file leaves the open stone as it is.
    void openPath(const std::filesystem::path& path);
    void openSample();
    void addDefectsFrom(const std::filesystem::path& path);
    // Offers what it finds; stopped by hand it keeps the best so far.
    void findLayouts(const LayoutWish& wish);
    // Refused with words when they cannot be read.
    void takePrices(const std::filesystem::path& file);
    void takeRates(const std::filesystem::path& file);
    bool appraising() const { return appraiser_.busy(); }
    bool saveTo(const std::filesystem::path& path);
    // The present cut with its facet changes as a cut file, which the list of cuts shows then.
    bool keepCutAs(const std::filesystem::path& path, const std::string& title);
    void exportFinishedTo(const std::filesystem::path& path);
    // PDF, CSV or JSON by its ending; DXF or SVG.
    void writeSheetTo(const std::filesystem::path& path);
    void writeMarksTo(const std::filesystem::path& path);
    void writePictureTo(const std::filesystem::path& path);

    // Asks about work that was not saved when the program ended, when there is some.
    void offerRecovery();
    void recover(const DraftInfo& draft);
    Keeper& keeper() { return keeper_; }

    void setThemeChoice(ThemeChoice choice);

  protected:
    void closeEvent(QCloseEvent* event) override;
    void dragEnterEvent(QDragEnterEvent* event) override;
    void dropEvent(QDropEvent* event) override;
    void keyPressEvent(QKeyEvent* event) override;

  private:
    struct Opened {
        std::shared_ptr<Prepared> prepared;
        Document::Content content;
    };

    // main_window_actions.cpp
    void makeActions();
    void makeNudges(QMenu* menu);
    void makeMenus();
    QAction* addCommand(const char* name, const QString& text, const QKeySequence& keys,
                        const QString& tip);
    void showKeys();

    // main_window.cpp
    void connectParts();
    void displayStone();
    void displayLayout();
    void displayFigures(const std::shared_ptr<const Figures>& figures);
    void displayLimits();
    void requestFigures(bool atRest);
    void updateActions();
    void updateTitle();
    void edit(const std::function<void()>& change);
    int stepGesture(const QString& field);
    void showError(const Error& error);
    void startJob(const QString& title, Job::Work work, bool keepable = false);
    void endJob();
    bool mayDiscard();

    // main_window_files.cpp
    void askOpen();
    void askAddDefects();
    bool save();
    bool askSaveAs();
    void askExport();
    void askPicture();
    void showReport();
    // What reading leads to: a stone, or a question to be asked on the GUI thread.
    using ReadResult = std::variant<StoneFile, Job::HandOver>;
    using Read = std::function<ReadResult(Progress&)>;
    void load(const QString& title, const Read& read, const std::filesystem::path& path,
              const std::filesystem::path& draft);
    void tellFileNotes(bool heldElsewhere, const std::string& holder);
    void showHistory();
    QString suggestedName(const QString& ending) const;
    // Where to write; empty when the dialog is left.
    std::filesystem::path askWhere(const QString& title, const QString& ending,
                                   const QString& filter);
    static void rememberFolder(const std::filesystem::path& path);
    void tellWritten(const std::filesystem::path& path);

    // main_window_intake.cpp
    struct Scan {
        std::filesystem::path file;
        std::shared_ptr<const TriangleMesh> raw;  // once it is read
        IntakeRequest request;
        bool unitAsked = false;
    };
    void openScan(const Scan& scan);
    void askUnit(Scan scan, const std::vector<UnitChoice>& choices);
    void addDefectsFromVolume(const std::filesystem::path& path);
    void askVolumeDefects(const std::shared_ptr<const Volume>& volume);
    void askMend(Scan scan, const Error& trouble, const ScanChoices& choices);

    // main_window_defects.cpp
    void takePick(const Eigen::Vector3d& origin_mm, const Eigen::Vector3d& direction);
    void measure(const Eigen::Vector3d& place_mm);
    void addDefectByHand();
    void changeChosenDefect();
    void removeChosenDefect();
    void editDefect(const Defect& start, const QString& title, int index);
    void showWith(const Defect& defect, int index);
    void askClusters();
    void askAxes();
    void askColour();
    void showPlaces(const std::vector<Eigen::Vector3d>& places_mm);

    // main_window_section.cpp
    void displaySection();
    void turnSection();
    void slideSection();

    // main_window_drag.cpp
    struct DefectGrip {
        int index = -1;
        OpenPlane plane;  // in which it is moved
        Eigen::Vector3d start_mm = Eigen::Vector3d::Zero();
    };
    struct DefectDrag {
        DefectGrip grip;
        Stone shown;  // with the defect where it is now
        bool moved = false;
        bool waiting = false;  // figures of the latest place are yet to be asked for
    };
    std::optional<DefectGrip> defectUnder(const Ray& ray) const;
    void beginDefectDrag(const Ray& ray);
    void dragDefect(const Ray& ray);
    void previewDefectDrag();
    void endDefectDrag(bool keep);

    // main_window_approve.cpp
    void askApproval();
    void takeBackApproved(std::size_t approval);
    void displayState();

    // main_window_appraise.cpp
    void makeAppraisal();
    void appraiseNow();

    // main_window_facets.cpp
    void editFacets();
    void changeFacets(const QString& name, const std::vector<FacetEdit>& edits,
                      const QString& field);
    void askKeepCut();

    // main_window_layouts.cpp
    void makeLayouts();
    void chooseLayout(int index);
    void askLayoutName();
    void displayLayouts();
    QImage drawLayout(const Layout& layout);

    // main_window_divide.cpp
    struct SawDrag {
        int saw = 0;
        Eigen::Vector3d place_mm = Eigen::Vector3d::Zero();  // where it was taken hold of
        render::SawOutline outline;                          // then
        double by_mm = 0.0;
    };
    void makeDividing();
    void displayDividing();
    void displaySaws();
    void changeSaw(const QString& name, const Saw& saw, int gesture);
    void addSaw();
    void removeSaw();
    void addStone();
    void removeStone();
    void findSecond();
    std::optional<SawDrag> sawUnder(const Ray& ray) const;
    bool beginSawDrag(const Ray& ray);
    void dragSaw(const Ray& ray);
    void endSawDrag(bool keep);

    // main_window_find_layouts.cpp
    void askFindLayouts();
    void showBestLayoutSoFar(const std::shared_ptr<const Stone>& stone, const JointLayout& better);
    void endFindLayouts();
    void offerLayouts(const std::shared_ptr<const Stone>& stone, const JointResult& found,
                      const QString& currency);

    // main_window_compare.cpp
    std::vector<int> layoutsToCompare() const;
    void compareLayouts(bool chart);
    void endComparing();

    // main_window_bench.cpp
    void makeBench();
    void showWorkingOrder();
    void makeSheet(const std::function<void(std::shared_ptr<const PlanSheet>)>& then);
    void showSheet();
    void writeShown(const std::function<void()>& write, const std::filesystem::path& path);

    // main_window_fit.cpp
    void largestHere();
    void settleHere();
    void findTheBest();
    void showBestSoFar(const Placement& placement);
    void takeFound(const Placement& found);
    static int searchThreads();
    void endSearch();

    // main_window_find.cpp
    void findWithFreeProportions();
    void proveABound();
    void weighClarity();
    void priceDefects();
    void keepFindings(const std::shared_ptr<const Prepared>& prepared, const PlannedStone& planned,
                      std::vector<Placement> placements);
    void displayFindings();
    void choosePlacement(int index);
    void putFindingsAway();

    Document document_;
    Keeper keeper_{document_, draftsFolder()};
    Workshop workshop_;
    Appraiser appraiser_;
    LayoutWeights layoutWeights_;
    struct LayoutSketch {
        std::shared_ptr<const Stone> stone;
        Layout layout;
        render::Theme theme = render::Theme::Light;
        QImage picture;
    };
    std::vector<LayoutSketch> layoutSketches_;
    // The rough of the small pictures, drawn once.
    struct LayoutGround {
        std::shared_ptr<const Stone> stone;
        render::Theme theme = render::Theme::Light;
        double ratio = 1.0;
        std::optional<Sketch> sketch;
    };
    std::optional<LayoutGround> layoutGround_;
    LayoutsStrip* layoutsStrip_ = nullptr;
    DividingPanel* dividing_ = nullptr;
    QDockWidget* dividingDock_ = nullptr;
    LayoutWish layoutWish_;                    // as asked last
    std::shared_ptr<const Stone> foundStone_;  // that layouts were found for last
    std::vector<JointLayout> foundLayouts_;
    std::optional<JointLayout> bestLayoutSoFar_;  // of the search under way
    QPointer<CompareWindow> compareWindow_;
    bool comparing_ = false;  // its figures are on their way
    int chosenSaw_ = -1;
    std::optional<SawDrag> sawDrag_;
    QString appraisedState_;  // of the request under way; another for another stone or layout
    std::shared_ptr<const Stone> appraisedStone_;
    PlannedStone appraisedPlanned_;
    int appraisedStates_ = 0;
    QPointer<Job> job_;

    Stage* stage_ = nullptr;
    CutPanel* cutPanel_ = nullptr;
    ResultPanel* resultPanel_ = nullptr;
    QScrollArea* cutScroll_ = nullptr;
    QSplitter* columns_ = nullptr;

    std::shared_ptr<const Figures> figures_;
    std::shared_ptr<const Shaped> drawn_;
    bool finishedDrawn_ = false;
    bool handling_ = false;       // the cut is being dragged
    bool preparingTold_ = false;  // the hint line shows how far the preparation is
    int gesture_ = 0;
    QString steppedField_;
    QElapsedTimer sinceStep_;
    int chosenLimit_ = -1;
    int chosenDefect_ = -1;
    std::optional<OpenPlane> openPlane_;     // while a section is open
    std::vector<Eigen::Vector3d> measured_;  // points picked for measuring
    std::optional<DefectDrag> defectDrag_;
    QPointer<DefectDialog> defectDialog_;
    QPointer<AxesDialog> axesDialog_;
    QPointer<FacetDialog> facetDialog_;
    QPointer<WorkDialog> workDialog_;

    // What searches have found out about one cut in one stone.
    struct Findings {
        std::shared_ptr<const Prepared> prepared;
        PlannedStone planned;               // its placement does not count
        std::vector<Placement> placements;  // largest first
        std::optional<Bound> bound;
        bool about(const Document& document) const;
    };
    std::optional<Findings> findings_;
    bool stripDrawn_ = false;
    std::vector<FreeProportion> freeLast_;  // as chosen last
    PlacementsStrip* strip_ = nullptr;

    bool searching_ = false;
    bool keepBest_ = false;
    std::optional<Placement> preview_;

    ThemeChoice themeChoice_ = ThemeChoice::FollowSystem;

    QAction* open_ = nullptr;
    QAction* sample_ = nullptr;
    QAction* addDefects_ = nullptr;
    QAction* addByHand_ = nullptr;
    QAction* changeDefect_ = nullptr;
    QAction* removeDefect_ = nullptr;
    QAction* cluster_ = nullptr;
    QAction* axes_ = nullptr;
    QAction* colour_ = nullptr;
    QAction* save_ = nullptr;
    QAction* saveAs_ = nullptr;
    QAction* export_ = nullptr;
    QAction* approve_ = nullptr;
    QAction* sheet_ = nullptr;
    QAction* picture_ = nullptr;
    QAction* report_ = nullptr;
    QAction* quit_ = nullptr;
    QAction* undo_ = nullptr;
    QAction* redo_ = nullptr;
    QAction* history_ = nullptr;
    AppraisalPanel* appraisalPanel_ = nullptr;
    QDockWidget* appraisalDock_ = nullptr;
    QAction* appraisal_ = nullptr;
    QAction* facets_ = nullptr;
    QAction* largest_ = nullptr;
    QAction* settle_ = nullptr;
    QAction* best_ = nullptr;
    QAction* freeBest_ = nullptr;
    QAction* prove_ = nullptr;
    QAction* clarity_ = nullptr;
    QAction* price_ = nullptr;
    QList<QAction*> views_;
    QAction* frame_ = nullptr;
    QAction* showRough_ = nullptr;
    QAction* showDefects_ = nullptr;
    QAction* section_ = nullptr;
    QAction* newLayout_ = nullptr;
    QAction* copyLayout_ = nullptr;
    QAction* renameLayout_ = nullptr;
    QAction* removeLayout_ = nullptr;
    QAction* showDividing_ = nullptr;
    QAction* addSaw_ = nullptr;
    QAction* removeSaw_ = nullptr;
    QAction* addStone_ = nullptr;
    QAction* removeStone_ = nullptr;
    QAction* secondStone_ = nullptr;
    QAction* findLayouts_ = nullptr;
    QAction* sideBySide_ = nullptr;
    QAction* marks_ = nullptr;
    QAction* chart_ = nullptr;
    QAction* workingOrder_ = nullptr;
    QAction* thirdDecimal_ = nullptr;
    QAction* keys_ = nullptr;
    QActionGroup* themes_ = nullptr;
    QMenu* nudgeMenu_ = nullptr;
};

}  // namespace macle::app
