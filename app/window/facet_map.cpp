#include "app/window/facet_map.h"

#include <QHelpEvent>
#include <QLocale>
#include <QMouseEvent>
#include <QPainter>
#include <QToolTip>
#include <algorithm>
#include <cmath>

#include "app/window/theme.h"

namespace macle::app {
namespace {

constexpr int kSide_px = 190;   // least side of one plan
constexpr int kMargin_px = 10;  // around each plan
constexpr double kLevel = 1e-9;

struct Line {  // a * x + b * y <= c in plan
    double a, b, c;
};

// What of a convex polygon lies on the inner side of a line.
QPolygonF clipped(const QPolygonF& polygon, const Line& line) {
    QPolygonF kept;
    const auto over = [&](const QPointF& p) { return line.a * p.x() + line.b * p.y() - line.c; };
    for (qsizetype i = 0; i < polygon.size(); ++i) {
        const QPointF& from = polygon[i];
        const QPointF& to = polygon[(i + 1) % polygon.size()];
        const double here = over(from);
        const double there = over(to);
        if (here <= 0.0) kept << from;
        if ((here < 0.0 && there > 0.0) || (here > 0.0 && there < 0.0))
            kept << from + (to - from) * (here / (here - there));
    }
    return kept;
}

QPainterPath pathOf(QPolygonF polygon) {
    QPainterPath path;
    if (polygon.size() < 3) return path;
    polygon << polygon.front();
    path.addPolygon(polygon);
    return path;
}

// The part of a face's plan that lies inside another part, where that part hides it.
QPainterPath hidden(const QPolygonF& plan, const Facet& facet, const ConvexPart& other) {
    QPolygonF inside = plan;
    for (const Facet& wall : other.facets) {
        // Parts that share a plane meet on it; neither hides the other there.
        if (wall.normal == facet.normal && wall.distance == facet.distance) return {};
        // On the face's plane z = (d - nx x - ny y) / nz, so each wall is a line of the plan.
        const double share = wall.normal.z() / facet.normal.z();
        inside = clipped(inside, {wall.normal.x() - share * facet.normal.x(),
                                  wall.normal.y() - share * facet.normal.y(),
                                  wall.distance - share * facet.distance});
        if (inside.size() < 3) return {};
    }
    return pathOf(inside);
}

QColor shade(const Eigen::Vector3d& normal) {
    static const Eigen::Vector3d light = Eigen::Vector3d(-0.4, 0.5, 0.8).normalized();
    const Eigen::Vector3d towards(normal.x(), normal.y(), std::abs(normal.z()));
    const int grey =
        static_cast<int>(std::lround(255.0 * (0.72 + 0.28 * std::max(0.0, towards.dot(light)))));
    return {grey, grey, grey};
}

}  // namespace

FacetMap::FacetMap(QWidget* parent) : QWidget(parent) {
    setObjectName("facetMap");
    setAccessibleName(tr("Facets in plan"));
    setAccessibleDescription(tr("The same facets are in the list beside it."));
    setMinimumSize(2 * kSide_px, kSide_px + 2 * kMargin_px);
}

QSize FacetMap::sizeHint() const {
    return {2 * kSide_px + 60, kSide_px + 60};
}

void FacetMap::display(const Design& design, const std::vector<ConvexSolid>& solids) {
    patches_.clear();
    edges_ = render::facetEdges(solids);
    low_ = high_ = solids.front().vertices.front();
    for (std::size_t p = 0; p < solids.size(); ++p) {
        for (const Eigen::Vector3d& v : solids[p].vertices) {
            low_ = low_.cwiseMin(v);
            high_ = high_.cwiseMax(v);
        }
        for (const SolidFace& face : solids[p].faces) {
            const Facet& facet = design.parts[p].facets[static_cast<std::size_t>(face.facet)];
            if (std::abs(facet.normal.z()) <= kLevel) continue;
            QPolygonF plan;
            for (const int corner : face.corners) {
                const Eigen::Vector3d& v = solids[p].vertices[static_cast<std::size_t>(corner)];
                plan << QPointF(v.x(), v.y());
            }
            Patch patch{facet.name, facet.normal, facetAngle_deg(facet), pathOf(plan)};
            for (std::size_t q = 0; q < solids.size(); ++q)
                if (q != p) patch.plan -= hidden(plan, facet, design.parts[q]);
            if (!patch.plan.isEmpty()) patches_.push_back(std::move(patch));
        }
    }
    update();
}

void FacetMap::choose(const std::set<std::string>& facets) {
    chosen_ = facets;
    update();
}

QPointF FacetMap::Frame::onWidget(const QPointF& plan) const {
    return middle + scale * QPointF(plan.x(), crown ? -plan.y() : plan.y());
}

QPointF FacetMap::Frame::onPlan(const QPointF& place) const {
    const QPointF off = (place - middle) / scale;
    return {off.x(), crown ? -off.y() : off.y()};
}

FacetMap::Frame FacetMap::frame(bool crown) const {
    const double half = 0.5 * width();
    const double words = fontMetrics().height();
    const QRectF room((crown ? 0.0 : half) + kMargin_px, kMargin_px, half - 2.0 * kMargin_px,
                      height() - 2.0 * kMargin_px - words);
    Frame frame;
    frame.crown = crown;
    frame.scale =
        std::min(room.width() / (high_.x() - low_.x()), room.height() / (high_.y() - low_.y()));
    const QPointF centre(0.5 * (low_.x() + high_.x()), 0.5 * (low_.y() + high_.y()));
    frame.middle =
        room.center() - frame.scale * QPointF(centre.x(), crown ? -centre.y() : centre.y());
    return frame;
}

const FacetMap::Patch* FacetMap::patchAt(const QPointF& place) const {
    if (patches_.empty()) return nullptr;
    const bool crown = place.x() < 0.5 * width();
    const QPointF plan = frame(crown).onPlan(place);
    for (const Patch& patch : patches_)
        if ((patch.normal.z() > 0.0) == crown && patch.plan.contains(plan)) return &patch;
    return nullptr;
}

std::string FacetMap::facetAt(const QPointF& place) const {
    const Patch* patch = patchAt(place);
    return patch == nullptr ? std::string() : patch->facet;
}

QPointF FacetMap::placeOf(const std::string& facet) const {
    for (const Patch& patch : patches_)
        if (patch.facet == facet) {
            const auto polygons = patch.plan.toFillPolygons();
            QPointF sum;
            for (qsizetype i = 0; i + 1 < polygons.front().size(); ++i)
                sum += polygons.front()[i];
            return frame(patch.normal.z() > 0.0)
                .onWidget(sum / static_cast<double>(polygons.front().size() - 1));
        }
    return {};
}

void FacetMap::paintSide(QPainter& painter, bool crown) const {
    const Frame frame = this->frame(crown);
    painter.setPen(Qt::NoPen);
    QTransform onWidget;
    onWidget.translate(frame.middle.x(), frame.middle.y());
    onWidget.scale(frame.scale, crown ? -frame.scale : frame.scale);
    for (const Patch& patch : patches_) {
        if ((patch.normal.z() > 0.0) != crown) continue;
        const QPainterPath path = onWidget.map(patch.plan);
        const bool chosen = chosen_.contains(patch.facet);
        painter.fillPath(path, chosen ? palette().color(QPalette::Highlight) : shade(patch.normal));
    }
    for (const render::FacetEdge& edge : edges_) {
        const double side = crown ? 1.0 : -1.0;
        const double near = std::max(side * edge.normal.z(), side * edge.otherNormal.z());
        const bool rim = std::min(side * edge.normal.z(), side * edge.otherNormal.z()) <= kLevel;
        if (near <= kLevel || (!edge.drawnInside && !rim)) continue;
        painter.setPen(QPen(QColor(40, 40, 40), rim ? 1.6 : 1.0, Qt::SolidLine, Qt::RoundCap));
        painter.drawLine(frame.onWidget({edge.line.from.x(), edge.line.from.y()}),
                         frame.onWidget({edge.line.to.x(), edge.line.to.y()}));
    }
    painter.setPen(quietText());
    const double half = 0.5 * width();
    painter.drawText(QRectF(crown ? 0.0 : half, height() - fontMetrics().height() - 2.0, half,
                            fontMetrics().height()),
                     Qt::AlignCenter, crown ? tr("crown, from above") : tr("pavilion, from below"));
}

void FacetMap::paintEvent(QPaintEvent*) {
    if (patches_.empty()) return;
    QPainter painter(this);
    painter.setRenderHint(QPainter::Antialiasing);
    paintSide(painter, true);
    paintSide(painter, false);
}

void FacetMap::mousePressEvent(QMouseEvent* event) {
    const std::string facet = facetAt(event->position());
    if (event->button() == Qt::LeftButton && !facet.empty()) Q_EMIT clicked(facet);
}

bool FacetMap::event(QEvent* event) {
    if (event->type() == QEvent::ToolTip) {
        const auto* help = static_cast<QHelpEvent*>(event);
        const Patch* patch = patchAt(help->pos());
        if (patch == nullptr)
            QToolTip::hideText();
        else
            QToolTip::showText(help->globalPos(),
                               tr("%1, %2°").arg(QString::fromStdString(patch->facet),
                                                 locale().toString(patch->angle_deg, 'f', 2)),
                               this);
        return true;
    }
    return QWidget::event(event);
}

}  // namespace macle::app
