// GreyCurve: how often each grey value occurs in a volume, on a logarithmic scale, with the chosen
// range shaded. A click or drag moves the nearer end of the range.
// Thread contract: GUI thread.
#pragma once

#include <QWidget>

#include "core/stone/volume.h"

namespace macle::app {

class GreyCurve : public QWidget {
    Q_OBJECT
  public:
    explicit GreyCurve(Histogram histogram, QWidget* parent = nullptr);
    void setRange(double low, double high);
    QSize sizeHint() const override { return {420, 130}; }

  Q_SIGNALS:
    void rangeMoved(double low, double high);

  protected:
    void paintEvent(QPaintEvent* event) override;
    void mousePressEvent(QMouseEvent* event) override;
    void mouseMoveEvent(QMouseEvent* event) override;

  private:
    double valueAt(double x) const;
    double xOf(double value) const;
    void moveTo(double x);

    Histogram histogram_;
    double low_ = 0.0;
    double high_ = 0.0;
    bool movesLow_ = true;
};

}  // namespace macle::app
