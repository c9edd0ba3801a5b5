#include "app/window/candidate_plot.h"

#include <QAccessible>
#include <QHelpEvent>
#include <QKeyEvent>
#include <QMouseEvent>
#include <QToolTip>
#include <algorithm>
#include <cmath>
#include <limits>

#include "app/window/candidate_plot_sizes.h"
#include "core/base/error.h"

namespace macle::app {
namespace {

constexpr double kReach_px = 9.0;  // of the pointer

double distanceTo(const QPointF& point, const QPointF& from, const QPointF& to) {
    const QPointF along = to - from;
    const double length2 = QPointF::dotProduct(along, along);
    const double share =
        length2 > 0.0 ? std::clamp(QPointF::dotProduct(point - from, along) / length2, 0.0, 1.0)
                      : 0.0;
    const QPointF off = point - (from + share * along);
    return std::hypot(off.x(), off.y());
}

}  // namespace

CandidatePlot::CandidatePlot(QWidget* parent) : QWidget(parent) {
    setObjectName("candidatePlot");
    setFocusPolicy(Qt::StrongFocus);
    setMouseTracking(true);
    setAccessibleName(tr("Chart of the candidates"));
    setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Expanding);
}

void CandidatePlot::display(std::vector<ShownFigure> figures,
                            std::vector<ChartCandidate> candidates) {
    for (const ChartCandidate& candidate : candidates)
        if (candidate.values.size() != figures.size())
            throw Error(ErrorCode::BadUsage,
                        "the candidate " + candidate.name.toStdString() + " has " +
                            std::to_string(candidate.values.size()) + " values for " +
                            std::to_string(figures.size()) + " figures",
                        "give one for each figure, with the reason where there is none");
    figures_ = std::move(figures);
    candidates_ = std::move(candidates);
    const int last = static_cast<int>(figures_.size()) - 1;
    x_ = std::clamp(x_, 0, std::max(last, 0));
    y_ = std::clamp(y_, 0, std::max(last, 0));
    hovered_ = -1;
    if (chosen_ >= static_cast<int>(candidates_.size())) chosen_ = -1;
    arrange();
    tellChosen();
}

void CandidatePlot::setForm(ChartForm form) {
    form_ = form;
    arrange();
}

void CandidatePlot::setAxes(int x, int y) {
    const int last = std::max(static_cast<int>(figures_.size()) - 1, 0);
    x_ = std::clamp(x, 0, last);
    y_ = std::clamp(y, 0, last);
    arrange();
}

void CandidatePlot::setChosen(int candidate) {
    chosen_ = candidate >= 0 && candidate < static_cast<int>(candidates_.size()) ? candidate : -1;
    tellChosen();
    update();
}

void CandidatePlot::chooseByHand(int candidate) {
    if (candidate < 0 || candidate == chosen_) return;
    setChosen(candidate);
    Q_EMIT chosenByHand(chosen_);
}

void CandidatePlot::tellChosen() {
    setAccessibleDescription(chosen_ >= 0
                                 ? tip(chosen_).replace(QLatin1Char('\n'), QLatin1String("; "))
                                 : tr("None chosen of %1").arg(candidates_.size()));
    QAccessibleEvent told(this, QAccessible::DescriptionChanged);
    QAccessible::updateAccessibility(&told);
}

const ShownValue& CandidatePlot::valueOf(std::size_t candidate, int figure) const {
    return candidates_[candidate].values[static_cast<std::size_t>(figure)];
}

QString CandidatePlot::axisTitle(int figure) const {
    const ShownFigure& one = figures_[static_cast<std::size_t>(figure)];
    return one.unit.isEmpty() || !one.steps.empty() ? one.title
                                                    : tr("%1, %2").arg(one.title, one.unit);
}

QString CandidatePlot::tickText(const Axis& axis, double tick) const {
    ShownFigure figure = figures_[static_cast<std::size_t>(axis.figure)];
    figure.decimals = axis.scale.decimals;
    const auto last = static_cast<double>(figure.steps.size());
    if (!figure.steps.empty() && (tick < 0.0 || tick >= last)) return {};
    return valueText(figure, tick, locale(), false);
}

double CandidatePlot::widestTick(const Axis& axis) const {
    double widest = 0.0;
    for (const double tick : axis.scale.ticks)
        widest = std::max(widest, double(fontMetrics().horizontalAdvance(tickText(axis, tick))));
    return widest;
}

