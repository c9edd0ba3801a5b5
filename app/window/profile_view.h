// ProfileView: the cut seen along its length, with the measures that its proportions set: table,
// crown and pavilion angle and height, girdle, total depth. Shows what it is given.
// Thread contract: GUI thread.
#pragma once

#include <QWidget>
#include <optional>
#include <vector>

#include "core/appraise/measured_proportions.h"
#include "core/cut/design.h"
#include "render/facet_edges.h"

namespace macle::app {

class ProfileView : public QWidget {
    Q_OBJECT
  public:
    explicit ProfileView(QWidget* parent = nullptr);

    // Nothing: the proportions shown cannot be built.
    void display(const std::optional<Design>& design);
    QSize sizeHint() const override;

  protected:
    void paintEvent(QPaintEvent* event) override;

  private:
    QString figures() const;  // for screen readers

    std::vector<render::FacetEdge> edges_;
    Eigen::Vector3d low_ = Eigen::Vector3d::Zero();
    Eigen::Vector3d high_ = Eigen::Vector3d::Zero();
    double tableHalf_ = 0.0;
    double girdleLow_ = 0.0;
    double girdleHigh_ = 0.0;
    std::optional<MeasuredProportions> measured_;
};

}  // namespace macle::app
