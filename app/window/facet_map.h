// FacetMap: the facets of a cut in plan, the crown from above and the pavilion from below; the
// chosen ones stand out, and a click chooses. Girdle flats have no area there: the list beside it
// reaches them.
// Thread contract: GUI thread.
#pragma once

#include <QPainterPath>
#include <QWidget>
#include <set>
#include <string>
#include <vector>

#include "core/solid/convex_solid.h"
#include "render/facet_edges.h"

namespace macle::app {

class FacetMap : public QWidget {
    Q_OBJECT
  public:
    explicit FacetMap(QWidget* parent = nullptr);

    // `solids`: one per part of the design, size 1.
    void display(const Design& design, const std::vector<ConvexSolid>& solids);
    void choose(const std::set<std::string>& facets);

    QSize sizeHint() const override;
    // The facet drawn there; empty beside the cut.
    std::string facetAt(const QPointF& place) const;
    // Where a facet is drawn, for tests and for the keyboard's focus; null for one without area.
    QPointF placeOf(const std::string& facet) const;

  Q_SIGNALS:
    void clicked(const std::string& facet);

  protected:
    void paintEvent(QPaintEvent* event) override;
    void mousePressEvent(QMouseEvent* event) override;
    bool event(QEvent* event) override;

  private:
    struct Patch {
        std::string facet;
        Eigen::Vector3d normal;
        double angle_deg = 0.0;
        QPainterPath plan;  // what of it is seen: x along the length, y up, size 1
    };
    // Crown: from above, pavilion: from below, so that y points down there.
    struct Frame {
        double scale = 1.0;
        QPointF middle;
        bool crown = true;
        QPointF onWidget(const QPointF& plan) const;
        QPointF onPlan(const QPointF& place) const;
    };
    Frame frame(bool crown) const;
    const Patch* patchAt(const QPointF& place) const;
    void paintSide(class QPainter& painter, bool crown) const;

    std::vector<Patch> patches_;
    std::vector<render::FacetEdge> edges_;
    std::set<std::string> chosen_;
    Eigen::Vector3d low_ = Eigen::Vector3d::Zero();
    Eigen::Vector3d high_ = Eigen::Vector3d::Zero();
};

}  // namespace macle::app
