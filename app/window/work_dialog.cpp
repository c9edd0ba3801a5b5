#include "app/window/work_dialog.h"

#include <QDialogButtonBox>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QLabel>
#include <QLocale>
#include <QSlider>
#include <QSplitter>
#include <QTableWidget>
#include <QVBoxLayout>
#include <algorithm>

#include "app/window/theme.h"

namespace macle::app {
namespace {

QTableWidgetItem* cell(const QString& text, bool number) {
    auto* item = new QTableWidgetItem(text);
    item->setToolTip(text);
    item->setTextAlignment((number ? Qt::AlignRight : Qt::AlignLeft) | Qt::AlignVCenter);
    return item;
}

QTableWidget* table(const char* name, const QString& spoken, const QStringList& columns) {
    auto* made = new QTableWidget(0, static_cast<int>(columns.size()));
    made->setObjectName(name);
    made->setAccessibleName(spoken);
    made->setHorizontalHeaderLabels(columns);
    made->verticalHeader()->hide();
    made->setSelectionBehavior(QAbstractItemView::SelectRows);
    made->setSelectionMode(QAbstractItemView::SingleSelection);
    made->setEditTriggers(QAbstractItemView::NoEditTriggers);
    made->setTabKeyNavigation(false);
    made->horizontalHeader()->setStretchLastSection(true);
    return made;
}

TriangleMesh together(const std::vector<TriangleMesh>& meshes) {
    TriangleMesh all;
    for (const TriangleMesh& mesh : meshes) {
        const auto first = static_cast<std::uint32_t>(all.vertices.size());
        all.vertices.insert(all.vertices.end(), mesh.vertices.begin(), mesh.vertices.end());
        for (auto triangle : mesh.triangles) {
            for (auto& corner : triangle)
                corner += first;
            all.triangles.push_back(triangle);
        }
    }
    return all;
}

}  // namespace

WorkDialog::WorkDialog(std::shared_ptr<const Stone> stone, Layout layout,
                       std::shared_ptr<const WorkingOrder> order, render::Theme theme,
                       QWidget* parent)
    : SteadyDialog(parent),
      stone_(std::move(stone)),
      layout_(std::move(layout)),
      order_(std::move(order)) {
    setObjectName("workDialog");
    setWindowTitle(tr("Working order of %1").arg(QString::fromStdString(layout_.name)));
    resize(1180, 760);
    auto* column = new QVBoxLayout(this);
    auto* sides = new QSplitter(Qt::Horizontal);
    sides->setChildrenCollapsible(false);
    sides->addWidget(makeStage());
    sides->addWidget(makeSteps());
    sides->setSizes({520, 660});
    column->addWidget(sides, 1);
    estimates_ = new QLabel(
        tr("Minutes are planning estimates by the shop's rates. The order is common practice: the "
           "bench may know better. Local codes and licensed practice come first."));
    estimates_->setWordWrap(true);
    column->addWidget(estimates_);
    auto* buttons = new QDialogButtonBox(QDialogButtonBox::Close);
    connect(buttons, &QDialogButtonBox::rejected, this, &QDialog::close);
    column->addWidget(buttons);
    setTheme(theme);
    slider_->setFocus();
    showStep(-1);
}

QWidget* WorkDialog::makeStage() {
    auto* box = new QWidget;
    auto* column = new QVBoxLayout(box);
    column->setContentsMargins(0, 0, 0, 0);
    title_ = new QLabel;
    title_->setObjectName("workTitle");
    QFont font = title_->font();
    font.setWeight(QFont::DemiBold);
    title_->setFont(font);
    column->addWidget(title_);
    view_ = new StoneView;
    view_->setObjectName("workView");
    view_->setMinimumSize(320, 320);
    view_->setCutMovable(false);
    column->addWidget(view_, 1);
    slider_ = new QSlider(Qt::Horizontal);
    slider_->setObjectName("workSlider");
    slider_->setAccessibleName(tr("Step of the work"));
    slider_->setRange(-1, static_cast<int>(order_->steps.size()) - 1);
    slider_->setPageStep(1);
    slider_->setTickPosition(QSlider::TicksBelow);
    slider_->setTickInterval(1);
    connect(slider_, &QSlider::valueChanged, this, &WorkDialog::showStep);
    column->addWidget(slider_);
    return box;
}

QWidget* WorkDialog::makeSteps() {
    auto* box = new QWidget;
    auto* column = new QVBoxLayout(box);
    column->setContentsMargins(0, 0, 0, 0);
    const QLocale& l = locale();
    steps_ = table("workSteps", tr("Steps of the work"),
                   {tr("Step"), tr("Stone"), tr("Removed"), tr("Left"), tr("Minutes"), tr("Work")});
    const auto weight = [&](double ct) { return tr("%1\u00a0ct").arg(l.toString(ct, 'f', 3)); };
    steps_->setRowCount(static_cast<int>(order_->steps.size()));
    for (int row = 0; row < steps_->rowCount(); ++row) {
        const BenchStep& step = order_->steps[static_cast<std::size_t>(row)];
        const QString texts[] = {QString::number(step.number),
                                 step.stone < 0 ? QString() : QString::number(step.stone + 1),
                                 weight(step.removed_ct),
                                 weight(step.left_ct),
                                 step.minutes ? l.toString(*step.minutes, 'f', 0) : tr("–"),
                                 QString::fromStdString(step.title)};
        for (int c = 0; c < 6; ++c)
            steps_->setItem(row, c, cell(texts[c], c > 1 && c < 5));
    }
    steps_->resizeColumnsToContents();
    connect(steps_, &QTableWidget::currentCellChanged, this, [this](int row) {
        if (row >= 0) showStep(row);
    });
    column->addWidget(steps_, 2);
    what_ = new QLabel;
    what_->setObjectName("workWhat");
    what_->setWordWrap(true);
    what_->setTextInteractionFlags(Qt::TextSelectableByMouse);
    column->addWidget(what_);
    facets_ =
        table("workFacets", tr("Facets of the step"),
              {tr("Facet"), tr("Angle"), tr("Azimuth"), tr("Depth"), tr("Easy at"), tr("Grain")});
    column->addWidget(facets_, 2);
    cautions_ = new QLabel;
    cautions_->setObjectName("workCautions");
    cautions_->setWordWrap(true);
    column->addWidget(cautions_);
    return box;
}

void WorkDialog::showStep(int step) {
    const int last = static_cast<int>(order_->steps.size()) - 1;
    step = std::clamp(step, -1, last);
    if (step == step_) return;
    step_ = step;
    slider_->setValue(step);
    const QLocale& l = locale();
    if (step < 0) {
        steps_->setCurrentCell(-1, -1);
        steps_->clearSelection();
        title_->setText(
            tr("The rough before the work, %1\u00a0ct").arg(l.toString(order_->rough_ct, 'f', 3)));
        what_->setText(
            order_->minutes
                ? tr("%1 steps, about %2 minutes. Dust and kerfs take %3\u00a0ct, pieces left over "
                     "%4\u00a0ct; %5\u00a0ct are finished stones.")
                      .arg(order_->steps.size())
                      .arg(l.toString(*order_->minutes, 'f', 0),
                           l.toString(order_->kerf_ct + order_->offPieces_ct, 'f', 3),
                           l.toString(order_->leftOver_ct, 'f', 3),
                           l.toString(order_->finished_ct, 'f', 3))
                : QString::fromStdString(order_->minutesMissing));
        facets_->setRowCount(0);
        cautions_->setText(QString::fromStdString(order_->grainMissing));
        showBody(nullptr);
        return;
    }
    const BenchStep& now = order_->steps[static_cast<std::size_t>(step)];
    steps_->setCurrentCell(step, 0);
    title_->setText(tr("After step %1, %2: %3\u00a0ct")
                        .arg(now.number)
                        .arg(QString::fromStdString(now.title), l.toString(now.left_ct, 'f', 3)));
    QString what = QString::fromStdString(now.what);
    if (!now.defectsOff.empty()) {
        QStringList names;
        for (const std::string& name : now.defectsOff)
            names << QString::fromStdString(name);
        what += tr("\nDefects gone with it: %1").arg(names.join(", "));
    }
    what_->setText(what);
    showFacets(now);
    QStringList cautions;
    for (const std::string& words : now.cautions)
        cautions << QString::fromStdString(words);
    cautions_->setText(cautions.join(QLatin1Char('\n')));
    showBody(&now);
}

void WorkDialog::showFacets(const BenchStep& step) {
    const QLocale& l = locale();
    const auto angle = [&](double deg) { return tr("%1°").arg(l.toString(deg, 'f', 2)); };
    facets_->setRowCount(static_cast<int>(step.facets.size()));
    for (int row = 0; row < facets_->rowCount(); ++row) {
        const FacetWork& facet = step.facets[static_cast<std::size_t>(row)];
        QString grain = tr("–");
        if (facet.grain)
            grain = facet.grain->warned
                        ? tr("warning: %1").arg(QString::fromStdString(facet.grain->text))
                        : QString::fromStdString(facet.grain->text);
        const QString texts[] = {QString::fromStdString(facet.facet),
                                 angle(facet.angle_deg),
                                 angle(facet.azimuth_deg),
                                 tr("%1\u00a0mm").arg(l.toString(facet.depth_mm, 'f', 3)),
                                 facet.easy_deg ? angle(*facet.easy_deg) : tr("–"),
                                 grain};
        for (int c = 0; c < 6; ++c)
            facets_->setItem(row, c, cell(texts[c], c > 0 && c < 5));
    }
    facets_->resizeColumnsToContents();
    facets_->setVisible(!step.facets.empty());
}

bool WorkDialog::goneBy(const std::string& defect, const BenchStep* step) const {
    if (step == nullptr) return false;
    for (const BenchStep& earlier : order_->steps) {
        if (earlier.number > step->number) break;
        if (std::find(earlier.defectsOff.begin(), earlier.defectsOff.end(), defect) !=
            earlier.defectsOff.end())
            return true;
    }
    return false;
}

// The body as the rough of the picture, with the planned stones in it.
void WorkDialog::showBody(const BenchStep* step) {
    Stone shown;
    shown.name = stone_->name;
    shown.material = stone_->material;
    for (const Defect& defect : stone_->defects)
        if (!goneBy(defect.name, step)) shown.defects.push_back(defect);
    if (step != nullptr && !step->shapes.empty())
        shown.rough.mesh = together(step->shapes);
    else
        shown.rough.mesh = stone_->rough.mesh;
    render::Scene& scene = view_->scene();
    const bool first = !view_->hasDesign();
    scene.setStone(shown);
    const int at = step == nullptr || step->stone < 0 ? 0 : step->stone;
    const PlannedStone& planned = layout_.stones[static_cast<std::size_t>(at)];
    const Design design = designOf(planned);
    std::vector<ConvexSolid> solids;
    for (const ConvexPart& part : design.parts)
        solids.push_back(makeSolid(part));
    view_->setDesign(design, solids);
    view_->setPlacement(planned.placement);
    if (first) view_->look(render::ViewFrom::Oblique);
    view_->frame();
    view_->refresh();
}

void WorkDialog::setTheme(render::Theme theme) {
    colourText(estimates_, quietText());
    view_->scene().setTheme(theme);
    view_->refresh();
}

}  // namespace macle::app