CandidatePlot::Axis CandidatePlot::axisOf(int figure, int mostTicks) const {
    const ShownFigure& shown = figures_[static_cast<std::size_t>(figure)];
    Axis axis;
    axis.figure = figure;
    axis.flipped = shown.better == Merit::Less;
    double low = std::numeric_limits<double>::infinity();
    double high = -low;
    for (std::size_t k = 0; k < candidates_.size(); ++k) {
        const ShownValue& value = valueOf(k, figure);
        const bool known = value.value && std::isfinite(*value.value);
        axis.missing |= !known;
        if (!known) continue;
        low = std::min(low, *value.value);
        high = std::max(high, *value.value);
    }
    if (!(low <= high)) return axis;  // none known: no ticks
    axis.scale = shown.steps.empty() ? roundScale(low, high, mostTicks)
                                     : stepScale(static_cast<int>(std::lround(low)),
                                                 static_cast<int>(std::lround(high)), mostTicks);
    return axis;
}

void CandidatePlot::arrange() {
    spots_.assign(candidates_.size(), {});
    axes_.clear();
    if (!figures_.empty() && !candidates_.empty())
        form_ == ChartForm::Points ? arrangePoints() : arrangeLines();
    update();
}

void CandidatePlot::arrangePoints() {
    const int line = fontMetrics().height();
    const double none = fontMetrics().horizontalAdvance(tr("none")) + 2.0 * kGap;
    noneWidth_ = none;
    Axis y = axisOf(y_, std::max(2, (height() - 4 * line) / (2 * line)));
    double left = kPad + widestTick(y);
    if (y.missing) left = std::max(left, kPad + none - kGap);
    left += kGap;
    // As many ticks as have room for the widest of them.
    Axis x = axisOf(x_, 8);
    for (int most = 8; most > 2; --most) {
        x = axisOf(x_, most);
        const double room = (width() - left - kPad) / double(x.scale.ticks.size());
        if (widestTick(x) + 2.0 * kGap < room) break;
    }
    noneWidth_ += 0.5 * widestTick(x);  // the first tick's text reaches to the left
    const double top = kPad + line + kGap;
    const double bottom = kPad + 2.0 * line + 2.0 * kGap;
    const double right = kPad + 0.5 * widestTick(x);
    plot_ = QRectF(QPointF(left + (x.missing ? noneWidth_ : 0.0), top),
                   QPointF(width() - right, height() - bottom - (y.missing ? line + kGap : 0.0)));
    // Better is always up and to the right, so that the eye need not learn each pair of figures.
    axes_ = {x, y};
    const auto along = [](const Axis& axis, double value) {
        const double share = axis.scale.share(value);
        return axis.flipped ? 1.0 - share : share;
    };
    const QRectF inner = plot_.adjusted(kInset, kInset, -kInset, -kInset);
    for (std::size_t k = 0; k < candidates_.size(); ++k) {
        const ShownValue& across = valueOf(k, x_);
        const ShownValue& up = valueOf(k, y_);
        QPointF at;
        at.setX(across.value ? inner.left() + along(x, *across.value) * inner.width()
                             : plot_.left() - 0.5 * none);
        at.setY(up.value ? inner.bottom() - along(y, *up.value) * inner.height()
                         : plot_.bottom() + 0.5 * (line + kGap));
        spots_[k] = {at};
    }
}

void CandidatePlot::arrangeLines() {
    const int line = fontMetrics().height();
    const double column = width() / double(figures_.size());
    titleHeight_ = line;
    bool missing = false;
    for (std::size_t k = 0; k < figures_.size(); ++k) {
        axes_.push_back(
            axisOf(static_cast<int>(k), std::max(2, (height() - 7 * line) / (3 * line))));
        missing |= axes_.back().missing;
        const QRectF box = fontMetrics().boundingRect(
            QRect(0, 0, static_cast<int>(column - 2.0 * kGap), 3 * line),
            Qt::AlignHCenter | Qt::TextWordWrap, axisTitle(static_cast<int>(k)));
        titleHeight_ = std::clamp(box.height(), titleHeight_, 3.0 * line);
    }
    plot_ = QRectF(QPointF(0.5 * column, kPad + titleHeight_ + kGap + 0.5 * line),
                   QPointF(width() - 0.5 * column,
                           height() - kPad - 0.5 * line - (missing ? line + 3.0 * kGap : 0.0)));
    for (std::size_t k = 0; k < candidates_.size(); ++k) {
        for (std::size_t f = 0; f < axes_.size(); ++f) {
            const ShownValue& value = valueOf(k, static_cast<int>(f));
            double y = plot_.bottom() + 0.5 * line + 2.0 * kGap;
            if (value.value) {
                const double share = axes_[f].scale.share(*value.value);
                y = plot_.bottom() - (axes_[f].flipped ? 1.0 - share : share) * plot_.height();
            }
            spots_[k].emplace_back((double(f) + 0.5) * column, y);
        }
    }
}

std::vector<QPointF> CandidatePlot::spots(int candidate) const {
    return spots_.at(static_cast<std::size_t>(candidate));
}

