// Stage: the middle of the window. Before a stone is open it says how to begin; afterwards it holds
// the view, the row of view controls above it, and below it the hint line and the bar of the
// running job.
// Thread contract: GUI thread.
#pragma once

#include <QWidget>

#include "app/window/job.h"
#include "app/window/section_plane.h"
#include "app/window/stone_view.h"

class QAction;
class QComboBox;
class QLabel;
class QProgressBar;
class QPushButton;
class QSlider;
class QStackedWidget;
class QToolButton;

namespace macle::app {

// What runs across the stone as a section.
enum class SectionAcross { View, TableAxis, StoneX, StoneY, StoneZ, Any };

class Stage : public QWidget {
    Q_OBJECT
  public:
    Stage(const QList<QAction*>& views, const QList<QAction*>& toggles, QAction* section,
          QWidget* parent = nullptr);

    StoneView* view() const { return view_; }

    void setStoneOpen(bool open);
    void setHint(const QString& hint);      // empty: the standing hint
    void setMeasured(const QString& text);  // a line of its own; empty: none
    // Shows the bar of a job until it ends. `keepable`: the best so far may be kept early.
    void showJob(Job* job, bool keepable);
    void hideJob();
    void setJobText(const QString& text);

    void themeChanged();

    void setSectionControls(bool shown);
    SectionAcross sectionAcross() const;
    double sectionDepth() const;         // -1 .. 1
    void setSectionDepth(double depth);  // reports nothing
    SectionPlane* sectionPlane() const { return plane_; }

  Q_SIGNALS:
    void openAsked();
    void sampleAsked();
    void keepAsked();
    void cancelAsked();
    void sectionMoved();
    void sectionTurned();  // which way it faces was chosen anew
    void sectionSlid();    // by the slider

  private:
    QWidget* makeWelcome();
    QWidget* makeControls(const QList<QAction*>& views, const QList<QAction*>& toggles,
                          QAction* section);
    QWidget* makeJobBar();

    StoneView* view_ = nullptr;
    QStackedWidget* stack_ = nullptr;
    QWidget* controls_ = nullptr;
    QWidget* sectionControls_ = nullptr;
    QComboBox* across_ = nullptr;
    QSlider* depth_ = nullptr;
    SectionPlane* plane_ = nullptr;
    QLabel* hint_ = nullptr;
    QLabel* measured_ = nullptr;
    QLabel* welcomeText_ = nullptr;
    QWidget* jobBar_ = nullptr;
    QLabel* jobText_ = nullptr;
    QProgressBar* jobProgress_ = nullptr;
    QPushButton* keep_ = nullptr;
    QPushButton* cancel_ = nullptr;
};

}  // namespace macle::app
