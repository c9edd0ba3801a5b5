// What a cell says about size, rotation and centre, as rows of a linear programme. Private to fit.
//
// Variables: size s; u = 2 s r / (1 + r.r), with r the Rodrigues vector within the cell; the centre
// t less the middle of its box. Lengths are scaled to the rough. Every row holds for every
// placement of the cell; what is not linear is bounded and added to the right side, and
// `ErrorShare` says which width of the cell it came from.
#pragma once

#include <Eigen/Geometry>
#include <vector>

#include "core/fit/bound_cell.h"
#include "core/fit/bound_hull.h"
#include "core/fit/bound_programme.h"
#include "core/fit/bound_shape.h"

namespace macle {

struct BoundModel {
    std::vector<BoundPart> parts;
    std::vector<SupportPlane> planes;  // scaled
    double allowance = 0.0;            // scaled
    double reach = 0.0;                // farthest vertex of the design from its origin, size 1
};

class CellRows {
  public:
    CellRows(const BoundModel& model, const BoundCell& cell, double sizeLow, double sizeHigh);

    void setBox(BoundProgramme& programme) const;  // and the rows that tie u to s

    BoundProgramme::Row hullRow(const HullPair& pair, double* error = nullptr) const;
    // `margin`: kept from the point beside the allowance.
    BoundProgramme::Row pointRow(const Eigen::Vector3d& point, int part, int facet,
                                 double* error = nullptr, double margin = 0.0) const;

    // The vertex of a part that stands out most over a plane at x (but for the row's own error).
    HullPair worstPair(int plane, int part, const BoundProgramme::Vector& x) const;

    // How far each width of the cell (x, y, spin, then the box of centres) moves the point against
    // a facet.
    std::array<double, 6> widths(const Eigen::Vector3d& point, int part, int facet) const;

    // Largest size at a pose by the hull's planes alone.
    double sizeInHull(const Eigen::Quaterniond& rotation, const Eigen::Vector3d& centre) const;

    // True when no placement of the cell's box satisfies the row.
    static bool impossible(const BoundProgramme& programme, const BoundProgramme::Row& row);
    // One row that every point of the box satisfying at least one of `rows` satisfies.
    static BoundProgramme::Row either(const BoundProgramme& programme,
                                      const std::vector<BoundProgramme::Row>& rows);

    Eigen::Quaterniond rotationAt(const BoundProgramme::Vector& x) const;
    Eigen::Vector3d centreAt(const BoundProgramme::Vector& x) const {
        return middle_ + x.tail<3>();
    }

  private:
    const BoundModel& model_;
    double sizeLow_, sizeHigh_;
    Eigen::Quaterniond base_;
    Eigen::Matrix3d turn_;  // of base_
    Eigen::Matrix3d spin_;  // Rz(spin) of the cell's middle
    double spinAngle_;
    // Bounds over the cell, from its corners: of r, of its length, and of r written as (x, y, z')
    // with z = z' + lean . (x, y), where z' is the turn about the axis but for the tilt's own.
    double mostAlong(const Eigen::Vector3d& direction) const;  // of |direction . r|
    double quadraticBound(const Eigen::Vector3d& a, const Eigen::Vector3d& b) const;
    std::array<Eigen::Vector3d, 8> corners_;
    Eigen::Vector3d rLow_, rHigh_;
    Eigen::Vector2d lean_;
    double leanLow_, leanHigh_;  // of z'
    Eigen::Vector3d leanMost_;   // of |x|, |y|, |z'|
    double rSquare_;
    Eigen::Vector3d middle_, half_;  // box of centres
};

}  // namespace macle
