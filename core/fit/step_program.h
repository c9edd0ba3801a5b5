// StepProgram: the small linear programme of one step of the local fit. Private to fit.
//
//   maximise s  subject to  s <= value_i + slope_i . x  for every row,  low <= x <= high
//
// Solved by the dual simplex method from a basis that is dual feasible by construction.
#pragma once

#include <Eigen/Core>
#include <array>
#include <utility>
#include <vector>

namespace macle {

template <int N>
class StepProgram {
  public:
    using Step = Eigen::Matrix<double, N, 1>;

    void clear() { rows_.clear(); }
    void add(double value, const Step& slope) { rows_.push_back({value, slope}); }
    bool empty() const { return rows_.empty(); }

    struct Answer {
        Step step = Step::Zero();
        double reached = 0.0;  // the s it promises
        // The share of each row that holds the step, in the order of the rows; they sum to 1.
        std::array<std::pair<int, double>, N + 1> holding;  // row (or -1: a side of the box)
    };

    // The best step in the box, low <= high in every coordinate. Deterministic. When rounding or
    // degeneracy ends the pivots early, the step is still inside the box and `reached` what the
    // rows say there.
    Answer solve(const Step& low, const Step& high) const;
    Answer solve(double radius) const {
        return solve(Step::Constant(-radius), Step::Constant(radius));
    }

  private:
    struct Row {
        double value;
        Step slope;
    };
    std::vector<Row> rows_;
};

extern template class StepProgram<3>;
extern template class StepProgram<6>;
extern template class StepProgram<12>;

}  // namespace macle
