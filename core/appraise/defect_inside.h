// Which recorded defects are left inside a design at a placement.
#pragma once

#include <array>
#include <optional>

#include "core/appraise/appraisal.h"

namespace macle {

inline constexpr std::array<const char*, 4> kZones = {"under the table", "under the crown",
                                                      "at the girdle", "in the pavilion"};

// How what lies inside of a defect is seen from straight above. The table bends a straight look
// down nowhere, so that the widths are the true ones.
struct Glimpse {
    std::string zone;  // of its middle
    double depth_mm = 0.0;
    double seen_mm = 0.0;  // widest extent across the axis
};

// A design at its placement, prepared for asking about many defects. Immutable once made.
class PlacedDesign {
  public:
    // Throws Error{NoSolution} for a design that is no solid.
    PlacedDesign(const Design& design, const Placement& placement);

    // Nothing when the defect lies outside the design or only touches it (reaches in by less
    // than tolerance::kInside_mm).
    std::optional<DefectInside> look(const Defect& defect) const;

    // The same question answered quickly, without volumes. Agrees with look() on what is inside.
    std::optional<Glimpse> glimpse(const Defect& defect) const;

  private:
    struct Plane {
        Eigen::Vector3d normal;
        double offset_mm;
    };
    struct Part {
        std::vector<Plane> planes;  // stone frame, of the facets that bound the part
    };

    Plane placed(const Facet& facet) const;
    double depth_mm(const Eigen::Vector3d& point) const;
    std::string zone(const Eigen::Vector3d& point) const;
    bool outsideEveryPart(const TriangleMesh& surface) const;
    bool insideOnePart(const TriangleMesh& surface) const;
    // Of the surface that reaches into a part by more than the tolerance: its area-weighted middle,
    // and all corners of what does.
    struct InsideSurface {
        Eigen::Vector3d centre;
        std::vector<Eigen::Vector3d> corners;
    };
    static std::optional<InsideSurface> surfaceInside(const std::vector<Part>& parts,
                                                      const TriangleMesh& surface);
    double widthAcross_mm(const std::vector<Eigen::Vector3d>& points) const;
    bool reachesOutOfEdge(const Defect& defect, const TriangleMesh& surface) const;

    Design design_;
    Placement placement_;
    std::vector<Part> parts_;
    std::vector<std::vector<Eigen::Vector2d>> tables_;  // outline in each part, cut frame, size 1
    double girdleLow_ = 0.0;                            // of the girdle flats, cut frame, size 1
    double girdleHigh_ = 0.0;
};

}  // namespace macle
