#include "app/window/profile_view.h"

#include <QLocale>
#include <QPainter>
#include <algorithm>
#include <cmath>

#include "app/window/theme.h"
#include "core/base/error.h"
#include "core/solid/convex_solid.h"

namespace macle::app {

namespace {

constexpr int kHeight_px = 176;
constexpr int kLeastWidth_px = 220;

QString percent(const QLocale& locale, double value) {
    return locale.toString(value, 'f', 1) + QStringLiteral(" %");
}
QString angle(const QLocale& locale, double value) {
    return locale.toString(value, 'f', 2) + QStringLiteral("°");
}

// A dimension line with ticks at its ends.
void dimension(QPainter& painter, QPointF from, QPointF to) {
    painter.drawLine(from, to);
    const QPointF way = to - from;
    const double length = std::hypot(way.x(), way.y());
    if (length <= 0.0) return;
    const QPointF across(-4.0 * way.y() / length, 4.0 * way.x() / length);
    painter.drawLine(from - across, from + across);
    painter.drawLine(to - across, to + across);
}

}  // namespace

ProfileView::ProfileView(QWidget* parent) : QWidget(parent) {
    setObjectName("profileView");
    setAccessibleName(tr("Profile of the cut"));
    setToolTip(
        tr("The cut seen along its length. Percent of its width; angles to the girdle "
           "plane."));
    setMinimumSize(kLeastWidth_px, kHeight_px);
    setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Fixed);
}

QSize ProfileView::sizeHint() const {
    return {kLeastWidth_px, kHeight_px};
}

void ProfileView::display(const std::optional<Design>& design) {
    measured_.reset();
    edges_.clear();
    if (design) {
        try {
            std::vector<ConvexSolid> parts;
            for (const ConvexPart& part : design->parts)
                parts.push_back(makeSolid(part));
            low_ = high_ = parts.front().vertices.front();
            for (const ConvexSolid& part : parts)
                for (const Eigen::Vector3d& v : part.vertices) {
                    low_ = low_.cwiseMin(v);
                    high_ = high_.cwiseMax(v);
                }
            edges_ = render::facetEdges(parts);
            measured_ = measureProportions(facetBody(*design));
            girdleHigh_ = high_.z() -
                          measured_->crown_height_percent.value_or(100.0 * (high_.z() - low_.z())) /
                              100.0 * (high_.y() - low_.y());
            girdleLow_ = low_.z() + measured_->pavilion_depth_percent.value_or(0.0) / 100.0 *
                                        (high_.y() - low_.y());
            tableHalf_ = measured_->table_percent.value_or(0.0) / 200.0;
        } catch (const Error&) {
            measured_.reset();
            edges_.clear();
        }
    }
    setAccessibleDescription(figures());
    update();
}

QString ProfileView::figures() const {
    if (!measured_) return tr("These proportions cannot be built.");
    QStringList parts;
    const QLocale words = locale();
    if (measured_->table_percent)
        parts << tr("table %1").arg(percent(words, *measured_->table_percent));
    if (measured_->crown_height_percent)
        parts << tr("crown height %1").arg(percent(words, *measured_->crown_height_percent));
    if (measured_->pavilion_depth_percent)
        parts << tr("pavilion depth %1").arg(percent(words, *measured_->pavilion_depth_percent));
    parts << tr("total depth %1").arg(percent(words, measured_->depth_percent));
    parts << tr("length %1").arg(percent(words, 100.0 * measured_->length_to_width));
    return parts.join(QStringLiteral(", "));
}

void ProfileView::paintEvent(QPaintEvent*) {
    QPainter painter(this);
    painter.setRenderHint(QPainter::Antialiasing);
    QFont small = font();
    small.setPointSizeF(0.85 * small.pointSizeF());
    painter.setFont(small);
    const QFontMetricsF metrics(small, this);
    if (!measured_) {
        painter.setPen(quietText());
        painter.drawText(rect(), Qt::AlignCenter | Qt::TextWordWrap,
                         tr("These proportions cannot be built."));
        return;
    }
    const QLocale words = locale();
    const double column = metrics.horizontalAdvance(QStringLiteral("88.8 %")) + 22.0;
    const double line = metrics.height() + 10.0;
    const QRectF room(column, line, width() - 2.0 * column, height() - 2.0 * line);
    const double scale =
        std::min(room.width() / (high_.y() - low_.y()), room.height() / (high_.z() - low_.z()));
    const auto x = [&](double y) { return room.center().x() + scale * y; };
    const double top = room.center().y() - 0.5 * scale * (high_.z() - low_.z());
    const auto y = [&](double z) { return top + scale * (high_.z() - z); };

    // The facets' edges on the side of the viewer, the outline stronger.
    for (const render::FacetEdge& edge : edges_) {
        const double near = std::max(edge.normal.x(), edge.otherNormal.x());
        const double far = std::min(edge.normal.x(), edge.otherNormal.x());
        if (near < -1e-9) continue;
        const bool rim = far <= 1e-9;
        if (!edge.drawnInside && !rim) continue;
        painter.setPen(
            QPen(rim ? plainText() : quietText(), rim ? 1.3 : 0.7, Qt::SolidLine, Qt::RoundCap));
        painter.drawLine(QPointF(x(edge.line.from.y()), y(edge.line.from.z())),
                         QPointF(x(edge.line.to.y()), y(edge.line.to.z())));
    }

    painter.setPen(QPen(quietText(), 1.0));
    const auto text = [&](const QRectF& box, Qt::Alignment how, const QString& what) {
        painter.setPen(plainText());
        painter.drawText(box, static_cast<int>(how) | Qt::TextDontClip, what);
        painter.setPen(QPen(quietText(), 1.0));
    };
    const double left = x(low_.y()) - 10.0;
    const double right = x(high_.y()) + 10.0;
    const MeasuredProportions& m = *measured_;
    if (m.table_percent) {
        dimension(painter, {x(-tableHalf_), top - 7.0}, {x(tableHalf_), top - 7.0});
        text({x(0) - 60.0, top - 9.0 - line, 120.0, line}, Qt::AlignHCenter | Qt::AlignBottom,
             percent(words, *m.table_percent));
    }
    if (m.crown_height_percent) {
        dimension(painter, {left, y(high_.z())}, {left, y(girdleHigh_)});
        text({0.0, y(high_.z()), left - 6.0, y(girdleHigh_) - y(high_.z())},
             Qt::AlignRight | Qt::AlignVCenter, percent(words, *m.crown_height_percent));
    }
    if (m.pavilion_depth_percent) {
        dimension(painter, {left, y(girdleLow_)}, {left, y(low_.z())});
        text({0.0, y(girdleLow_), left - 6.0, y(low_.z()) - y(girdleLow_)},
             Qt::AlignRight | Qt::AlignVCenter, percent(words, *m.pavilion_depth_percent));
    }
    if (m.crown_deg)
        text({right - 4.0, y(high_.z()) - 4.0, width() - right, y(girdleHigh_) - y(high_.z())},
             Qt::AlignLeft | Qt::AlignVCenter, angle(words, m.crown_deg->mean));
    if (m.pavilion_deg)
        text({x(0.25 * (high_.y() - low_.y())) + 14.0, y(0.5 * (girdleLow_ + low_.z())),
              width() - x(0.25), line},
             Qt::AlignLeft | Qt::AlignVCenter, angle(words, m.pavilion_deg->mean));
    text({0.0, height() - line, static_cast<double>(width()), line},
         Qt::AlignHCenter | Qt::AlignVCenter,
         tr("total depth %1").arg(percent(words, m.depth_percent)));
}

}  // namespace macle::app
