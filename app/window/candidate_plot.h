// CandidatePlot: the drawing of a CandidateChart: points of two figures, or a line for each
// candidate across an axis for each figure. What is chosen moves with the arrow keys and by click.
// Thread contract: GUI thread.
#pragma once

#include <QPen>
#include <QWidget>

#include "app/window/chart_scale.h"
#include "app/window/compared.h"

namespace macle::app {

struct ChartCandidate {
    QString name;
    QString note;                    // state or origin, for the tip: "draft", "found by the search"
    bool isLayout = true;            // else found by a search and not kept yet
    std::vector<ShownValue> values;  // one for each figure
};

enum class ChartForm { Points, Lines };

class CandidatePlot : public QWidget {
    Q_OBJECT
  public:
    explicit CandidatePlot(QWidget* parent = nullptr);

    // Throws Error{BadUsage} when a candidate's values are not one for each figure.
    void display(std::vector<ShownFigure> figures, std::vector<ChartCandidate> candidates);
    void setForm(ChartForm form);
    void setAxes(int x, int y);
    void setChosen(int candidate);  // -1: none; reports nothing
    int chosen() const { return chosen_; }
    const std::vector<ShownFigure>& figures() const { return figures_; }
    const std::vector<ChartCandidate>& candidates() const { return candidates_; }

    // Where a candidate is drawn: its point, or its line's corners, one for each axis.
    std::vector<QPointF> spots(int candidate) const;
    // Every text that stands in the drawing, as last painted: for tests of their places.
    const std::vector<QRectF>& labels() const { return labels_; }
    // The candidate under the pointer, or -1.
    int candidateAt(const QPointF& position) const;
    QString tip(int candidate) const;

    QSize sizeHint() const override { return {560, 360}; }
    QSize minimumSizeHint() const override { return {300, 220}; }

  Q_SIGNALS:
    void chosenByHand(int candidate);
    void asked(int candidate);  // Enter or double click

  protected:
    void paintEvent(QPaintEvent* event) override;
    void mousePressEvent(QMouseEvent* event) override;
    void mouseDoubleClickEvent(QMouseEvent* event) override;
    void mouseMoveEvent(QMouseEvent* event) override;
    void keyPressEvent(QKeyEvent* event) override;
    void resizeEvent(QResizeEvent* event) override;
    void changeEvent(QEvent* event) override;
    bool event(QEvent* event) override;

  private:
    struct Axis {
        int figure = 0;
        ChartScale scale;
        bool missing = false;  // some candidate has no value
        bool flipped = false;  // less is drawn higher
    };
    void arrange();
    void arrangePoints();
    void arrangeLines();
    Axis axisOf(int figure, int mostTicks) const;
    QString tickText(const Axis& axis, double tick) const;
    double widestTick(const Axis& axis) const;
    QString axisTitle(int figure) const;
    const ShownValue& valueOf(std::size_t candidate, int figure) const;

    void paintPoints(QPainter& painter);
    void paintName(QPainter& painter);
    void paintLines(QPainter& painter);
    void paintMark(QPainter& painter, std::size_t candidate, const QPointF& at);
    void paintBand(QPainter& painter, const QRectF& band);
    QPen penOf(std::size_t candidate) const;
    // Kept inside the widget and told in labels().
    void text(QPainter& painter, const QRectF& box, int flags, const QString& text);
    void chooseByHand(int candidate);
    void tellChosen();
    std::vector<int> order() const;  // of the arrow keys

    std::vector<ShownFigure> figures_;
    std::vector<ChartCandidate> candidates_;
    ChartForm form_ = ChartForm::Points;
    int x_ = 0;
    int y_ = 0;
    int chosen_ = -1;
    int hovered_ = -1;
    std::vector<Axis> axes_;    // x and y; or one for each figure
    QRectF plot_;               // where values stand
    double noneWidth_ = 0.0;    // of the band beside the points
    double titleHeight_ = 0.0;  // above the axes of lines
    std::vector<std::vector<QPointF>> spots_;
    std::vector<QRectF> labels_;
};

}  // namespace macle::app
