#include "app/window/side_pane.h"

#include <QHBoxLayout>
#include <QKeyEvent>
#include <QLabel>
#include <QLocale>
#include <QPushButton>
#include <QVBoxLayout>

#include "app/window/camera_link.h"
#include "app/window/theme.h"

namespace macle::app {
namespace {

constexpr double kStep_deg = 5.0;
constexpr double kZoomStep = 1.15;

}  // namespace

SideLayout readySide(const Stone& stone, const RoughCutter& cutter, const Layout& layout,
                     const QString& state, std::optional<double> weight_ct, Progress* progress) {
    SideLayout side{layout, state, weight_ct, {}, {}};
    for (const PlannedStone& planned : layout.stones) {
        if (progress) progress->throwIfCancelled();
        side.solids.emplace_back();
        for (const ConvexPart& part : designOf(planned).parts)
            side.solids.back().push_back(makeSolid(part));
    }
    if (!layout.saws.empty())
        side.saws = render::sawOutlines(stone.rough.mesh, layout.saws,
                                        divide(stone.rough, cutter, layout.saws, progress));
    return side;
}

SidePane::SidePane(QWidget* parent) : QWidget(parent) {
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(0, 0, 0, 0);
    column->setSpacing(2);
    auto* head = new QHBoxLayout;
    head->setContentsMargins(8, 4, 8, 2);
    auto* words = new QVBoxLayout;
    words->setSpacing(0);
    name_ = new QLabel;
    name_->setObjectName("sideName");
    name_->setTextFormat(Qt::PlainText);
    QFont bold = name_->font();
    bold.setBold(true);
    name_->setFont(bold);
    facts_ = new QLabel;
    facts_->setObjectName("sideFacts");
    for (QLabel* label : {name_, facts_}) {
        label->setMinimumWidth(60);  // a long name is cut off rather than pushing the others away
        words->addWidget(label);
    }
    choose_ = new QPushButton(tr("Work on it"));
    choose_->setObjectName("sideChoose");
    choose_->setToolTip(tr("Make this the layout that is worked on"));
    head->addLayout(words, 1);
    head->addWidget(choose_);
    column->addLayout(head);
    view_ = new StoneView;
    view_->setCutMovable(false);
    view_->setAccessibleDescription(
        tr("The rough with this layout's saws and stones; arrow keys turn it"));
    view_->installEventFilter(this);
    column->addWidget(view_, 1);
    connect(choose_, &QPushButton::clicked, this, &SidePane::asked);
}

void SidePane::display(const Stone& stone, const SideLayout& side) {
    const Layout& layout = side.layout;
    const QString name = QString::fromStdString(layout.name);
    name_->setText(name);
    name_->setToolTip(name);
    const QString weight =
        side.weight_ct ? locale().toString(*side.weight_ct, 'f', 2) + QChar(QChar::Nbsp) + tr("ct")
                       : tr("weight not known yet");
    const int stones = static_cast<int>(layout.stones.size());
    facts_->setText(
        tr("%1   ·   %2   ·   %3")
            .arg(side.state, weight, stones == 1 ? tr("1 stone") : tr("%1 stones").arg(stones)));
    facts_->setToolTip(facts_->text());
    choose_->setAccessibleName(tr("Work on %1").arg(name));
    view_->setAccessibleName(tr("View of %1").arg(name));
    render::Scene& scene = view_->scene();
    scene.setStone(stone);
    scene.setDesign(side.solids.empty() ? std::vector<ConvexSolid>{} : side.solids.front());
    scene.setPlacement(layout.main().placement);
    std::vector<render::OtherStone> others;
    for (std::size_t k = 1; k < side.solids.size(); ++k)
        others.push_back({side.solids[k], layout.stones[k].placement});
    scene.setOtherStones(others);
    scene.setSaws(side.saws);
    view_->refresh();
}

void SidePane::setTheme(render::Theme theme) {
    colourText(facts_, quietText());
    view_->scene().setTheme(theme);
    view_->refresh();
}

bool SidePane::eventFilter(QObject* watched, QEvent* event) {
    if (watched != view_ || event->type() != QEvent::KeyPress)
        return QWidget::eventFilter(watched, event);
    switch (static_cast<QKeyEvent*>(event)->key()) {
        case Qt::Key_Left:
            turnView(*view_, -kStep_deg, 0.0);
            return true;
        case Qt::Key_Right:
            turnView(*view_, kStep_deg, 0.0);
            return true;
        case Qt::Key_Up:
            turnView(*view_, 0.0, kStep_deg);
            return true;
        case Qt::Key_Down:
            turnView(*view_, 0.0, -kStep_deg);
            return true;
        case Qt::Key_Plus:
            zoomView(*view_, kZoomStep);
            return true;
        case Qt::Key_Minus:
            zoomView(*view_, 1.0 / kZoomStep);
            return true;
        case Qt::Key_Home:
            view_->frame();
            return true;
        case Qt::Key_Return:
        case Qt::Key_Enter:
            Q_EMIT asked();
            return true;
        default:
            return QWidget::eventFilter(watched, event);
    }
}

}  // namespace macle::app
