#include "app/window/stage.h"

#include <QAction>
#include <QComboBox>
#include <QFrame>
#include <QHBoxLayout>
#include <QLabel>
#include <QPainter>
#include <QProgressBar>
#include <QPushButton>
#include <QSlider>
#include <QStackedWidget>
#include <QToolButton>
#include <QVBoxLayout>
#include <algorithm>
#include <cmath>

#include "app/window/theme.h"

namespace macle::app {
namespace {

constexpr int kDepthSteps = 200;  // of the section slider, each way

// A rim that shows where the keyboard is.
class FocusRim : public QWidget {
  public:
    explicit FocusRim(QWidget* inner) : inner_(inner) {
        auto* layout = new QVBoxLayout(this);
        layout->setContentsMargins(2, 2, 2, 2);
        layout->addWidget(inner);
    }

  protected:
    void paintEvent(QPaintEvent*) override {
        QPainter painter(this);
        painter.fillRect(rect(),
                         palette().color(inner_->hasFocus() ? QPalette::Highlight : QPalette::Mid));
    }

  private:
    QWidget* inner_;
};

QToolButton* textButton(QAction* action) {
    auto* button = new QToolButton;
    button->setDefaultAction(action);
    button->setToolButtonStyle(Qt::ToolButtonTextOnly);
    button->setFocusPolicy(Qt::TabFocus);
    button->setAutoRaise(true);
    return button;
}

QString jobHint() {
    return Stage::tr("Esc: cancel   ·   Drag to turn the view");
}

QFrame* divider() {
    auto* line = new QFrame;
    line->setFrameShape(QFrame::VLine);
    line->setFrameShadow(QFrame::Sunken);
    return line;
}

}  // namespace

Stage::Stage(const QList<QAction*>& views, const QList<QAction*>& toggles, QAction* section,
             QWidget* parent)
    : QWidget(parent) {
    setObjectName("stage");
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(0, 0, 0, 0);
    column->setSpacing(0);
    view_ = new StoneView;
    view_->setObjectName("stoneView");
    controls_ = makeControls(views, toggles, section);
    column->addWidget(controls_);
    // A row of its own, so that the columns of the window keep their widths.
    column->addWidget(sectionControls_);
    plane_ = new SectionPlane;
    plane_->hide();
    column->addWidget(plane_);
    connect(plane_, &SectionPlane::changed, this, &Stage::sectionMoved);
    connect(plane_, &SectionPlane::hinted, this, &Stage::setHint);
    stack_ = new QStackedWidget;
    stack_->addWidget(makeWelcome());
    stack_->addWidget(new FocusRim(view_));
    column->addWidget(stack_, 1);
    hint_ = new QLabel;
    hint_->setObjectName("hint");
    hint_->setAlignment(Qt::AlignCenter);
    hint_->setContentsMargins(8, 0, 8, 0);
    // Two lines, so that a long hint neither widens the window nor moves the stage.
    hint_->setWordWrap(true);
    hint_->setSizePolicy(QSizePolicy::Ignored, QSizePolicy::Fixed);
    hint_->setFixedHeight(2 * hint_->fontMetrics().lineSpacing() + 6);
    // What was measured stays while hints come and go.
    measured_ = new QLabel;
    measured_->setObjectName("measured");
    measured_->setAlignment(Qt::AlignCenter);
    measured_->setContentsMargins(8, 3, 8, 0);
    measured_->setTextInteractionFlags(Qt::TextSelectableByMouse);
    measured_->setSizePolicy(QSizePolicy::Ignored, QSizePolicy::Fixed);
    measured_->hide();
    column->addWidget(measured_);
    column->addWidget(hint_);
    jobBar_ = makeJobBar();
    column->addWidget(jobBar_);
    connect(view_, &StoneView::hintChanged, this, &Stage::setHint);
    setStoneOpen(false);
    themeChanged();
}

QWidget* Stage::makeWelcome() {
    auto* page = new QWidget;
    page->setObjectName("welcome");
    page->setAutoFillBackground(true);
    page->setBackgroundRole(QPalette::Base);
    auto* column = new QVBoxLayout(page);
    column->addStretch(3);
    auto* title = new QLabel(tr("No stone is open"));
    QFont font = title->font();
    font.setPointSizeF(font.pointSizeF() * 2.0);
    font.setWeight(QFont::DemiBold);
    title->setFont(font);
    title->setAlignment(Qt::AlignCenter);
    column->addWidget(title);
    welcomeText_ = new QLabel(
        tr("Open the scan of a rough (STL, PLY or OBJ, in mm) or a stone file, or drop one here.\n"
           "The sample stone is made by computation and shows the whole job."));
    welcomeText_->setAlignment(Qt::AlignCenter);
    welcomeText_->setWordWrap(true);
    column->addWidget(welcomeText_);
    column->addSpacing(16);
    auto* buttons = new QHBoxLayout;
    buttons->addStretch(1);
    auto* open = new QPushButton(tr("Open a stone"));
    open->setObjectName("welcomeOpen");
    open->setDefault(true);
    auto* sample = new QPushButton(tr("Open the sample stone"));
    sample->setObjectName("welcomeSample");
    for (QPushButton* button : {open, sample}) {
        button->setMinimumSize(190, 40);
        buttons->addWidget(button);
    }
    buttons->addStretch(1);
    column->addLayout(buttons);
    column->addStretch(4);
    connect(open, &QPushButton::clicked, this, &Stage::openAsked);
    connect(sample, &QPushButton::clicked, this, &Stage::sampleAsked);
    return page;
}

QWidget* Stage::makeControls(const QList<QAction*>& views, const QList<QAction*>& toggles,
                             QAction* section) {
    auto* row = new QWidget;
    auto* layout = new QHBoxLayout(row);
    layout->setContentsMargins(6, 3, 6, 3);
    layout->setSpacing(2);
    auto* from = new QLabel(tr("From"));
    from->setContentsMargins(2, 0, 4, 0);
    layout->addWidget(from);
    for (QAction* action : views)
        layout->addWidget(textButton(action));
    layout->addWidget(divider());
    for (QAction* action : toggles)
        layout->addWidget(textButton(action));
    layout->addWidget(divider());
    layout->addWidget(textButton(section));
    sectionControls_ = new QWidget;
    auto* controls = new QHBoxLayout(sectionControls_);
    controls->setContentsMargins(8, 0, 8, 4);
    auto* name = new QLabel(tr("Section"));
    controls->addWidget(name);
    across_ = new QComboBox;
    across_->setObjectName("sectionAcross");
    across_->setAccessibleName(tr("Direction of the section"));
    across_->setToolTip(tr("Which way the section faces"));
    across_->addItem(tr("facing the view"), static_cast<int>(SectionAcross::View));
    across_->addItem(tr("along the table"), static_cast<int>(SectionAcross::TableAxis));
    across_->addItem(tr("across x"), static_cast<int>(SectionAcross::StoneX));
    across_->addItem(tr("across y"), static_cast<int>(SectionAcross::StoneY));
    across_->addItem(tr("across z"), static_cast<int>(SectionAcross::StoneZ));
    across_->addItem(tr("any plane"), static_cast<int>(SectionAcross::Any));
    depth_ = new QSlider(Qt::Horizontal);
    depth_->setObjectName("sectionDepth");
    depth_->setAccessibleName(tr("Depth of the section"));
    depth_->setToolTip(
        tr("How deep the section goes into the stone; the middle runs through its centre"));
    depth_->setRange(-kDepthSteps, kDepthSteps);
    depth_->setPageStep(kDepthSteps / 10);
    depth_->setMinimumWidth(90);
    controls->addWidget(across_);
    controls->addWidget(depth_, 1);
    layout->addStretch(1);
    connect(across_, &QComboBox::currentIndexChanged, this, [this] {
        setSectionControls(!sectionControls_->isHidden());
        Q_EMIT sectionTurned();
    });
    connect(depth_, &QSlider::valueChanged, this, &Stage::sectionSlid);
    name->setBuddy(across_);
    sectionControls_->hide();
    return row;
}

QWidget* Stage::makeJobBar() {
    auto* bar = new QWidget;
    bar->setObjectName("jobBar");
    auto* row = new QHBoxLayout(bar);
    row->setContentsMargins(8, 4, 8, 6);
    jobText_ = new QLabel;
    jobText_->setObjectName("jobText");
    jobProgress_ = new QProgressBar;
    jobProgress_->setObjectName("jobProgress");
    jobProgress_->setRange(0, 1000);
    jobProgress_->setTextVisible(false);
    jobProgress_->setAccessibleName(tr("Progress"));
    jobProgress_->setMaximumHeight(14);
    keep_ = new QPushButton(tr("Stop and keep the best"));
    keep_->setObjectName("keepBest");
    cancel_ = new QPushButton(tr("Cancel"));
    cancel_->setObjectName("cancelJob");
    cancel_->setToolTip(tr("Stop and leave everything as it was (Esc)"));
    row->addWidget(jobText_);
    row->addWidget(jobProgress_, 1);
    row->addWidget(keep_);
    row->addWidget(cancel_);
    connect(keep_, &QPushButton::clicked, this, &Stage::keepAsked);
    connect(cancel_, &QPushButton::clicked, this, &Stage::cancelAsked);
    bar->hide();
    return bar;
}

void Stage::setStoneOpen(bool open) {
    stack_->setCurrentIndex(open ? 1 : 0);
    controls_->setVisible(open);
    if (!open) setSectionControls(false);
    setHint({});
}

void Stage::setMeasured(const QString& text) {
    measured_->setText(text);
    measured_->setVisible(!text.isEmpty());
}

void Stage::setHint(const QString& hint) {
    if (!hint.isEmpty())
        hint_->setText(hint);
    else if (!jobBar_->isHidden())
        hint_->setText(jobHint());
    else if (stack_->currentIndex() == 1)
        hint_->setText(
            tr("Drag the cut to turn it   ·   Drag beside it to turn the view   ·   Arrow "
               "keys move the cut   ·   F1: all keys"));
    else
        hint_->setText(tr("Ctrl+O: open a stone   ·   F1: keys and mouse"));
}

void Stage::showJob(Job* job, bool keepable) {
    jobText_->setText(job->title());
    jobProgress_->setValue(0);
    keep_->setVisible(keepable);
    keep_->setEnabled(false);
    cancel_->setEnabled(true);
    connect(job, &Job::progressed, jobProgress_, [this](double fraction) {
        jobProgress_->setValue(static_cast<int>(fraction * 1000.0));
    });
    jobBar_->show();
    setHint({});
}

void Stage::hideJob() {
    jobBar_->hide();
    // What the job has said at its end stays.
    if (hint_->text() == jobHint()) setHint({});
}

void Stage::setJobText(const QString& text) {
    jobText_->setText(text);
    keep_->setEnabled(true);
}

void Stage::setSectionControls(bool shown) {
    sectionControls_->setVisible(shown);
    const bool any = shown && sectionAcross() == SectionAcross::Any;
    if (!any) plane_->stopPicking();
    plane_->setVisible(any);
}

SectionAcross Stage::sectionAcross() const {
    return static_cast<SectionAcross>(across_->currentData().toInt());
}

void Stage::setSectionDepth(double depth) {
    const QSignalBlocker quiet(depth_);
    depth_->setValue(static_cast<int>(std::lround(std::clamp(depth, -1.0, 1.0) * kDepthSteps)));
}

double Stage::sectionDepth() const {
    return static_cast<double>(depth_->value()) / kDepthSteps;
}

void Stage::themeChanged() {
    for (QLabel* label : {hint_, welcomeText_})
        colourText(label, quietText());
}

}  // namespace macle::app
