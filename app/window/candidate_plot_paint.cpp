// How the candidates are drawn. Told apart by form and not by colour alone: layouts are full
// squares and strong lines, what a search found rings and thin ones; what is chosen has a frame, a
// name and the accent.
#include <QPainter>
#include <QPainterPath>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "app/window/candidate_plot.h"
#include "app/window/candidate_plot_sizes.h"
#include "app/window/theme.h"

namespace macle::app {
namespace {

QColor faint(QColor colour, float share) {
    colour.setAlphaF(share);
    return colour;
}

}  // namespace

void CandidatePlot::text(QPainter& painter, const QRectF& box, int flags, const QString& text) {
    if (text.isEmpty()) return;
    const int elided = flags & Qt::TextWordWrap ? 0 : static_cast<int>(box.width()) + 1;
    const QString shown =
        elided > 0 ? fontMetrics().elidedText(text, Qt::ElideRight, elided) : text;
    QRectF drawn;
    painter.drawText(box, flags, shown, &drawn);
    labels_.push_back(drawn);
}

QPen CandidatePlot::penOf(std::size_t candidate) const {
    const bool chosen = static_cast<int>(candidate) == chosen_;
    const bool hovered = static_cast<int>(candidate) == hovered_;
    if (chosen) return QPen(palette().color(QPalette::Highlight), 2.6);
    const QColor colour = candidates_[candidate].isLayout ? plainText() : quietText();
    const double width = candidates_[candidate].isLayout ? 1.8 : 1.1;
    return QPen(colour, hovered ? width + 0.8 : width);
}

void CandidatePlot::paintMark(QPainter& painter, std::size_t candidate, const QPointF& at) {
    const QPen pen = penOf(candidate);
    const double half = static_cast<int>(candidate) == hovered_ ? kMark + 1.0 : kMark;
    const QRectF box(at - QPointF(half, half), QSizeF(2.0 * half, 2.0 * half));
    painter.setPen(QPen(pen.color(), 1.6));
    if (candidates_[candidate].isLayout) {
        painter.setBrush(pen.color());
        painter.drawRect(box.adjusted(0.8, 0.8, -0.8, -0.8));
    } else {
        painter.setBrush(palette().base());
        painter.drawEllipse(box);
    }
    if (static_cast<int>(candidate) != chosen_) return;
    painter.setBrush(Qt::NoBrush);
    painter.setPen(QPen(pen.color(), 1.6));
    painter.drawRect(box.adjusted(-3.5, -3.5, 3.5, 3.5));
}

void CandidatePlot::paintBand(QPainter& painter, const QRectF& band) {
    painter.fillRect(band, palette().alternateBase());
    painter.setPen(QPen(faint(quietText(), 0.6F), 1.0, Qt::DashLine));
    painter.setBrush(Qt::NoBrush);
    painter.drawRect(band);
}

void CandidatePlot::paintEvent(QPaintEvent*) {
    QPainter painter(this);
    painter.setRenderHint(QPainter::Antialiasing);
    painter.fillRect(rect(), palette().base());
    labels_.clear();
    painter.setPen(plainText());
    if (axes_.empty()) {
        painter.setPen(quietText());
        text(painter, QRectF(rect()).adjusted(kPad, kPad, -kPad, -kPad),
             Qt::AlignCenter | Qt::TextWordWrap,
             tr("No candidates yet: layouts of the stone and what a search finds stand here."));
    } else if (form_ == ChartForm::Points) {
        paintPoints(painter);
    } else {
        paintLines(painter);
    }
    if (hasFocus()) {
        painter.setPen(QPen(palette().color(QPalette::Highlight), 1.0));
        painter.setBrush(Qt::NoBrush);
        painter.drawRect(QRectF(rect()).adjusted(0.5, 0.5, -0.5, -0.5));
    }
}

void CandidatePlot::paintPoints(QPainter& painter) {
    const int line = fontMetrics().height();
    const Axis& x = axes_[0];
    const Axis& y = axes_[1];
    const QRectF inner = plot_.adjusted(kInset, kInset, -kInset, -kInset);
    const double none = fontMetrics().horizontalAdvance(tr("none")) + 2.0 * kGap;
    const QRectF columnBand(plot_.left() - noneWidth_, plot_.top(), noneWidth_, plot_.height());
    const QRectF rowBand(plot_.left(), plot_.bottom(), plot_.width(), line + kGap);
    if (x.missing) paintBand(painter, columnBand);
    if (y.missing) paintBand(painter, rowBand);
    if (x.missing && y.missing)
        paintBand(painter, QRectF(columnBand.left(), rowBand.top(), noneWidth_, rowBand.height()));
    const double left = x.missing ? columnBand.left() : plot_.left();
    const double bottom = y.missing ? rowBand.bottom() : plot_.bottom();
    // Lines of the ticks, then their texts.
    const QPen grid(faint(quietText(), 0.25F), 1.0);
    for (const double tick : x.scale.ticks) {
        const double share = x.scale.share(tick);
        const double at = inner.left() + (x.flipped ? 1.0 - share : share) * inner.width();
        painter.setPen(grid);
        painter.drawLine(QPointF(at, plot_.top()), QPointF(at, plot_.bottom()));
        painter.setPen(plainText());
        const QString shown = tickText(x, tick);
        const double wide = fontMetrics().horizontalAdvance(shown) + 2.0;
        text(painter, QRectF(at - 0.5 * wide, bottom + kGap, wide, line), Qt::AlignCenter, shown);
    }
    for (const double tick : y.scale.ticks) {
        const double share = y.scale.share(tick);
        const double at = inner.bottom() - (y.flipped ? 1.0 - share : share) * inner.height();
        painter.setPen(grid);
        painter.drawLine(QPointF(plot_.left(), at), QPointF(plot_.right(), at));
        painter.setPen(plainText());
        text(painter, QRectF(0.0, at - 0.5 * line, left - kGap, line),
             Qt::AlignRight | Qt::AlignVCenter, tickText(y, tick));
    }
    painter.setBrush(Qt::NoBrush);
    painter.setPen(QPen(quietText(), 1.0));
    painter.drawRect(plot_);
    painter.setPen(quietText());
    if (x.missing)
        text(painter, QRectF(columnBand.left(), bottom + kGap, none, line), Qt::AlignCenter,
             tr("none"));
    if (y.missing)
        text(painter, QRectF(0.0, rowBand.top(), left - kGap, rowBand.height()),
             Qt::AlignRight | Qt::AlignVCenter, tr("none"));
    painter.setPen(plainText());
    text(painter, QRectF(kPad, kPad, width() - 2.0 * kPad, line), Qt::AlignLeft,
         tr("↑ %1").arg(axisTitle(y_)));
    text(painter, QRectF(kPad, height() - kPad - line, width() - 2.0 * kPad, line), Qt::AlignRight,
         tr("%1 →").arg(axisTitle(x_)));
    // What is found first, layouts over it, what is chosen on top.
    for (const int pass : {0, 1, 2})
        for (std::size_t k = 0; k < candidates_.size(); ++k) {
            const int own = static_cast<int>(k) == chosen_ ? 2 : candidates_[k].isLayout ? 1 : 0;
            if (own == pass) paintMark(painter, k, spots_[k].front());
        }
    if (chosen_ >= 0) paintName(painter);
}

// Beside what is chosen, where it covers least.
void CandidatePlot::paintName(QPainter& painter) {
    const ChartCandidate& one = candidates_[static_cast<std::size_t>(chosen_)];
    const QPointF at = spots_[static_cast<std::size_t>(chosen_)].front();
    const double wide =
        std::min(fontMetrics().horizontalAdvance(one.name) + 4.0, plot_.width() - 2.0);
    const double tall = fontMetrics().height();
    const double reach = kMark + 3.5 + kGap;
    const std::array<QPointF, 4> corners = {QPointF(at.x() + reach, at.y() - 0.5 * tall),
                                            QPointF(at.x() - reach - wide, at.y() - 0.5 * tall),
                                            QPointF(at.x() - 0.5 * wide, at.y() - reach - tall),
                                            QPointF(at.x() - 0.5 * wide, at.y() + reach)};
    QRectF best;
    int fewest = std::numeric_limits<int>::max();
    for (const QPointF& corner : corners) {
        QRectF box(corner, QSizeF(wide, tall));
        box.moveLeft(std::clamp(box.left(), plot_.left() + 1.0, plot_.right() - 1.0 - wide));
        int covered = 0;
        for (const std::vector<QPointF>& spots : spots_)
            covered += box.adjusted(-kMark, -kMark, kMark, kMark).contains(spots.front()) ? 1 : 0;
        for (const QRectF& label : labels_)
            covered += label.intersects(box) ? 100 : 0;
        if (!plot_.contains(box)) covered += 10;
        if (covered >= fewest) continue;
        fewest = covered;
        best = box;
    }
    painter.fillRect(best, faint(palette().color(QPalette::Base), 0.85F));
    painter.setPen(plainText());
    text(painter, best, Qt::AlignCenter, one.name);
}

void CandidatePlot::paintLines(QPainter& painter) {
    const int line = fontMetrics().height();
    const double column = width() / double(axes_.size());
    const bool missing =
        std::any_of(axes_.begin(), axes_.end(), [](const Axis& axis) { return axis.missing; });
    const double noneY = plot_.bottom() + 0.5 * line + 2.0 * kGap;
    if (missing)
        paintBand(painter,
                  QRectF(kPad, noneY - 0.5 * line - 1.0, width() - 2.0 * kPad, line + 2.0));
    for (std::size_t f = 0; f < axes_.size(); ++f) {
        const double at = (double(f) + 0.5) * column;
        painter.setPen(QPen(quietText(), 1.0));
        painter.drawLine(QPointF(at, plot_.top()), QPointF(at, plot_.bottom()));
    }
    for (const int pass : {0, 1, 2}) {
        for (std::size_t k = 0; k < candidates_.size(); ++k) {
            const int own = static_cast<int>(k) == chosen_ ? 2 : candidates_[k].isLayout ? 1 : 0;
            if (own != pass) continue;
            painter.setBrush(Qt::NoBrush);
            painter.setPen(penOf(k));
            painter.drawPolyline(spots_[k].data(), static_cast<int>(spots_[k].size()));
            if (candidates_[k].isLayout || own == 2 || spots_[k].size() == 1)
                for (const QPointF& at : spots_[k])
                    paintMark(painter, k, at);
        }
    }
    for (std::size_t f = 0; f < axes_.size(); ++f) {
        const double at = (double(f) + 0.5) * column;
        const Axis& axis = axes_[f];
        painter.setPen(plainText());
        text(painter, QRectF(at - 0.5 * column + kGap, kPad, column - 2.0 * kGap, titleHeight_),
             Qt::AlignHCenter | Qt::AlignBottom | Qt::TextWordWrap, axisTitle(static_cast<int>(f)));
        for (const double tick : axis.scale.ticks) {
            const double share = axis.scale.share(tick);
            const double y = plot_.bottom() - (axis.flipped ? 1.0 - share : share) * plot_.height();
            const QString shown = tickText(axis, tick);
            const double wide =
                std::min(fontMetrics().horizontalAdvance(shown) + 4.0, 0.5 * column - kMark - 8.0);
            const QRectF box(at + kMark + 8.0, y - 0.5 * line, wide, line);
            painter.setPen(QPen(quietText(), 1.0));
            painter.drawLine(QPointF(at - 3.0, y), QPointF(at + 3.0, y));
            painter.fillRect(box, faint(palette().color(QPalette::Base), 0.7F));
            painter.setPen(plainText());
            text(painter, box, Qt::AlignLeft | Qt::AlignVCenter, shown);
        }
        painter.setPen(quietText());
        if (axis.missing)
            text(painter,
                 QRectF(at + kMark + kGap, noneY - 0.5 * line, 0.5 * column - kMark - kGap, line),
                 Qt::AlignLeft | Qt::AlignVCenter, tr("none"));
    }
}

}  // namespace macle::app
