// The commands of the window, their keys and menus.
#include <QAction>
#include <QActionGroup>
#include <QDialog>
#include <QDialogButtonBox>
#include <QMenu>
#include <QMenuBar>
#include <QTextBrowser>
#include <QVBoxLayout>

#include "app/window/main_window.h"

namespace macle::app {
namespace {

struct NudgeCommand {
    Nudge nudge;
    const char* text;
    int key;
    Qt::KeyboardModifiers modifiers;
};

constexpr NudgeCommand kNudges[] = {
    {Nudge::MoveLeft, QT_TR_NOOP("Move left"), Qt::Key_Left, Qt::NoModifier},
    {Nudge::MoveRight, QT_TR_NOOP("Move right"), Qt::Key_Right, Qt::NoModifier},
    {Nudge::MoveUp, QT_TR_NOOP("Move up"), Qt::Key_Up, Qt::NoModifier},
    {Nudge::MoveDown, QT_TR_NOOP("Move down"), Qt::Key_Down, Qt::NoModifier},
    {Nudge::MoveNearer, QT_TR_NOOP("Move nearer"), Qt::Key_PageUp, Qt::NoModifier},
    {Nudge::MoveFarther, QT_TR_NOOP("Move farther"), Qt::Key_PageDown, Qt::NoModifier},
    {Nudge::TurnLeft, QT_TR_NOOP("Turn left"), Qt::Key_Left, Qt::ControlModifier},
    {Nudge::TurnRight, QT_TR_NOOP("Turn right"), Qt::Key_Right, Qt::ControlModifier},
    {Nudge::TurnUp, QT_TR_NOOP("Turn up"), Qt::Key_Up, Qt::ControlModifier},
    {Nudge::TurnDown, QT_TR_NOOP("Turn down"), Qt::Key_Down, Qt::ControlModifier},
    {Nudge::SpinForward, QT_TR_NOOP("Spin forward"), Qt::Key_Home, Qt::NoModifier},
    {Nudge::SpinBack, QT_TR_NOOP("Spin back"), Qt::Key_End, Qt::NoModifier},
    {Nudge::Larger, QT_TR_NOOP("Larger"), Qt::Key_PageUp, Qt::ControlModifier},
    {Nudge::Smaller, QT_TR_NOOP("Smaller"), Qt::Key_PageDown, Qt::ControlModifier},
};

QKeySequence keysOf(const NudgeCommand& command, Qt::KeyboardModifiers more) {
    return QKeySequence(
        QKeyCombination(command.modifiers | more, static_cast<Qt::Key>(command.key)));
}

QString plainText(const QAction* action) {
    QString text = action->text();
    return text.remove(QLatin1Char('&'));
}

}  // namespace

QAction* MainWindow::addCommand(const char* name, const QString& text, const QKeySequence& keys,
                                const QString& tip) {
    auto* action = new QAction(text, this);
    action->setObjectName(name);
    action->setShortcut(keys);
    const QString shown = keys.isEmpty() ? tip
                                         : QStringLiteral("%1 (%2)").arg(
                                               tip, keys.toString(QKeySequence::NativeText));
    action->setToolTip(shown);
    action->setStatusTip(tip);
    addAction(action);
    return action;
}

void MainWindow::makeActions() {
    open_ = addCommand("open", tr("&Open stone…"), QKeySequence::Open,
                       tr("Open a scan (STL, PLY, OBJ) or a stone file"));
    sample_ = addCommand("sample", tr("Open the sa&mple stone"), {},
                         tr("Open a demonstration stone that is made by computation"));
    addDefects_ = addCommand("addDefects", tr("Add &defects…"), QKeySequence("Ctrl+D"),
                             tr("Add defects from a mesh, a defect list or a scanned volume"));
    addByHand_ = addCommand("addByHand", tr("Add a defect by &hand…"), QKeySequence("Ctrl+Shift+N"),
                            tr("Place an ellipsoid or a sheet, on a section or by numbers"));
    changeDefect_ = addCommand("changeDefect", tr("&Change defect…"), QKeySequence("Ctrl+Shift+M"),
                               tr("Move, size or rename the defect chosen in the list"));
    removeDefect_ = addCommand("removeDefect", tr("&Remove defect"), QKeySequence("Ctrl+Del"),
                               tr("Remove the defect chosen in the list"));
    cluster_ = addCommand("cluster", tr("C&lusters…"), QKeySequence("Ctrl+Shift+G"),
                          tr("Gather defects into clusters by distance and one by one"));
    axes_ = addCommand("axes", tr("Crystal a&xes…"), QKeySequence("Ctrl+Shift+A"),
                       tr("From natural faces or typed; how the table lies in the crystal"));
    colour_ = addCommand("colour", tr("Co&lour and fluorescence…"), QKeySequence("Ctrl+Shift+L"),
                         tr("As seen in the rough; an input of the appraisal"));
    save_ = addCommand("save", tr("&Save"), QKeySequence::Save, tr("Save the stone file"));
    saveAs_ = addCommand("saveAs", tr("Save &as…"), QKeySequence("Ctrl+Shift+S"),
                         tr("Save the stone file under another name"));
    export_ = addCommand("exportFinished", tr("&Export finished mesh…"), QKeySequence("Ctrl+E"),
                         tr("Write the finished stone as STL, PLY or OBJ, in mm"));
    approve_ = addCommand("approve", tr("Appro&ve the layout…"), QKeySequence("Ctrl+Return"),
                          tr("Freeze the layout as approved, and see the approvals so far"));
    sheet_ = addCommand("planSheet", tr("&Plan sheet…"), QKeySequence("Ctrl+P"),
                        tr("The sheet for the bench page by page; write it as PDF, CSV or JSON"));
    marks_ = addCommand("marks", tr("&Marks on the skin…"), QKeySequence("Ctrl+Shift+U"),
                        tr("Write the lines of reference face and saws as DXF or SVG"));
    picture_ = addCommand("picture", tr("Pic&ture…"), QKeySequence("Ctrl+Shift+P"),
                          tr("Write what the stage shows as PNG"));
    report_ = addCommand("report", tr("Stone &report…"), QKeySequence("Ctrl+R"),
                         tr("What the scan held, what was repaired, and the weigh-in"));
    quit_ = addCommand("quit", tr("&Quit"), QKeySequence("Ctrl+Q"), tr("Close the window"));

    undo_ = document_.history()->createUndoAction(this, tr("&Undo"));
    undo_->setShortcut(QKeySequence::Undo);
    undo_->setObjectName("undo");
    redo_ = document_.history()->createRedoAction(this, tr("&Redo"));
    redo_->setShortcuts({QKeySequence("Ctrl+Shift+Z"), QKeySequence("Ctrl+Y")});
    redo_->setObjectName("redo");
    history_ = addCommand("history", tr("&History…"), QKeySequence("Ctrl+Shift+H"),
                          tr("The edits by name; go back or forth to any of them"));

    facets_ = addCommand("facets", tr("Change fa&cets…"), QKeySequence("Ctrl+Shift+K"),
                         tr("Tilt, turn, shift, add or remove facets of this cut"));
    largest_ = addCommand("largestHere", tr("&Largest here"), QKeySequence("Ctrl+L"),
                          tr("Size the cut to the largest that fits at this place and turn"));
    settle_ = addCommand("settle", tr("&Settle"), QKeySequence("Ctrl+T"),
                         tr("Move and turn the cut to the best place near this one"));
    best_ = addCommand("findBest", tr("&Find the best"), QKeySequence("Ctrl+F"),
                       tr("Search the whole stone for the heaviest placement of this cut"));

    freeBest_ = addCommand("findFree", tr("Find the best with free &proportions…"),
                           QKeySequence("Ctrl+Shift+F"),
                           tr("Search for the heaviest stone with some proportions free"));
    prove_ = addCommand("prove", tr("Prove a &bound"), QKeySequence("Ctrl+B"),
                        tr("Prove how heavy any placement of this cut could be at most"));
    clarity_ = addCommand("clarity", tr("&Weight against clarity…"), QKeySequence("Ctrl+Shift+C"),
                          tr("How the weight grows as more defects may stay"));
    price_ = addCommand("price", tr("What &defects cost here…"), QKeySequence("Ctrl+Shift+E"),
                        tr("What permitting each defect that stops the cut would bring"));

    newLayout_ = addCommand("newLayout", tr("&New layout"), QKeySequence("Ctrl+N"),
                            tr("Begin another layout with the present cut and no saw"));
    copyLayout_ = addCommand("copyLayout", tr("&Copy of this layout"), QKeySequence("Ctrl+J"),
                             tr("Begin another layout from the one shown"));
    renameLayout_ = addCommand("renameLayout", tr("&Rename layout…"), QKeySequence("Ctrl+F2"),
                               tr("Give the layout shown another name"));
    removeLayout_ = addCommand("removeLayout", tr("Remove layout"), {},
                               tr("Remove the layout shown; undo brings it back"));
    showDividing_ = addCommand("dividing", tr("&Dividing"), QKeySequence("Ctrl+Shift+I"),
                               tr("Stones, pieces and saws of this layout"));
    addSaw_ = addCommand("addSawCommand", tr("Add a &saw"), QKeySequence("Ctrl+K"),
                         tr("Through the piece of the chosen stone, above its table"));
    removeSaw_ = addCommand("removeSawCommand", tr("Remove the last sa&w"), {},
                            tr("Later pieces hang on earlier saws, so the last one goes first"));
    addStone_ = addCommand("addStoneCommand", tr("&Add a stone"), QKeySequence("Ctrl+M"),
                           tr("A further stone, in the largest piece that gives none yet"));
    removeStone_ = addCommand("removeStoneCommand", tr("Re&move the stone"), {},
                              tr("Remove the chosen stone from the layout; its piece stays"));
    secondStone_ = addCommand("secondStone", tr("Find a second s&tone"), QKeySequence("Ctrl+G"),
                              tr("Where to saw beside this stone for the heaviest second one"));

    findLayouts_ = addCommand("findLayouts", tr("&Find layouts of several stones…"),
                              QKeySequence("Ctrl+Shift+B"),
                              tr("Search for the best ways of dividing the rough"));
    sideBySide_ = addCommand("sideBySide", tr("S&ide by side…"), QKeySequence("Ctrl+Shift+Y"),
                             tr("Two to four layouts with one camera, and their differences"));
    chart_ = addCommand("chart", tr("C&hart of layouts…"), QKeySequence("Ctrl+Shift+J"),
                        tr("All layouts and what the last search found, by their figures"));
    workingOrder_ =
        addCommand("workingOrder", tr("W&orking order…"), QKeySequence("Ctrl+Shift+O"),
                   tr("The stone after each step of the work, with every angle and depth"));

    struct View {
        const char* name;
        QString text;
        QString tip;
        render::ViewFrom from;
    };
    const View viewList[] = {
        {"viewTable", tr("Table"), tr("Look onto the table"), render::ViewFrom::Table},
        {"viewCulet", tr("Culet"), tr("Look onto the culet"), render::ViewFrom::Culet},
        {"viewSide", tr("Side"), tr("Look from the side, along the width"), render::ViewFrom::Side},
        {"viewEnd", tr("End"), tr("Look from the end, along the length"), render::ViewFrom::End},
        {"viewOblique", tr("Oblique"), tr("Look from above at a slant"), render::ViewFrom::Oblique},
    };
    int number = 0;
    for (const View& view : viewList) {
        QAction* action = addCommand(
            view.name, view.text, QKeySequence(QStringLiteral("Ctrl+%1").arg(++number)), view.tip);
        connect(action, &QAction::triggered, this,
                [this, from = view.from] { stage_->view()->look(from); });
        views_.append(action);
    }
    frame_ = addCommand("frame", tr("Show &all"), QKeySequence("Ctrl+0"),
                        tr("Bring the whole stone into view"));
    showRough_ = addCommand("showRough", tr("&Rough"), QKeySequence("Ctrl+Shift+R"),
                            tr("Show or hide the rough"));
    showDefects_ = addCommand("showDefects", tr("&Defects"), QKeySequence("Ctrl+Shift+D"),
                              tr("Show or hide the defects"));
    appraisal_ = addCommand("appraisal", tr("&Appraisal"), QKeySequence("Ctrl+Shift+V"),
                            tr("Light, colour, clarity, value, time and grain of this layout"));
    section_ = addCommand("section", tr("&Section"), QKeySequence("Ctrl+Shift+X"),
                          tr("Cut the picture open along a plane"));
    thirdDecimal_ =
        addCommand("thirdDecimal", tr("Weights to 0.001 &ct"), QKeySequence("Ctrl+Shift+W"),
                   tr("Show weights with three decimals"));
    for (QAction* action :
         {appraisal_, showDividing_, showRough_, showDefects_, section_, thirdDecimal_})
        action->setCheckable(true);
    showRough_->setChecked(true);
    showDefects_->setChecked(true);
    keys_ = addCommand("keys", tr("&Keys and mouse"), QKeySequence::HelpContents,
                       tr("Every key and every movement of the mouse"));

    themes_ = new QActionGroup(this);
    const std::pair<ThemeChoice, QString> choices[] = {
        {ThemeChoice::FollowSystem, tr("As the &desktop")},
        {ThemeChoice::Light, tr("&Light")},
        {ThemeChoice::Dark, tr("Da&rk")}};
    const char* names[] = {"themeSystem", "themeLight", "themeDark"};
    int index = 0;
    for (const auto& [choice, text] : choices) {
        QAction* action = addCommand(names[index++], text, {}, tr("Look of the window"));
        action->setCheckable(true);
        action->setData(static_cast<int>(choice));
        themes_->addAction(action);
        connect(action, &QAction::triggered, this, [this, c = choice] { setThemeChoice(c); });
    }
}

void MainWindow::makeNudges(QMenu* menu) {
    for (const NudgeCommand& command : kNudges) {
        auto* fine = new QAction(tr(command.text), this);
        fine->setShortcut(keysOf(command, Qt::NoModifier));
        auto* coarse = new QAction(tr("%1, ten times").arg(tr(command.text)), this);
        coarse->setShortcut(keysOf(command, Qt::ShiftModifier));
        for (QAction* action : {fine, coarse}) {
            // Only while the stage has the keyboard: lists and fields need the same keys.
            action->setShortcutContext(Qt::WidgetShortcut);
            stage_->view()->addAction(action);
        }
        connect(fine, &QAction::triggered, this,
                [this, n = command.nudge] { stage_->view()->nudge(n, false); });
        connect(coarse, &QAction::triggered, this,
                [this, n = command.nudge] { stage_->view()->nudge(n, true); });
        menu->addAction(fine);
    }
}

void MainWindow::makeMenus() {
    QMenu* stone = menuBar()->addMenu(tr("&Stone"));
    stone->addActions({open_, sample_});
    stone->addSeparator();
    stone->addActions({axes_, colour_});
    stone->addSeparator();
    stone->addActions({save_, saveAs_});
    stone->addSeparator();
    stone->addActions({report_, approve_, sheet_, marks_, picture_, export_});
    stone->addSeparator();
    stone->addAction(quit_);

    QMenu* change = menuBar()->addMenu(tr("&Edit"));
    change->addActions({undo_, redo_, history_});

    QMenu* defects = menuBar()->addMenu(tr("&Defects"));
    defects->addActions({addDefects_, addByHand_});
    defects->addSeparator();
    defects->addActions({changeDefect_, removeDefect_});
    defects->addSeparator();
    defects->addAction(cluster_);

    QMenu* cut = menuBar()->addMenu(tr("&Cut"));
    cut->addAction(facets_);
    cut->addSeparator();
    cut->addActions({largest_, settle_, best_, freeBest_});
    cut->addSeparator();
    cut->addActions({prove_, clarity_, price_});
    cut->addSeparator();
    nudgeMenu_ = cut->addMenu(tr("&Nudge (with Shift ten times)"));
    makeNudges(nudgeMenu_);

    QMenu* layout = menuBar()->addMenu(tr("&Layout"));
    layout->addActions({newLayout_, copyLayout_, renameLayout_, removeLayout_});
    layout->addSeparator();
    layout->addActions({findLayouts_, sideBySide_, chart_});
    layout->addSeparator();
    layout->addActions({addStone_, removeStone_, secondStone_});
    layout->addSeparator();
    layout->addActions({addSaw_, removeSaw_});
    layout->addSeparator();
    layout->addAction(showDividing_);
    layout->addSeparator();
    layout->addAction(workingOrder_);

    QMenu* look = menuBar()->addMenu(tr("&View"));
    look->addActions(views_);
    look->addAction(frame_);
    look->addSeparator();
    look->addActions({showRough_, showDefects_, section_});
    look->addSeparator();
    look->addAction(appraisal_);
    look->addAction(thirdDecimal_);
    QMenu* theme = look->addMenu(tr("&Appearance"));
    theme->addActions(themes_->actions());

    QMenu* help = menuBar()->addMenu(tr("&Help"));
    help->addAction(keys_);
}

void MainWindow::showKeys() {
    QString rows;
    const auto heading = [&rows](const QString& text) {
        rows +=
            QStringLiteral("<tr><td colspan=2><br><b>%1</b></td></tr>").arg(text.toHtmlEscaped());
    };
    const auto row = [&rows](const QString& what, const QString& how) {
        rows += QStringLiteral("<tr><td>%1&nbsp;&nbsp;&nbsp;</td><td>%2</td></tr>")
                    .arg(what.toHtmlEscaped(), how.toHtmlEscaped());
    };
    heading(tr("Mouse on the stage"));
    row(tr("Turn the cut"), tr("drag on the cut"));
    row(tr("Move the cut"), tr("Shift + drag on the cut"));
    row(tr("Spin the cut about its axis"), tr("Ctrl + drag on the cut"));
    row(tr("Size the cut"), tr("Ctrl + wheel"));
    row(tr("Move a defect in the open section, or the chosen one facing the view"),
        tr("drag on it"));
    row(tr("Move a saw plane, while Dividing is shown"), tr("drag on it"));
    row(tr("Turn the view"), tr("drag beside the cut, or right drag anywhere"));
    row(tr("Shift the view"), tr("middle drag, or Shift + drag beside the cut"));
    row(tr("Pick a point: measure, or place what a dialog asks for"), tr("Alt + click"));
    row(tr("Nearer, farther"), tr("wheel"));
    row(tr("Show all"), tr("double click beside the cut"));
    heading(tr("Keys anywhere"));
    for (const QAction* action : actions())
        if (!action->shortcut().isEmpty())
            row(plainText(action), action->shortcut().toString(QKeySequence::NativeText));
    for (const QAction* action : {undo_, redo_})
        row(action == undo_ ? tr("Undo") : tr("Redo"),
            action->shortcut().toString(QKeySequence::NativeText));
    row(tr("Cancel the running job or a drag of a defect, or clear what was measured"), tr("Esc"));
    heading(tr("Keys while the stage has the keyboard (with Shift ten times)"));
    for (const QAction* action : nudgeMenu_->actions())
        row(plainText(action), action->shortcut().toString(QKeySequence::NativeText));

    auto* dialog = new QDialog(this);
    dialog->setObjectName("keysDialog");
    dialog->setAttribute(Qt::WA_DeleteOnClose);
    dialog->setWindowTitle(tr("Keys and mouse"));
    dialog->resize(520, 620);
    auto* column = new QVBoxLayout(dialog);
    auto* text = new QTextBrowser;
    text->setHtml(QStringLiteral("<table>%1</table>").arg(rows));
    column->addWidget(text);
    auto* buttons = new QDialogButtonBox(QDialogButtonBox::Close);
    connect(buttons, &QDialogButtonBox::rejected, dialog, &QDialog::reject);
    column->addWidget(buttons);
    dialog->open();
}

}  // namespace macle::app
