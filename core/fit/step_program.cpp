#include "core/fit/step_program.h"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <limits>

namespace macle {

namespace {
constexpr int kMaxPivots = 150;
constexpr double kPivot = 1e-12;
}  // namespace

template <int N>
typename StepProgram<N>::Answer StepProgram<N>::solve(const Step& low, const Step& high) const {
    using Matrix = Eigen::Matrix<double, N + 1, N + 1>;
    using Vector = Eigen::Matrix<double, N + 1, 1>;
    // Basis rows a . (x, s) <= r, with the row each came from; -1 for a side of the box.
    Matrix rows = Matrix::Zero();
    Vector limits;
    std::array<int, N + 1> from;
    from.fill(-1);
    std::size_t first = 0;
    for (std::size_t i = 1; i < rows_.size(); ++i)
        if (rows_[i].value < rows_[first].value) first = i;
    for (int j = 0; j < N; ++j) {
        rows(j, j) = rows_[first].slope[j] >= 0.0 ? 1.0 : -1.0;
        limits[j] = rows(j, j) > 0.0 ? high[j] : -low[j];
    }
    rows.row(N).template head<N>() = -rows_[first].slope.transpose();
    rows(N, N) = 1.0;
    limits[N] = rows_[first].value;
    from[N] = static_cast<int>(first);
    Matrix inverse = rows.inverse();

    double scale = std::max(low.cwiseAbs().maxCoeff(), high.cwiseAbs().maxCoeff());
    for (const Row& row : rows_)
        scale = std::max(scale, std::abs(row.value));
    const double slack = 1e-13 * scale;
    Vector point = inverse * limits;
    for (int pivot = 0; pivot < kMaxPivots; ++pivot) {
        const Step x = point.template head<N>();
        const double s = point[N];
        double worst = slack;
        int entering = -1;
        for (std::size_t i = 0; i < rows_.size(); ++i) {
            const double excess = s - rows_[i].value - rows_[i].slope.dot(x);
            if (excess > worst) {
                worst = excess;
                entering = static_cast<int>(i);
            }
        }
        int side = -1;
        for (int j = 0; j < N; ++j) {
            const double excess = std::max(x[j] - high[j], low[j] - x[j]);
            if (excess > worst) {
                worst = excess;
                side = j;
            }
        }
        if (side < 0 && entering < 0) break;
        Vector row = Vector::Zero();
        double limit = 0.0;
        if (side >= 0) {
            const bool above = x[side] > high[side];
            row[side] = above ? 1.0 : -1.0;
            limit = above ? high[side] : -low[side];
        } else {
            row.template head<N>() = -rows_[entering].slope;
            row[N] = 1.0;
            limit = rows_[entering].value;
        }
        const Vector steps = inverse.transpose() * row;
        int leaving = -1;
        double least = std::numeric_limits<double>::infinity();
        for (int i = 0; i <= N; ++i) {
            if (steps[i] <= kPivot) continue;
            const double ratio = std::max(0.0, inverse(N, i)) / steps[i];
            if (ratio < least) {
                least = ratio;
                leaving = i;
            }
        }
        if (leaving < 0) break;
        rows.row(leaving) = row.transpose();
        limits[leaving] = limit;
        from[leaving] = side >= 0 ? -1 : entering;
        inverse = rows.inverse();
        if (!inverse.allFinite()) break;
        point = inverse * limits;
    }
    Answer answer;
    answer.step = point.template head<N>();
    if (!answer.step.allFinite()) answer.step = 0.5 * (low + high);
    answer.step = answer.step.cwiseMax(low).cwiseMin(high);
    answer.reached = std::numeric_limits<double>::infinity();
    for (const Row& row : rows_)
        answer.reached = std::min(answer.reached, row.value + row.slope.dot(answer.step));
    for (int i = 0; i <= N; ++i) {
        const double share = inverse.allFinite() ? std::max(0.0, inverse(N, i)) : 0.0;
        answer.holding[i] = {from[i], share};
    }
    return answer;
}

template class StepProgram<3>;
template class StepProgram<6>;
template class StepProgram<12>;

}  // namespace macle
