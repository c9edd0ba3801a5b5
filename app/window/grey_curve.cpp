#include "app/window/grey_curve.h"

#include <QMouseEvent>
#include <QPainter>
#include <QPainterPath>
#include <algorithm>
#include <cmath>
#include <utility>

#include "app/window/theme.h"

namespace macle::app {
namespace {

constexpr double kMargin = 6.0;

}  // namespace

GreyCurve::GreyCurve(Histogram histogram, QWidget* parent)
    : QWidget(parent), histogram_(std::move(histogram)) {
    setMinimumHeight(90);
    setCursor(Qt::SizeHorCursor);
    setAccessibleName(tr("How often each grey value occurs"));
    low_ = histogram_.low;
    high_ = histogram_.high;
}

void GreyCurve::setRange(double low, double high) {
    low_ = low;
    high_ = high;
    update();
}

double GreyCurve::valueAt(double x) const {
    const double share =
        std::clamp((x - kMargin) / std::max(1.0, width() - 2.0 * kMargin), 0.0, 1.0);
    return histogram_.low + share * (static_cast<double>(histogram_.high) - histogram_.low);
}

double GreyCurve::xOf(double value) const {
    const double span = static_cast<double>(histogram_.high) - histogram_.low;
    const double share = span > 0.0 ? (value - histogram_.low) / span : 0.0;
    return kMargin + std::clamp(share, 0.0, 1.0) * (width() - 2.0 * kMargin);
}

void GreyCurve::paintEvent(QPaintEvent*) {
    QPainter painter(this);
    painter.setRenderHint(QPainter::Antialiasing);
    painter.fillRect(rect(), palette().base());
    const QRectF chosen(QPointF(xOf(low_), 0.0), QPointF(xOf(high_), height()));
    QColor shade = palette().color(QPalette::Highlight);
    shade.setAlphaF(0.25F);
    painter.fillRect(chosen, shade);
    long long most = 1;
    for (const long long count : histogram_.counts)
        most = std::max(most, count);
    // Defects are few voxels among many: only a logarithm shows them.
    const double top = std::log1p(static_cast<double>(most));
    const double base = height() - kMargin;
    QPainterPath path(QPointF(kMargin, base));
    const double step = (width() - 2.0 * kMargin) / static_cast<double>(histogram_.counts.size());
    for (std::size_t i = 0; i < histogram_.counts.size(); ++i) {
        const double y =
            base - std::log1p(static_cast<double>(histogram_.counts[i])) / top * (base - kMargin);
        path.lineTo(kMargin + step * static_cast<double>(i), y);
        path.lineTo(kMargin + step * static_cast<double>(i + 1), y);
    }
    path.lineTo(width() - kMargin, base);
    painter.setPen(QPen(palette().color(QPalette::Text), 1.2));
    painter.drawPath(path);
    painter.setPen(QPen(palette().color(QPalette::Highlight), 2.0));
    for (const double x : {chosen.left(), chosen.right()})
        painter.drawLine(QPointF(x, 0.0), QPointF(x, height()));
}

void GreyCurve::mousePressEvent(QMouseEvent* event) {
    const double x = event->position().x();
    movesLow_ = std::abs(x - xOf(low_)) <= std::abs(x - xOf(high_));
    moveTo(x);
}

void GreyCurve::mouseMoveEvent(QMouseEvent* event) {
    if (event->buttons() & Qt::LeftButton) moveTo(event->position().x());
}

void GreyCurve::moveTo(double x) {
    const double value = valueAt(x);
    if (movesLow_)
        low_ = std::min(value, high_);
    else
        high_ = std::max(value, low_);
    update();
    Q_EMIT rangeMoved(low_, high_);
}

}  // namespace macle::app
