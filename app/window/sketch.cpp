#include "app/window/sketch.h"

#include <Eigen/Geometry>
#include <QPainter>
#include <QPolygonF>
#include <algorithm>

namespace macle::app {
namespace {

constexpr double kMargin = 0.9;  // of the picture that the rough fills

}  // namespace

Sketch::Sketch(const TriangleMesh& rough, int width_px, int height_px, double pixelRatio,
               const SketchColours& colours)
    : colours_(colours), ground_(width_px, height_px, QImage::Format_RGB32) {
    towards_ = Eigen::Vector3d(0.35, -0.8, 0.5).normalized();  // as the oblique view of the stage
    right_ = Eigen::Vector3d::UnitZ().cross(towards_).normalized();
    up_ = towards_.cross(right_);
    const Box box = bounds(rough);
    middle_mm_ = box.centre();
    Eigen::Vector2d reach = Eigen::Vector2d::Constant(1e-9);
    for (const Eigen::Vector3d& vertex : rough.vertices) {
        const Eigen::Vector3d at = vertex - middle_mm_;
        reach = reach.cwiseMax(Eigen::Vector2d(at.dot(right_), at.dot(up_)).cwiseAbs());
    }
    scale_ = 0.5 * kMargin * std::min(width_px / reach.x(), height_px / reach.y());
    ground_.fill(colours.ground);
    QPainter painter(&ground_);
    // The near half covers all that the far half does.
    painter.setPen(QPen(colours.rough, 1.0));  // closes the hair lines between triangles
    painter.setBrush(colours.rough);
    for (const auto& t : rough.triangles) {
        const Eigen::Vector3d &a = rough.vertices[t[0]], &b = rough.vertices[t[1]],
                              &c = rough.vertices[t[2]];
        if ((b - a).cross(c - a).dot(towards_) <= 0.0) continue;
        QPointF corners[3];
        int i = 0;
        for (const Eigen::Vector3d* corner : {&a, &b, &c}) {
            const Eigen::Vector2d at = onPicture(*corner);
            corners[i++] = {at.x(), at.y()};
        }
        painter.drawConvexPolygon(corners, 3);
    }
    painter.end();
    ground_.setDevicePixelRatio(pixelRatio);
}

Eigen::Vector2d Sketch::onPicture(const Eigen::Vector3d& point_mm) const {
    const Eigen::Vector3d at = point_mm - middle_mm_;
    return {0.5 * ground_.width() + scale_ * at.dot(right_),
            0.5 * ground_.height() - scale_ * at.dot(up_)};
}

QImage Sketch::draw(std::vector<Stone> stones) const {
    // The nearer covers the farther.
    std::stable_sort(stones.begin(), stones.end(), [this](const Stone& a, const Stone& b) {
        return a.placement.translation_mm.dot(towards_) < b.placement.translation_mm.dot(towards_);
    });
    QImage picture = ground_.copy();
    picture.setDevicePixelRatio(1.0);
    QPainter painter(&picture);
    painter.setRenderHint(QPainter::Antialiasing);
    painter.setPen(QPen(colours_.edge, 1.0));
    painter.setBrush(colours_.stone);
    std::vector<ConvexSolid> all;
    for (const Stone& stone : stones)
        for (const ConvexSolid& solid : stone.solids)
            all.push_back(placed(solid, stone.placement));
    for (const ConvexSolid& there : all) {
        for (const SolidFace& face : there.faces) {
            QPolygonF outline;
            Eigen::Vector3d twice = Eigen::Vector3d::Zero();
            const Eigen::Vector3d first = there.vertices[static_cast<std::size_t>(face.corners[0])];
            for (std::size_t i = 0; i < face.corners.size(); ++i) {
                const Eigen::Vector3d corner =
                    there.vertices[static_cast<std::size_t>(face.corners[i])];
                const Eigen::Vector2d at = onPicture(corner);
                outline << QPointF(at.x(), at.y());
                if (i > 1)
                    twice += (there.vertices[static_cast<std::size_t>(face.corners[i - 1])] - first)
                                 .cross(corner - first);
            }
            if (twice.dot(towards_) > 0.0) painter.drawConvexPolygon(outline);
        }
    }
    painter.end();
    picture.setDevicePixelRatio(ground_.devicePixelRatio());
    return picture;
}

}  // namespace macle::app
