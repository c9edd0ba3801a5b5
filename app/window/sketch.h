// Sketch: small pictures of placements, drawn flat: the rough as a quiet shape, the finished stone
// near white with dark edges. All of one stone look from the same side.
// Thread contract: immutable once made; draw from any thread.
#pragma once

#include <Eigen/Core>
#include <QColor>
#include <QImage>
#include <vector>

#include "core/cut/placement.h"
#include "core/solid/convex_solid.h"

namespace macle::app {

struct SketchColours {
    QColor ground, rough, stone, edge;
};

class Sketch {
  public:
    // Sizes in pixels of the picture, which get `pixelRatio` as their device's.
    Sketch(const TriangleMesh& rough, int width_px, int height_px, double pixelRatio,
           const SketchColours& colours);

    struct Stone {
        std::vector<ConvexSolid> solids;  // the parts of the cut for size 1
        Placement placement;
    };
    QImage draw(std::vector<Stone> stones) const;

  private:
    Eigen::Vector2d onPicture(const Eigen::Vector3d& point_mm) const;

    SketchColours colours_;
    Eigen::Vector3d right_, up_, towards_;
    Eigen::Vector3d middle_mm_;
    double scale_ = 1.0;  // pixels per mm
    QImage ground_;       // with the rough
};

}  // namespace macle::app
