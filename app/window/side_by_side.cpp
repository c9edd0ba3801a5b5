#include "app/window/side_by_side.h"

#include <QCheckBox>
#include <QComboBox>
#include <QEvent>
#include <QHBoxLayout>
#include <QLabel>
#include <QSlider>
#include <QSplitter>
#include <QStackedWidget>
#include <QToolButton>
#include <QVBoxLayout>
#include <algorithm>

namespace macle::app {
namespace {

constexpr int kDepthSteps = 200;

enum class Across { View, X, Y, Z };

}  // namespace

SideBySide::SideBySide(QWidget* parent) : QWidget(parent) {
    setObjectName("sideBySide");
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(0, 0, 0, 0);
    stack_ = new QStackedWidget;
    column->addWidget(stack_);
    auto* empty = new QLabel(tr(
        "Choose at least two layouts to see them side by side.\nUp to four stand here at once."));
    empty->setObjectName("sideEmpty");
    empty->setAlignment(Qt::AlignCenter);
    empty->setWordWrap(true);
    stack_->addWidget(empty);
    auto* page = new QWidget;
    auto* rows = new QVBoxLayout(page);
    rows->setContentsMargins(0, 0, 0, 0);
    rows->setSpacing(0);
    rows->addWidget(makeControls());
    auto* split = new QSplitter(Qt::Vertical);
    split->setChildrenCollapsible(false);
    auto* beside = new QWidget;
    auto* panes = new QHBoxLayout(beside);
    panes->setContentsMargins(0, 0, 0, 0);
    panes->setSpacing(2);
    for (int k = 0; k < kMost; ++k) {
        auto* pane = new SidePane;
        panes->addWidget(pane, 1);
        panes_.push_back(pane);
        connect(pane, &SidePane::asked, this, [this, k] { Q_EMIT layoutChosen(k); });
    }
    table_ = new DifferenceTable;
    split->addWidget(beside);
    split->addWidget(table_);
    split->setStretchFactor(0, 3);
    split->setStretchFactor(1, 2);
    rows->addWidget(split, 1);
    stack_->addWidget(page);
    connect(table_, &DifferenceTable::baseChanged, this, &SideBySide::baseChanged);
    applyTheme();
}

SideBySide::~SideBySide() {
    link_.setViews({});
}

QWidget* SideBySide::makeControls() {
    auto* bar = new QWidget;
    auto* row = new QHBoxLayout(bar);
    row->setContentsMargins(8, 4, 8, 4);
    together_ = new QCheckBox(tr("Turn &together"));
    together_->setObjectName("sideTogether");
    together_->setToolTip(tr("What turns or moves one view does so to all"));
    together_->setChecked(true);
    row->addWidget(together_);
    row->addSpacing(12);
    row->addWidget(new QLabel(tr("From")));
    const std::pair<QString, render::ViewFrom> views[] = {
        {tr("Table"), render::ViewFrom::Table},
        {tr("Side"), render::ViewFrom::Side},
        {tr("End"), render::ViewFrom::End},
        {tr("Culet"), render::ViewFrom::Culet},
        {tr("Oblique"), render::ViewFrom::Oblique}};
    for (const auto& [name, from] : views) {
        auto* button = new QToolButton;
        button->setText(name);
        button->setAutoRaise(true);
        button->setFocusPolicy(Qt::TabFocus);
        button->setObjectName("sideFrom" + name);
        button->setToolTip(
            tr("Look along the first stone of the view used last; of each view, "
               "where they do not turn together"));
        connect(button, &QToolButton::clicked, this, [this, from = from] { look(from); });
        row->addWidget(button);
    }
    row->addStretch(1);
    section_ = new QCheckBox(tr("&Section"));
    section_->setObjectName("sideSection");
    across_ = new QComboBox;
    across_->setObjectName("sideAcross");
    across_->setAccessibleName(tr("Direction of the section"));
    across_->addItem(tr("facing the view"), static_cast<int>(Across::View));
    across_->addItem(tr("across x"), static_cast<int>(Across::X));
    across_->addItem(tr("across y"), static_cast<int>(Across::Y));
    across_->addItem(tr("across z"), static_cast<int>(Across::Z));
    depth_ = new QSlider(Qt::Horizontal);
    depth_->setObjectName("sideDepth");
    depth_->setAccessibleName(tr("Depth of the section"));
    depth_->setRange(-kDepthSteps, kDepthSteps);
    depth_->setPageStep(kDepthSteps / 10);
    depth_->setMinimumWidth(120);
    for (QWidget* one : {static_cast<QWidget*>(across_), static_cast<QWidget*>(depth_)})
        one->setEnabled(false);
    row->addWidget(section_);
    row->addWidget(across_);
    row->addWidget(depth_);
    connect(together_, &QCheckBox::toggled, &link_, &CameraLink::setLinked);
    connect(section_, &QCheckBox::toggled, this, [this](bool on) {
        across_->setEnabled(on);
        depth_->setEnabled(on);
        applySection();
    });
    connect(across_, &QComboBox::currentIndexChanged, this, &SideBySide::applySection);
    connect(depth_, &QSlider::valueChanged, this, &SideBySide::applySection);
    return bar;
}

void SideBySide::display(std::shared_ptr<const Stone> stone, const std::vector<SideLayout>& sides) {
    const bool fresh = stone_ != stone;
    stone_ = std::move(stone);
    shown_ = stone_ && sides.size() >= kFewest ? std::min<std::size_t>(sides.size(), kMost) : 0;
    names_.clear();
    std::vector<StoneView*> views;
    for (std::size_t k = 0; k < panes_.size(); ++k) {
        panes_[k]->setVisible(k < shown_);
        if (k >= shown_) {
            panes_[k]->view()->scene().clearStone();
            continue;
        }
        names_.push_back(QString::fromStdString(sides[k].layout.name));
        panes_[k]->display(*stone_, sides[k]);
        views.push_back(panes_[k]->view());
    }
    link_.setViews(views);
    table_->display(names_, {});
    stack_->setCurrentIndex(shown_ > 0 ? 1 : 0);
    if (shown_ == 0) return;
    if (fresh) look(render::ViewFrom::Oblique);
    if (fresh) panes_.front()->view()->frame();
    link_.setLinked(together_->isChecked());
    applySection();
}

void SideBySide::displayFigures(const std::vector<ShownRow>& rows) {
    table_->display(names_, rows);
}

void SideBySide::displayComparison(const Comparison& comparison) {
    displayFigures(shownRows(comparison));
    table_->setBase(static_cast<int>(comparison.base));
}

void SideBySide::setBeingComputed(const QString& what) {
    table_->setBeingComputed(what);
}

void SideBySide::look(render::ViewFrom from) {
    if (link_.leader() == nullptr) return;
    if (link_.linked()) {
        link_.leader()->look(from);
        return;
    }
    for (std::size_t k = 0; k < shown_; ++k)
        panes_[k]->view()->look(from);
}

void SideBySide::applySection() {
    if (shown_ == 0 || link_.leader() == nullptr) return;
    Eigen::Vector3d normal = Eigen::Vector3d::Zero();
    double offset_mm = 0.0;
    if (section_->isChecked()) {
        // The side that is taken away is the one in front of the viewer.
        const Eigen::Vector3d towards = -link_.leader()->sight().ahead;
        const auto across = static_cast<Across>(across_->currentData().toInt());
        normal =
            across == Across::View ? towards : Eigen::Vector3d::Unit(static_cast<int>(across) - 1);
        if (normal.dot(towards) < 0.0) normal = -normal;
        const Box box = bounds(stone_->rough.mesh);
        const double depth = static_cast<double>(depth_->value()) / kDepthSteps;
        offset_mm = normal.dot(box.centre()) - depth * 0.5 * normal.cwiseAbs().dot(box.extent());
    }
    for (std::size_t k = 0; k < shown_; ++k) {
        panes_[k]->view()->scene().setSection(normal, offset_mm);
        panes_[k]->view()->refresh();
    }
}

void SideBySide::applyTheme() {
    const QPalette& colours = palette();
    const bool dark = colours.color(QPalette::Window).lightness() <
                      colours.color(QPalette::WindowText).lightness();
    for (SidePane* pane : panes_)
        pane->setTheme(dark ? render::Theme::Dark : render::Theme::Light);
}

void SideBySide::changeEvent(QEvent* event) {
    QWidget::changeEvent(event);
    if (event->type() == QEvent::PaletteChange) applyTheme();
}

}  // namespace macle::app
