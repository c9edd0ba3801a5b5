// StepProgram: the small linear programme of one step of the local fit. Private to fit.
//
//   maximise s  subject to  s <= value_i + slope_i . x  for every row,  |x_j| <= radius
//
// Solved by the dual simplex method from a basis that is dual feasible by construction.
#pragma once

#include <Eigen/Core>
#include <vector>

namespace macle {

template <int N>
class StepProgram {
  public:
    using Step = Eigen::Matrix<double, N, 1>;

    void clear() { rows_.clear(); }
    void add(double value, const Step& slope) { rows_.push_back({value, slope}); }
    bool empty() const { return rows_.empty(); }

    // The best step; `reached` is the s it promises. Deterministic. When rounding or degeneracy
    // ends the pivots early, the step is still inside the box and `reached` what the rows say
    // there.
    Step solve(double radius, double& reached) const;

  private:
    struct Row {
        double value;
        Step slope;
    };
    std::vector<Row> rows_;
};

extern template class StepProgram<3>;
extern template class StepProgram<6>;

}  // namespace macle
