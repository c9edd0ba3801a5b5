// Which recorded defects are left inside a design at a placement.
#pragma once

#include <optional>

#include "core/appraise/appraisal.h"

namespace macle {

// A design at its placement, prepared for asking about many defects. Immutable once made.
class PlacedDesign {
  public:
    // Throws Error{NoSolution} for a design that is no solid.
    PlacedDesign(const Design& design, const Placement& placement);

    // Nothing when the defect lies outside the design or only touches it (reaches in by less
    // than tolerance::kInside_mm).
    std::optional<DefectInside> look(const Defect& defect) const;

  private:
    struct Plane {
        Eigen::Vector3d normal;
        double offset_mm;
    };
    struct Part {
        std::vector<Plane> planes;  // stone frame, of the facets that bound the part
    };

    double depth_mm(const Eigen::Vector3d& point) const;
    std::string zone(const Eigen::Vector3d& point) const;
    bool outsideEveryPart(const TriangleMesh& surface) const;
    bool insideOnePart(const TriangleMesh& surface) const;
    std::optional<Eigen::Vector3d> surfaceCentreInside(const TriangleMesh& surface) const;

    const Design& design_;
    Placement placement_;
    std::vector<Part> parts_;
    std::vector<std::vector<Eigen::Vector2d>> tables_;  // outline in each part, cut frame, size 1
    double girdleLow_ = 0.0;                            // of the girdle flats, cut frame, size 1
    double girdleHigh_ = 0.0;
};

}  // namespace macle
