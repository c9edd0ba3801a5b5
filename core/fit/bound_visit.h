// One cell examined: its bound, a pose worth trying, and the cells to go on with. Private to fit.
#pragma once

#include <optional>
#include <vector>

#include "core/cut/placement.h"
#include "core/fit/bound_rows.h"
#include "core/fit/gauge_kernel.h"
#include "core/fit/obstacle_tree.h"

namespace macle {

struct BoundScale {
    Eigen::Vector3d origin_mm = Eigen::Vector3d::Zero();
    double unit_mm = 1.0;  // half of the rough's diagonal
    Eigen::Vector3d toScaled(const Eigen::Vector3d& p) const { return (p - origin_mm) / unit_mm; }
    Eigen::Vector3d toStone(const Eigen::Vector3d& p) const { return origin_mm + unit_mm * p; }
};

struct VisitResult {
    double bound = 0.0;               // of what is left in the cell; 0 when nothing is
    std::vector<BoundCell> children;  // empty with a bound: nothing to gain by dividing
    std::optional<Placement> found;   // a placement larger than the size asked for
};

// Holds scratch memory; one per thread.
class CellVisitor {
  public:
    CellVisitor(const BoundModel& model, const BoundScale& scale, const ObstacleTree& tree,
                const std::vector<PreparedPart>& parts);

    // `sizeLow` (scaled): only placements larger than this matter.
    VisitResult visit(const BoundCell& cell, double sizeLow);

  private:
    struct Work;
    bool cutByHull(Work& work, const BoundProgramme::Vector& x);
    bool narrow(Work& work);
    void fill(Work& work);
    void addChoiceRow(Work& work, PointChoice& choice);
    // The surface point that the design in the cell's middle runs into most, against the whole
    // cell; work.empty when no facet can give way.
    void tryMiddle(Work& work);
    // Next surface point that the solution runs into, and what to do about it.
    bool cutByPoint(Work& work, const BoundProgramme::Outcome& outcome, VisitResult& result);
    // In half along the axis that takes most of the error out of the rows that hold the solution,
    // and of the facets `blocked`.
    void divide(Work& work, const BoundProgramme::Outcome& outcome, const PointChoice* blocked,
                VisitResult& result);
    // In half along one axis: x, y, spin, then those of the centre.
    void halve(const Work& work, const BoundProgramme::Outcome& outcome, int axis,
               VisitResult& result) const;
    void branch(Work& work, const BoundProgramme::Outcome& outcome, const PointChoice& choice,
                const std::vector<double>& bounds, VisitResult& result);
    BoundCell childOf(const Work& work, const BoundProgramme::Vector& x) const;
    double nearestSurface_mm(const Eigen::Vector3d& point_mm) const;

    const BoundModel& model_;
    const BoundScale& scale_;
    const ObstacleTree& tree_;
    PoseQuery query_;
    int warm_ = -1;  // a triangle met before; speeds up a query and changes no answer
};

}  // namespace macle
