#include "app/window/stone_view.h"

#include <vtkCallbackCommand.h>
#include <vtkCamera.h>
#include <vtkGenericOpenGLRenderWindow.h>
#include <vtkNew.h>
#include <vtkOpenGLState.h>
#include <vtkRenderer.h>
#include <vtkUnsignedCharArray.h>

#include <QMouseEvent>
#include <QOpenGLContext>
#include <QOpenGLFunctions>
#include <QWheelEvent>
#include <algorithm>
#include <cmath>

#include "core/base/units.h"

namespace macle::app {
namespace {

constexpr double kNudge_mm = 0.01;
constexpr double kNudge_deg = 0.5;
constexpr double kCoarse = 10.0;
constexpr double kSizeStep = 1.01;       // per wheel step
constexpr double kZoomStep = 1.15;       // per wheel step
constexpr int kNudgeTogether_ms = 1000;  // nudges nearer in time are undone together
constexpr int kRestAfter_ms = 250;
constexpr int kFluent_ms = 40;  // a frame that takes longer is felt
constexpr int kTurnEvery_ms = 50;
constexpr double kTurnSpeed_deg_s = 18.0;

Eigen::Vector3d vec(const double* p) {
    return {p[0], p[1], p[2]};
}

}  // namespace

QSurfaceFormat StoneView::surfaceFormat() {
    QSurfaceFormat format;
    format.setRenderableType(QSurfaceFormat::OpenGL);
    format.setVersion(3, 2);
    format.setProfile(QSurfaceFormat::CoreProfile);
    format.setDepthBufferSize(24);
    format.setStencilBufferSize(8);
    // Depth peeling loses translucent surfaces with multisampling on some drivers.
    format.setSamples(0);
    format.setSwapBehavior(QSurfaceFormat::DoubleBuffer);
    return format;
}

StoneView::StoneView(QWidget* parent)
    : QOpenGLWidget(parent), window_(vtkSmartPointer<vtkGenericOpenGLRenderWindow>::New()) {
    setFocusPolicy(Qt::StrongFocus);
    setMouseTracking(true);
    setMinimumSize(240, 200);
    setAccessibleName(tr("Stage"));
    setAccessibleDescription(tr("The rough stone with the cut inside it, in three dimensions"));
    window_->SetReadyForRendering(false);
    window_->SetMultiSamples(0);
    window_->SetFrameBlitModeToNoBlit();
    window_->AddRenderer(scene_.renderer());

    vtkNew<vtkCallbackCommand> callback;
    callback->SetClientData(this);
    callback->SetCallback([](vtkObject*, unsigned long event, void* self, void* answer) {
        auto* view = static_cast<StoneView*>(self);
        const bool current =
            view->context() != nullptr && QOpenGLContext::currentContext() == view->context();
        switch (event) {
            case vtkCommand::WindowMakeCurrentEvent:
                // Making it current again would bind the widget's framebuffer in the middle of a
                // frame that VTK draws into its own.
                if (!current && view->isValid()) view->makeCurrent();
                break;
            case vtkCommand::WindowIsCurrentEvent:
                *static_cast<bool*>(answer) = current;
                break;
            case vtkCommand::WindowSupportsOpenGLEvent:
                *static_cast<int*>(answer) = 1;
                break;
            case vtkCommand::WindowIsDirectEvent:
                *static_cast<int*>(answer) = 1;
                break;
            default:
                break;
        }
    });
    for (const auto event :
         {vtkCommand::WindowMakeCurrentEvent, vtkCommand::WindowIsCurrentEvent,
          vtkCommand::WindowSupportsOpenGLEvent, vtkCommand::WindowIsDirectEvent})
        window_->AddObserver(event, callback);

    restTimer_.setSingleShot(true);
    restTimer_.setInterval(kRestAfter_ms);
    connect(&restTimer_, &QTimer::timeout, this, &StoneView::rest);
    turnTimer_.setInterval(kTurnEvery_ms);
    connect(&turnTimer_, &QTimer::timeout, this, [this] {
        if (grip_ != Grip::None || !isVisible()) return;
        // Drawing takes no more than a third of the time, so that a search is not held up by it.
        const int every = std::max(kTurnEvery_ms, static_cast<int>(3 * turnCost_ms_));
        turnTimer_.setInterval(every);
        scene_.renderer()->GetActiveCamera()->Azimuth(kTurnSpeed_deg_s * every / 1000.0);
        scene_.renderer()->ResetCameraClippingRange();
        update();
    });
}

StoneView::~StoneView() {
    if (context() != nullptr) disconnect(context(), nullptr, this, nullptr);
    releaseGl();
}

void StoneView::releaseGl() {
    if (!window_->GetReadyForRendering()) return;
    makeCurrent();
    window_->Finalize();
    window_->SetReadyForRendering(false);
    doneCurrent();
}

void StoneView::initializeGL() {
    // Another context comes with docking or a change of screen; what the old one held must go
    // while it is still current.
    connect(context(), &QOpenGLContext::aboutToBeDestroyed, this, &StoneView::releaseGl,
            Qt::UniqueConnection);
    window_->SetForceMaximumHardwareLineWidth(1);
    window_->SetReadyForRendering(true);
    window_->SetOwnContext(0);
    window_->OpenGLInit();
}

void StoneView::renderAt(int width_px, int height_px, double pixelRatio) {
    window_->SetDPI(static_cast<int>(std::lround(72.0 * pixelRatio)));
    window_->SetSize(width_px, height_px);
    window_->SetScreenSize(width_px, height_px);
    window_->Render();
}

void StoneView::paintGL() {
    ++paints_;
    QElapsedTimer cost;
    cost.start();
    const double ratio = devicePixelRatioF();
    const int w = std::max(1, static_cast<int>(std::lround(width() * ratio)));
    const int h = std::max(1, static_cast<int>(std::lround(height() * ratio)));
    vtkOpenGLState* state = window_->GetState();
    state->Reset();
    state->Push();
    if (frameDue_) {
        frameDue_ = false;
        window_->SetSize(w, h);
        scene_.frame();
    }
    renderAt(w, h, ratio);
    QOpenGLFunctions* gl = context()->functions();
    gl->glBindFramebuffer(GL_DRAW_FRAMEBUFFER, defaultFramebufferObject());
    gl->glDisable(GL_SCISSOR_TEST);
    window_->BlitDisplayFramebuffer(0, 0, 0, w, h, 0, 0, w, h, GL_COLOR_BUFFER_BIT, GL_NEAREST);
    // The window would show through where the frame of VTK has no opacity.
    gl->glColorMask(GL_FALSE, GL_FALSE, GL_FALSE, GL_TRUE);
    gl->glClearColor(0.0F, 0.0F, 0.0F, 1.0F);
    gl->glClear(GL_COLOR_BUFFER_BIT);
    gl->glColorMask(GL_TRUE, GL_TRUE, GL_TRUE, GL_TRUE);
    state->Pop();
    gl->glBindFramebuffer(GL_FRAMEBUFFER, defaultFramebufferObject());
    (quality_ == render::Quality::Rest ? restCost_ms_ : turnCost_ms_) = cost.elapsed();
}

QImage StoneView::picture(int width_px, int height_px) {
    QImage image(width_px, height_px, QImage::Format_RGBA8888);
    image.fill(Qt::white);
    if (!isValid()) return image;
    makeCurrent();
    setQuality(render::Quality::Rest);
    window_->GetState()->Reset();
    renderAt(width_px, height_px, static_cast<double>(height_px) / std::max(1, height()));
    vtkNew<vtkUnsignedCharArray> pixels;
    if (window_->GetRGBACharPixelData(0, 0, width_px - 1, height_px - 1, 0, pixels) != VTK_ERROR) {
        for (int row = 0; row < height_px; ++row) {
            const unsigned char* from = pixels->GetPointer(4LL * width_px * (height_px - 1 - row));
            std::copy(from, from + 4LL * width_px, image.scanLine(row));
        }
    }
    doneCurrent();
    update();
    // Opacity of the frame means nothing; convertTo would multiply by it.
    image.reinterpretAsFormat(QImage::Format_RGBX8888);
    for (int row = 0; row < height_px; ++row)
        for (int x = 0; x < width_px; ++x)
            image.scanLine(row)[4 * x + 3] = 255;
    return image;
}

void StoneView::refresh() {
    if (restCost_ms_ > kFluent_ms && !turnTimer_.isActive()) {
        setQuality(render::Quality::Drag);
        restSoon();
    }
    update();
}

void StoneView::setQuality(render::Quality quality) {
    quality_ = quality;
    scene_.setQuality(quality);
}

void StoneView::setDesign(const Design& design, const std::vector<ConvexSolid>& solids) {
    design_ = design;
    scene_.setDesign(solids);
    scene_.setPlacement(placement_);
    scene_.setDesignVisible(true);
    refresh();
}

void StoneView::setPlacement(const Placement& placement) {
    placement_ = placement;
    scene_.setPlacement(placement);
    refresh();
}

void StoneView::removeDesign() {
    design_.reset();
    scene_.setDesignVisible(false);
    refresh();
}

void StoneView::setCutMovable(bool movable) {
    movable_ = movable;
    if (!movable && (grip_ == Grip::Cut || grip_ == Grip::Other)) grip_ = Grip::None;
}

void StoneView::look(render::ViewFrom from) {
    scene_.look(from);
    scene_.renderer()->ResetCameraClippingRange();
    refresh();
}

void StoneView::frame() {
    frameDue_ = true;
    refresh();
}

void StoneView::setTurning(bool turning) {
    if (turning) {
        restTimer_.stop();
        setQuality(render::Quality::Drag);
        turnTimer_.start();
    } else if (turnTimer_.isActive()) {
        turnTimer_.stop();
        rest();
    }
}

Sight StoneView::sight() const {
    vtkCamera* camera = scene_.renderer()->GetActiveCamera();
    Sight sight;
    sight.eye_mm = vec(camera->GetPosition());
    sight.ahead = vec(camera->GetDirectionOfProjection()).normalized();
    sight.right = sight.ahead.cross(vec(camera->GetViewUp())).normalized();
    sight.up = sight.right.cross(sight.ahead);
    sight.parallel = camera->GetParallelProjection() != 0;
    sight.halfHeight = sight.parallel ? camera->GetParallelScale()
                                      : std::tan(radians(0.5 * camera->GetViewAngle()));
    sight.width_px = std::max(1, width());
    sight.height_px = std::max(1, height());
    return sight;
}

QPointF StoneView::onScreen(const Eigen::Vector3d& point_mm) const {
    const Sight s = sight();
    const double scale = millimetresPerPixel(s, point_mm);
    const Eigen::Vector3d offset = point_mm - s.eye_mm;
    return {0.5 * s.width_px + offset.dot(s.right) / scale,
            0.5 * s.height_px - offset.dot(s.up) / scale};
}

bool StoneView::overCut(const QPointF& position) const {
    return movable_ && design_ &&
           meets(rayThrough(sight(), position.x(), position.y()), *design_, placement_);
}

bool StoneView::overOther(const QPointF& position) const {
    return movable_ && finder_ && finder_(rayThrough(sight(), position.x(), position.y()));
}

void StoneView::letGripGo() {
    if (grip_ != Grip::Other) return;
    grip_ = Grip::None;
    unsetCursor();
    rest();
}

void StoneView::mousePressEvent(QMouseEvent* event) {
    last_ = event->position();
    if (event->button() == Qt::LeftButton && (event->modifiers() & Qt::AltModifier)) {
        const Ray ray = rayThrough(sight(), last_.x(), last_.y());
        Q_EMIT picked(ray.origin_mm, ray.direction);
        event->accept();
        return;
    }
    gripFresh_ = true;
    if (event->button() == Qt::LeftButton && event->modifiers() == Qt::NoModifier &&
        overOther(last_)) {
        grip_ = Grip::Other;
        setCursor(Qt::ClosedHandCursor);
        Q_EMIT grasped(rayThrough(sight(), last_.x(), last_.y()));
    } else if (event->button() == Qt::LeftButton && overCut(last_)) {
        grip_ = Grip::Cut;
        handling_ = event->modifiers() & Qt::ShiftModifier     ? Handling::Move
                    : event->modifiers() & Qt::ControlModifier ? Handling::Spin
                                                               : Handling::Turn;
        setCursor(Qt::ClosedHandCursor);
    } else if (event->button() == Qt::MiddleButton ||
               (event->button() == Qt::LeftButton && (event->modifiers() & Qt::ShiftModifier))) {
        grip_ = Grip::Shift;
        setCursor(Qt::SizeAllCursor);
    } else if (event->button() == Qt::LeftButton || event->button() == Qt::RightButton) {
        grip_ = Grip::Camera;
    }
    event->accept();
}

void StoneView::mouseMoveEvent(QMouseEvent* event) {
    const QPointF delta = event->position() - last_;
    if (grip_ == Grip::None) {
        updateHover(event->position());
        return;
    }
    if (delta.isNull()) return;
    last_ = event->position();
    beginDrag();
    if (grip_ == Grip::Camera) orbit(delta.x(), delta.y());
    if (grip_ == Grip::Shift) shiftView(delta.x(), delta.y());
    if (grip_ == Grip::Other) Q_EMIT dragged(rayThrough(sight(), last_.x(), last_.y()));
    if (grip_ == Grip::Cut) {
        const bool continued = !gripFresh_;
        gripFresh_ = false;
        if (handling_ == Handling::Turn)
            report(turned(placement_, sight(), delta.x(), delta.y()), Handling::Turn, continued);
        else if (handling_ == Handling::Move)
            report(moved(placement_, sight(), delta.x(), delta.y()), Handling::Move, continued);
        else
            report(spun(placement_, 360.0 * delta.x() / std::max(1, width())), Handling::Spin,
                   continued);
    }
}

void StoneView::mouseReleaseEvent(QMouseEvent* event) {
    if (event->buttons() != Qt::NoButton) return;
    const bool held = grip_ == Grip::Other;
    grip_ = Grip::None;
    updateHover(event->position());
    rest();
    if (held) Q_EMIT dropped();
}

void StoneView::mouseDoubleClickEvent(QMouseEvent* event) {
    if (event->button() == Qt::LeftButton && !overCut(event->position())) frame();
}

void StoneView::wheelEvent(QWheelEvent* event) {
    const double steps = event->angleDelta().y() / 120.0;
    if (steps == 0.0) return;
    beginDrag();
    if (event->modifiers() & Qt::ControlModifier) {
        if (movable_ && design_)
            report(sized(placement_, placement_.size_mm * std::pow(kSizeStep, steps)),
                   Handling::Size, false);
    } else {
        zoom(steps);
    }
    restSoon();
    event->accept();
}

void StoneView::leaveEvent(QEvent* event) {
    Q_EMIT hintChanged(QString());
    QOpenGLWidget::leaveEvent(event);
}

void StoneView::focusInEvent(QFocusEvent* event) {
    QOpenGLWidget::focusInEvent(event);
    if (parentWidget() != nullptr) parentWidget()->update();
}

void StoneView::focusOutEvent(QFocusEvent* event) {
    QOpenGLWidget::focusOutEvent(event);
    if (parentWidget() != nullptr) parentWidget()->update();
}

void StoneView::nudge(Nudge nudge, bool coarse) {
    if (!movable_ || !design_) return;
    const Sight s = sight();
    const double mm = kNudge_mm * (coarse ? kCoarse : 1.0);
    const double angle = kNudge_deg * (coarse ? kCoarse : 1.0);
    Placement p = placement_;
    Handling kind = Handling::Move;
    switch (nudge) {
        case Nudge::MoveLeft:
            p.translation_mm -= mm * s.right;
            break;
        case Nudge::MoveRight:
            p.translation_mm += mm * s.right;
            break;
        case Nudge::MoveUp:
            p.translation_mm += mm * s.up;
            break;
        case Nudge::MoveDown:
            p.translation_mm -= mm * s.up;
            break;
        case Nudge::MoveNearer:
            p.translation_mm -= mm * s.ahead;
            break;
        case Nudge::MoveFarther:
            p.translation_mm += mm * s.ahead;
            break;
        case Nudge::TurnLeft:
            p = turnedAbout(p, s.up, -angle);
            kind = Handling::Turn;
            break;
        case Nudge::TurnRight:
            p = turnedAbout(p, s.up, angle);
            kind = Handling::Turn;
            break;
        case Nudge::TurnUp:
            p = turnedAbout(p, s.right, -angle);
            kind = Handling::Turn;
            break;
        case Nudge::TurnDown:
            p = turnedAbout(p, s.right, angle);
            kind = Handling::Turn;
            break;
        case Nudge::SpinForward:
            p = spun(p, angle);
            kind = Handling::Spin;
            break;
        case Nudge::SpinBack:
            p = spun(p, -angle);
            kind = Handling::Spin;
            break;
        case Nudge::Larger:
            p = sized(p, p.size_mm + mm);
            kind = Handling::Size;
            break;
        case Nudge::Smaller:
            p = sized(p, p.size_mm - mm);
            kind = Handling::Size;
            break;
    }
    beginDrag();
    report(p, kind, false);
    restSoon();
}

void StoneView::report(const Placement& placement, Handling kind, bool continued) {
    bool fresh = !continued;
    if (grip_ != Grip::Cut) {
        fresh = !sinceNudge_.isValid() || sinceNudge_.elapsed() > kNudgeTogether_ms ||
                lastNudge_ != kind;
        lastNudge_ = kind;
        sinceNudge_.start();
    } else {
        sinceNudge_.invalidate();
    }
    handled_ = true;
    Q_EMIT cutHandled(placement, kind, fresh);
}

void StoneView::beginDrag() {
    restTimer_.stop();
    setQuality(render::Quality::Drag);
}

void StoneView::restSoon() {
    if (grip_ == Grip::None) restTimer_.start();
}

void StoneView::rest() {
    restTimer_.stop();
    if (turnTimer_.isActive()) return;
    setQuality(render::Quality::Rest);
    update();
    if (handled_) {
        handled_ = false;
        Q_EMIT handlingEnded();
    }
}

void StoneView::updateHover(const QPointF& position) {
    if (overOther(position)) {
        setCursor(Qt::OpenHandCursor);
        Q_EMIT hintChanged(tr("Drag: move the defect   ·   Right drag: turn the view"));
    } else if (overCut(position)) {
        setCursor(Qt::OpenHandCursor);
        Q_EMIT hintChanged(
            tr("Drag: turn the cut   ·   Shift+drag: move it   ·   Ctrl+drag: spin it   ·   "
               "Ctrl+wheel: size   ·   Right drag: turn the view"));
    } else {
        unsetCursor();
        Q_EMIT hintChanged(QString());
    }
}

void StoneView::orbit(double dx_px, double dy_px) {
    vtkCamera* camera = scene_.renderer()->GetActiveCamera();
    const double across = std::max(1, std::min(width(), height()));
    camera->Azimuth(-180.0 * dx_px / across);
    camera->Elevation(180.0 * dy_px / across);
    camera->OrthogonalizeViewUp();
    scene_.renderer()->ResetCameraClippingRange();
    update();
}

void StoneView::shiftView(double dx_px, double dy_px) {
    vtkCamera* camera = scene_.renderer()->GetActiveCamera();
    const Sight s = sight();
    const Eigen::Vector3d focus = vec(camera->GetFocalPoint());
    const double scale = millimetresPerPixel(s, focus);
    const Eigen::Vector3d shift = scale * (-dx_px * s.right + dy_px * s.up);
    const Eigen::Vector3d f = focus + shift;
    const Eigen::Vector3d e = s.eye_mm + shift;
    camera->SetFocalPoint(f.x(), f.y(), f.z());
    camera->SetPosition(e.x(), e.y(), e.z());
    scene_.renderer()->ResetCameraClippingRange();
    update();
}

void StoneView::zoom(double steps) {
    vtkCamera* camera = scene_.renderer()->GetActiveCamera();
    const double factor = std::pow(kZoomStep, steps);
    if (camera->GetParallelProjection() != 0)
        camera->SetParallelScale(camera->GetParallelScale() / factor);
    else
        camera->Dolly(factor);
    scene_.renderer()->ResetCameraClippingRange();
    update();
}

}  // namespace macle::app
