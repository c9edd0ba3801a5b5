// Likeness: how far two placements of one design lie apart, and a set that keeps only placements
// that are clearly different. Private to fit.
#pragma once

#include <Eigen/Core>
#include <memory>
#include <vector>

#include "core/cut/design.h"
#include "core/fit/local_fit.h"

namespace macle {

// Corners of the design of size 1, to tell its placements apart by. Errors of makeSolid.
class Likeness {
  public:
    explicit Likeness(const Design& design);

    // How far the placed design reaches in each of some directions that look all round, mm. The
    // same for placements that a symmetry of the design carries into one another.
    Eigen::VectorXd reach_mm(const LocalFit::Place& place) const;

    // As a share of the size: the Hausdorff distance of the convex hulls, as seen in those
    // directions.
    double apart(const LocalFit::Place& a, const LocalFit::Place& b) const;

  private:
    Eigen::Matrix3Xd corners_;
    Eigen::Matrix3Xd directions_;
};

// The largest places of which any two are at least `least` apart. Which are kept depends on the
// order of adding, so add in a fixed one.
class DifferentPlaces {
  public:
    DifferentPlaces(std::shared_ptr<const Likeness> likeness, double least, std::size_t most)
        : likeness_(std::move(likeness)), least_(least), most_(most) {}

    void add(const LocalFit::Place& place);
    std::vector<LocalFit::Place> places() const;  // largest first

  private:
    struct Known {
        LocalFit::Place place;
        Eigen::VectorXd reach_mm;
    };
    std::shared_ptr<const Likeness> likeness_;
    double least_;
    std::size_t most_;
    std::vector<Known> known_;  // largest first
};

}  // namespace macle
