#include "app/window/candidate_chart.h"

#include <QComboBox>
#include <QHBoxLayout>
#include <QLabel>
#include <QSignalBlocker>
#include <QVBoxLayout>
#include <algorithm>

#include "app/window/theme.h"

namespace macle::app {
namespace {

QComboBox* choice(QBoxLayout* row, const QString& label, const char* name, const QString& tip) {
    auto* caption = new QLabel(label);
    auto* box = new QComboBox;
    box->setObjectName(name);
    box->setAccessibleName(QString(label).remove(QLatin1Char('&')));
    box->setToolTip(tip);
    caption->setBuddy(box);
    row->addWidget(caption);
    row->addWidget(box);
    return box;
}

void fill(QComboBox* box, const std::vector<ShownFigure>& figures, int otherwise) {
    const QString before = box->currentText();
    const QSignalBlocker quiet(box);
    box->clear();
    for (const ShownFigure& figure : figures)
        box->addItem(figure.title);
    const int kept = box->findText(before);
    box->setCurrentIndex(kept >= 0 ? kept : std::min(otherwise, box->count() - 1));
}

}  // namespace

CandidateChart::CandidateChart(QWidget* parent) : QWidget(parent) {
    setObjectName("candidateChart");
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(0, 0, 0, 0);
    column->setSpacing(4);
    auto* head = new QHBoxLayout;
    head->setContentsMargins(6, 4, 6, 0);
    form_ = choice(head, tr("&Show"), "chartForm", tr("How the candidates are drawn"));
    form_->addItem(tr("points of two figures"));
    form_->addItem(tr("lines across all figures"));
    axes_ = new QWidget;
    auto* row = new QHBoxLayout(axes_);
    row->setContentsMargins(8, 0, 0, 0);
    x_ = choice(row, tr("a&cross"), "chartAcross", tr("The figure from left to right"));
    y_ = choice(row, tr("&up"), "chartUp", tr("The figure from below to above"));
    head->addWidget(axes_);
    head->addStretch(1);
    busy_ = new QLabel;
    busy_->setObjectName("chartBusy");
    busy_->hide();
    head->addWidget(busy_);
    column->addLayout(head);
    plot_ = new CandidatePlot;
    column->addWidget(plot_, 1);
    auto* caption = new QLabel(
        tr("■ layouts   ○ found by a search   ·   better is up and to the right   ·   planning "
           "estimates"));
    caption->setObjectName("chartCaption");
    caption->setWordWrap(true);
    caption->setContentsMargins(6, 0, 6, 4);
    column->addWidget(caption);
    connect(form_, &QComboBox::currentIndexChanged, this,
            [this](int index) { setForm(index == 0 ? ChartForm::Points : ChartForm::Lines); });
    connect(x_, &QComboBox::currentIndexChanged, this, &CandidateChart::applyAxes);
    connect(y_, &QComboBox::currentIndexChanged, this, &CandidateChart::applyAxes);
    connect(plot_, &CandidatePlot::chosenByHand, this, &CandidateChart::candidateChosen);
    connect(plot_, &CandidatePlot::asked, this, &CandidateChart::candidateAsked);
}

void CandidateChart::display(const std::vector<ShownFigure>& figures,
                             const std::vector<ChartCandidate>& candidates, int chosen) {
    plot_->display(figures, candidates);
    fill(x_, figures, 0);
    fill(y_, figures, 1);
    applyAxes();
    setChosen(chosen);
}

void CandidateChart::setChosen(int candidate) {
    plot_->setChosen(candidate);
}

void CandidateChart::setForm(ChartForm form) {
    const QSignalBlocker quiet(form_);
    form_->setCurrentIndex(form == ChartForm::Points ? 0 : 1);
    axes_->setVisible(form == ChartForm::Points);
    plot_->setForm(form);
}

void CandidateChart::setBeingComputed(const QString& what) {
    busy_->setText(what);
    busy_->setVisible(!what.isEmpty());
}

void CandidateChart::applyAxes() {
    plot_->setAxes(x_->currentIndex(), y_->currentIndex());
}

}  // namespace macle::app
