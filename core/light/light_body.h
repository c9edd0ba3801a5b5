// LightBody: a finished design made ready for tracing light: a union of convex parts of one
// material in air. Cut frame, mm: z up through the table, origin on the axis at mid-girdle.
// Immutable once made; share freely between threads.
#pragma once

#include <Eigen/Core>
#include <memory>
#include <string>
#include <vector>

#include "core/base/material.h"
#include "core/cut/design.h"
#include "core/stone/mesh.h"

namespace macle {

namespace light {
class FacetTable;
}

class LightBody {
  public:
    // Throws what makeSolid throws; Error{BadUsage} for a size that is not above zero,
    // Error{BadInput} for a part with more than 256 facets or a material of unknown index.
    LightBody(const Design& design, double size_mm, const Material& material);
    ~LightBody();
    LightBody(LightBody&&) noexcept;
    LightBody& operator=(LightBody&&) noexcept;

    double size_mm() const { return size_mm_; }
    const Material& material() const { return material_; }
    const Box& bounds() const { return bounds_; }
    std::size_t parts() const { return tables_.size(); }
    const Facet& facet(int part, int facet) const;      // lengths for size 1, as in the design
    bool contains(const Eigen::Vector3d& point) const;  // the surface counts as inside
    // False only when a ball there lies outside the stone for certain.
    bool mayReach(const Eigen::Vector3d& centre, double radius_mm) const;
    double index(double wavelength_nm) const { return refractiveIndex(material_, wavelength_nm); }

    // Where a ray from outside first meets the surface; part -1 when it never does. The facet is
    // an index into the design's part.
    struct Meeting {
        int part = -1;
        int facet = -1;
        double distance_mm = 0.0;
        Eigen::Vector3d normal = Eigen::Vector3d::Zero();
    };
    // `direction` of length 1. Only what lies beyond `from_mm` along the ray counts.
    Meeting firstMeeting(const Eigen::Vector3d& origin, const Eigen::Vector3d& direction,
                         double from_mm = 0.0) const;
    // Whether light that leaves `part` there never strikes another.
    bool staysOut(int part, const Eigen::Vector3d& point, const Eigen::Vector3d& direction) const;

    // False only when no point of the face (see FacetTable) lies inside another part.
    bool mayGoOn(int part, int face) const {
        return goesOn_[static_cast<std::size_t>(part)][static_cast<std::size_t>(face)] != 0;
    }

    const light::FacetTable& table(std::size_t part) const { return *tables_[part]; }
    const light::FacetTable* const* tables() const { return views_.data(); }

  private:
    void findInnerFaces();

    Design design_;
    double size_mm_;
    Material material_;
    Box bounds_;
    std::vector<std::unique_ptr<light::FacetTable>> tables_;
    std::vector<const light::FacetTable*> views_;  // of tables_
    std::vector<std::vector<char>> goesOn_;        // per part and face
};

}  // namespace macle
