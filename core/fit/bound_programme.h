// A small dense linear programme over a box, by the dual simplex method, with bounds that hold in
// spite of rounding. Private to fit.
#pragma once

#include <Eigen/Core>
#include <array>
#include <utility>
#include <vector>

namespace macle {

// Maximises c.x over rows a.x <= b and low <= x <= high. Rows may be added between solves; the
// last basis is used again when the objective is the same.
class BoundProgramme {
  public:
    static constexpr int kSize = 7;
    using Vector = Eigen::Matrix<double, kSize, 1>;
    using Matrix = Eigen::Matrix<double, kSize, kSize>;

    struct Row {
        Vector a;
        double b;
    };

    struct Outcome {
        double bound = 0.0;   // c.x <= bound for every feasible x, proven; -infinity: none
        bool empty = false;   // proven: no feasible x
        bool solved = false;  // x is the optimum up to rounding
        Vector x = Vector::Zero();
        std::array<std::pair<int, double>, kSize> multipliers;  // row (or -1), weight >= 0
    };

    // The basis: which rows or sides of the box hold, and the inverse of their normals.
    struct Basis {
        std::array<int, kSize> member{};  // row index; -1 - 2j: x_j <= high; -2 - 2j: x_j >= low
        Matrix inverse;
        bool ready = false;
    };

    Vector low = Vector::Zero();
    Vector high = Vector::Zero();
    std::vector<Row> rows;

    // `cutoff`: may end as soon as the bound is below it.
    Outcome maximise(const Vector& objective, Basis& basis, double cutoff) const;

  private:
    double provenBound(const Vector& objective, const Basis& basis, const Vector& weights,
                       Outcome& outcome) const;
    bool provenEmpty(const Basis& basis, const Vector& share, const Vector& normal,
                     double limit) const;
    Vector normalOf(int member) const;
    double limitOf(int member) const;
};

}  // namespace macle
