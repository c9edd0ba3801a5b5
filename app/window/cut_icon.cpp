#include "app/window/cut_icon.h"

#include <QPainter>
#include <algorithm>
#include <cmath>

#include "app/window/theme.h"
#include "core/base/error.h"
#include "core/cut/library.h"
#include "core/solid/convex_solid.h"
#include "render/facet_edges.h"

namespace macle::app {

namespace {

constexpr double kMargin = 0.06;  // of the side

// Near white, the more a facet faces the light the brighter.
QColor shade(const Eigen::Vector3d& normal) {
    static const Eigen::Vector3d light = Eigen::Vector3d(-0.4, 0.5, 0.8).normalized();
    const double lit = 0.72 + 0.28 * std::max(0.0, normal.dot(light));
    const int grey = static_cast<int>(std::lround(255.0 * lit));
    return {grey, grey, grey};
}

}  // namespace

QPixmap cutPicture(const std::string& cut, int side_px, double pixelRatio) {
    Design design;
    std::vector<ConvexSolid> parts;
    try {
        design = makeDesign(cut, {});
        for (const ConvexPart& part : design.parts)
            parts.push_back(makeSolid(part));
    } catch (const Error&) {
        return {};
    }
    Eigen::Vector3d low = parts.front().vertices.front();
    Eigen::Vector3d high = low;
    for (const ConvexSolid& part : parts)
        for (const Eigen::Vector3d& v : part.vertices) {
            low = low.cwiseMin(v);
            high = high.cwiseMax(v);
        }
    const Eigen::Vector3d middle = 0.5 * (low + high);
    const double scale =
        side_px * (1.0 - 2.0 * kMargin) / std::max(high.x() - low.x(), high.y() - low.y());
    const auto onPaper = [&](const Eigen::Vector3d& v) {
        return QPointF(0.5 * side_px + scale * (v.x() - middle.x()),
                       0.5 * side_px - scale * (v.y() - middle.y()));
    };

    const int pixels = static_cast<int>(std::lround(side_px * pixelRatio));
    QPixmap picture(pixels, pixels);
    picture.setDevicePixelRatio(pixelRatio);
    picture.fill(Qt::transparent);
    QPainter painter(&picture);
    painter.setRenderHint(QPainter::Antialiasing);
    painter.setPen(Qt::NoPen);
    for (std::size_t p = 0; p < parts.size(); ++p)
        for (const SolidFace& face : parts[p].faces) {
            const Facet& facet = design.parts[p].facets[static_cast<std::size_t>(face.facet)];
            if (facet.normal.z() <= 0.0) continue;
            QPolygonF outline;
            for (const int corner : face.corners)
                outline << onPaper(parts[p].vertices[static_cast<std::size_t>(corner)]);
            painter.setBrush(shade(facet.normal));
            painter.drawPolygon(outline);
        }
    const double thin = std::max(0.5, side_px / 90.0);
    for (const render::FacetEdge& edge : render::facetEdges(parts)) {
        const double up = std::max(edge.normal.z(), edge.otherNormal.z());
        const bool rim = std::min(edge.normal.z(), edge.otherNormal.z()) <= 0.0;
        if (up <= 1e-9 || (!edge.drawnInside && !rim)) continue;
        painter.setPen(
            QPen(QColor(40, 40, 40), rim ? 1.6 * thin : thin, Qt::SolidLine, Qt::RoundCap));
        painter.drawLine(onPaper(edge.line.from), onPaper(edge.line.to));
    }
    return picture;
}

}  // namespace macle::app