int CandidatePlot::candidateAt(const QPointF& position) const {
    int nearest = -1;
    double least = kReach_px;
    for (std::size_t k = 0; k < spots_.size(); ++k) {
        const std::vector<QPointF>& own = spots_[k];
        double off = std::numeric_limits<double>::infinity();
        if (own.size() == 1) off = distanceTo(position, own[0], own[0]);
        for (std::size_t f = 0; f + 1 < own.size(); ++f)
            off = std::min(off, distanceTo(position, own[f], own[f + 1]));
        // Where several lie together the one at hand stays; among others the first.
        if (off < least || (off == least && static_cast<int>(k) == chosen_)) {
            least = off;
            nearest = static_cast<int>(k);
        }
    }
    return nearest;
}

QString CandidatePlot::tip(int candidate) const {
    const auto k = static_cast<std::size_t>(candidate);
    const ChartCandidate& one = candidates_.at(k);
    QString tip = one.note.isEmpty() ? one.name : tr("%1 (%2)").arg(one.name, one.note);
    for (std::size_t f = 0; f < figures_.size(); ++f) {
        const ShownValue& value = one.values[f];
        const QString shown = !value.words.isEmpty() ? value.words
                              : value.value ? valueText(figures_[f], *value.value, locale())
                              : value.missing.isEmpty() ? tr("none")
                                                        : tr("none: %1").arg(value.missing);
        tip += QLatin1Char('\n') + tr("%1: %2").arg(figures_[f].title, shown);
    }
    return tip;
}

std::vector<int> CandidatePlot::order() const {
    std::vector<int> order;
    for (std::size_t k = 0; k < spots_.size(); ++k)
        if (!spots_[k].empty()) order.push_back(static_cast<int>(k));
    // From left to right; lines by their first axis, from below.
    const auto place = [this](int k) {
        const QPointF& at = spots_[static_cast<std::size_t>(k)].front();
        return form_ == ChartForm::Points ? at.x() : -at.y();
    };
    std::stable_sort(order.begin(), order.end(), [&](int a, int b) { return place(a) < place(b); });
    return order;
}

void CandidatePlot::mousePressEvent(QMouseEvent* event) {
    if (event->button() == Qt::LeftButton) chooseByHand(candidateAt(event->position()));
}

void CandidatePlot::mouseDoubleClickEvent(QMouseEvent* event) {
    const int candidate = candidateAt(event->position());
    if (event->button() == Qt::LeftButton && candidate >= 0) Q_EMIT asked(candidate);
}

void CandidatePlot::mouseMoveEvent(QMouseEvent* event) {
    const int candidate = candidateAt(event->position());
    if (candidate == hovered_) return;
    hovered_ = candidate;
    setCursor(candidate >= 0 ? Qt::PointingHandCursor : Qt::ArrowCursor);
    update();
}

void CandidatePlot::keyPressEvent(QKeyEvent* event) {
    const std::vector<int> all = order();
    if (all.empty()) return QWidget::keyPressEvent(event);
    const auto at = std::find(all.begin(), all.end(), chosen_);
    const auto last = static_cast<std::ptrdiff_t>(all.size()) - 1;
    std::ptrdiff_t to = at == all.end() ? -1 : at - all.begin();
    switch (event->key()) {
        case Qt::Key_Right:
        case Qt::Key_Up:
            to = std::min(to + 1, last);
            break;
        case Qt::Key_Left:
        case Qt::Key_Down:
            to = to < 0 ? last : std::max<std::ptrdiff_t>(to - 1, 0);
            break;
        case Qt::Key_Home:
            to = 0;
            break;
        case Qt::Key_End:
            to = last;
            break;
        case Qt::Key_Return:
        case Qt::Key_Enter:
            if (chosen_ >= 0) Q_EMIT asked(chosen_);
            return;
        default:
            return QWidget::keyPressEvent(event);
    }
    chooseByHand(all[static_cast<std::size_t>(to)]);
}

void CandidatePlot::resizeEvent(QResizeEvent* event) {
    QWidget::resizeEvent(event);
    arrange();
}

void CandidatePlot::changeEvent(QEvent* event) {
    QWidget::changeEvent(event);
    if (event->type() == QEvent::FontChange || event->type() == QEvent::LocaleChange) arrange();
}

bool CandidatePlot::event(QEvent* event) {
    if (event->type() == QEvent::ToolTip) {
        auto* help = static_cast<QHelpEvent*>(event);
        const int candidate = candidateAt(help->pos());
        if (candidate >= 0)
            QToolTip::showText(help->globalPos(), tip(candidate), this);
        else
            QToolTip::hideText();
        return true;
    }
    if (event->type() == QEvent::Leave && hovered_ >= 0) {
        hovered_ = -1;
        update();
    }
    return QWidget::event(event);
}

}  // namespace macle::app
