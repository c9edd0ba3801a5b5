// StoneView: the stage. Draws a render::Scene in the window and turns pointer and keys into
// movements of the camera or of the cut. It decides nothing: movements of the cut are reported and
// take place when setPlacement comes back.
//
//   left button on the cut      turn it; with Shift move it in the view plane; with Ctrl spin it
//   left button on a defect or saw that may be moved   moves it (what that means is the owner's)
//   left button elsewhere, or right button anywhere   turn the view; middle button: shift the view
//   left button with Alt        picks the point under the pointer
//   wheel                       nearer or farther; with Ctrl: size of the cut
//
// Thread contract: GUI thread. Needs QApplication with AA_ShareOpenGLContexts and the surface
// format of surfaceFormat() set as default before it was made.
#pragma once

#include <QElapsedTimer>
#include <QImage>
#include <QOpenGLWidget>
#include <QSurfaceFormat>
#include <QTimer>
#include <functional>
#include <memory>
#include <optional>

#include "app/window/hand.h"
#include "render/scene.h"

class vtkGenericOpenGLRenderWindow;

namespace macle::app {

enum class Handling { Turn, Move, Spin, Size };

enum class Nudge {
    MoveLeft,
    MoveRight,
    MoveUp,
    MoveDown,
    MoveNearer,
    MoveFarther,
    TurnLeft,
    TurnRight,
    TurnUp,
    TurnDown,
    SpinForward,
    SpinBack,
    Larger,
    Smaller
};

class StoneView : public QOpenGLWidget {
    Q_OBJECT
  public:
    explicit StoneView(QWidget* parent = nullptr);
    ~StoneView() override;

    static QSurfaceFormat surfaceFormat();

    render::Scene& scene() { return scene_; }
    // After a change of the scene. Where a frame at rest takes long, a quick one comes first.
    void refresh();
    // True when the frame shown, or the next one, is the one at rest.
    bool resting() const { return quality_ == render::Quality::Rest; }

    void setDesign(const Design& design, const std::vector<ConvexSolid>& solids);
    void setPlacement(const Placement& placement);
    void removeDesign();
    bool hasDesign() const { return design_.has_value(); }
    // Off while a search shows its own placements.
    void setCutMovable(bool movable);

    // Tells whether a press along this line of sight takes hold of something other than the cut: a
    // defect or a saw.
    void setGripFinder(std::function<bool(const Ray&)> finder) { finder_ = std::move(finder); }
    // Ends such a drag without a word.
    void letGripGo();

    void look(render::ViewFrom from);
    void frame();
    void setTurning(bool turning);  // the camera circles slowly

    void nudge(Nudge nudge, bool coarse);

    Sight sight() const;
    // Pixel position of a point of the stone frame; for hints and tests.
    QPointF onScreen(const Eigen::Vector3d& point_mm) const;

    // What the stage shows, at rest quality, in any size.
    QImage picture(int width_px, int height_px);

    int paints() const { return paints_; }

  Q_SIGNALS:
    // `fresh`: begins a new step of the history.
    void cutHandled(const macle::Placement& placement, macle::app::Handling kind, bool fresh);
    void handlingEnded();
    void grasped(const macle::app::Ray& ray);
    void dragged(const macle::app::Ray& ray);
    void dropped();
    void picked(const Eigen::Vector3d& origin_mm, const Eigen::Vector3d& direction);
    void hintChanged(const QString& hint);

  protected:
    void initializeGL() override;
    void paintGL() override;
    void mousePressEvent(QMouseEvent* event) override;
    void mouseMoveEvent(QMouseEvent* event) override;
    void mouseReleaseEvent(QMouseEvent* event) override;
    void mouseDoubleClickEvent(QMouseEvent* event) override;
    void wheelEvent(QWheelEvent* event) override;
    void leaveEvent(QEvent* event) override;
    void focusInEvent(QFocusEvent* event) override;
    void focusOutEvent(QFocusEvent* event) override;

  private:
    enum class Grip { None, Camera, Shift, Cut, Other };
    void releaseGl();
    void renderAt(int width_px, int height_px, double pixelRatio);
    bool overCut(const QPointF& position) const;
    bool overOther(const QPointF& position) const;
    void orbit(double dx_px, double dy_px);
    void shiftView(double dx_px, double dy_px);
    void zoom(double steps);
    void report(const Placement& placement, Handling kind, bool continued);
    void setQuality(render::Quality quality);
    void beginDrag();
    void restSoon();
    void rest();
    void updateHover(const QPointF& position);

    render::Scene scene_;
    vtkSmartPointer<vtkGenericOpenGLRenderWindow> window_;
    std::optional<Design> design_;
    Placement placement_;
    bool movable_ = true;
    std::function<bool(const Ray&)> finder_;

    Grip grip_ = Grip::None;
    Handling handling_ = Handling::Turn;
    bool gripFresh_ = false;
    bool frameDue_ = false;  // once the size of the view is known
    QPointF last_;
    bool handled_ = false;  // handlingEnded is owed
    Handling lastNudge_ = Handling::Turn;
    QElapsedTimer sinceNudge_;
    QTimer restTimer_;
    QTimer turnTimer_;
    int paints_ = 0;
    render::Quality quality_ = render::Quality::Rest;
    qint64 restCost_ms_ = 0;  // of the latest frame at rest
    qint64 turnCost_ms_ = 0;
};

}  // namespace macle::app
