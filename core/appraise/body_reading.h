// BodyReading: what can be pointed at on a FacetBody: its table, girdle, mains, corners and where a
// ray from the axis meets the table's edge and the outline. Private to core/appraise.
#pragma once

#include <optional>
#include <vector>

#include "core/appraise/facet_body.h"

namespace macle {

class BodyReading {
  public:
    struct Corner {
        Eigen::Vector3d at;
        std::vector<const SeenFacet*> facets;  // that meet here
    };

    explicit BodyReading(const FacetBody& body);

    const std::vector<Corner>& corners() const { return corners_; }
    const SeenFacet* table() const { return table_; }
    const SeenFacet* culet() const { return culet_; }  // level, faces down; a rose's base too
    const std::vector<const SeenFacet*>& crown() const { return crown_; }  // without the table
    const std::vector<const SeenFacet*>& pavilion() const { return pavilion_; }
    const std::vector<const SeenFacet*>& girdle() const { return girdle_; }

    double width() const { return high_.y() - low_.y(); }
    const Eigen::Vector3d& low() const { return low_; }
    const Eigen::Vector3d& high() const { return high_; }

    // Lowest and highest height of the stone at its widest place (y greatest).
    std::pair<double, double> girdleAtWidest() const;
    // Crown facets that touch the table in one corner and reach the girdle.
    std::vector<const SeenFacet*> crownMains() const;
    // Pavilion facets that reach the lowest point or the culet.
    std::vector<const SeenFacet*> pavilionMains() const;
    // Facets of these that face y exactly, steepest first.
    std::vector<const SeenFacet*> facingWidth(const std::vector<const SeenFacet*>& facets) const;
    // Corners of the crown, or the pavilion, that lie inside the outline, off table and culet, and
    // in which at least so many facets meet.
    std::vector<const Corner*> inner(bool crown, std::size_t facets) const;

    // How wide the table is this way, or the culet; over all parts. Zero without one.
    double tableAlong(const Eigen::Vector3d& direction) const;
    double culetAlong(const Eigen::Vector3d& direction) const;

    // How far from the axis the ray of this plan direction leaves the table, and the stone.
    double tableEdge(const Eigen::Vector2d& direction) const;
    double outline(const Eigen::Vector2d& direction) const;
    // Slopes, in degrees, of the pavilion in the section across the middle, girdle to culet.
    std::vector<double> pavilionSection() const;

    double exact() const { return body_.exact_mm; }
    double flat_deg() const { return body_.flat_deg; }

  private:
    bool insideAnother(const Corner& corner) const;  // part
    double extentOf(const SeenFacet* level, const Eigen::Vector3d& direction) const;

    const FacetBody& body_;
    std::vector<Corner> corners_;
    const SeenFacet* table_ = nullptr;
    const SeenFacet* culet_ = nullptr;
    std::vector<const SeenFacet*> crown_;
    std::vector<const SeenFacet*> pavilion_;
    std::vector<const SeenFacet*> girdle_;
    Eigen::Vector3d low_;
    Eigen::Vector3d high_;
};

double steepness_deg(const SeenFacet& facet);  // 0 level .. 90 upright
double azimuth_deg(const SeenFacet& facet);    // 0 .. 360

}  // namespace macle
