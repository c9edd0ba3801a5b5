#include "core/fit/bound_programme.h"

#include <Eigen/LU>
#include <cmath>
#include <limits>

namespace macle {

namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kFeasible = 1e-10;  // lengths are scaled to about 1
constexpr double kPivot = 1e-9;
// Relative error of a sum of products of the lengths met here, counted generously.
constexpr double kRounding = 1e-13;
constexpr int kMostPivots = 200;
constexpr int kRefactorAfter = 40;

// Tiny weights on the idle variables break the ties of the start basis. The proven bound is taken
// with the true objective, so that they cost at most their own size.
BoundProgramme::Vector perturbed(const BoundProgramme::Vector& objective) {
    BoundProgramme::Vector c = objective;
    constexpr double kTie = 2e-8;
    for (int j = 0; j < BoundProgramme::kSize; ++j)
        if (c[j] == 0.0) c[j] = kTie * (1.0 + 0.37 * j) * (j % 2 ? 1.0 : -1.0);
    return c;
}

}  // namespace

BoundProgramme::Vector BoundProgramme::normalOf(int member) const {
    if (member >= 0) return rows[member].a;
    const int side = -1 - member;
    Vector normal = Vector::Zero();
    normal[side / 2] = side % 2 == 0 ? 1.0 : -1.0;
    return normal;
}

double BoundProgramme::limitOf(int member) const {
    if (member >= 0) return rows[member].b;
    const int side = -1 - member;
    return side % 2 == 0 ? high[side / 2] : -low[side / 2];
}

double BoundProgramme::provenBound(const Vector& objective, const Basis& basis,
                                   const Vector& weights, Outcome& outcome) const {
    Vector rest = objective;
    double value = 0.0, size = 0.0;
    for (int i = 0; i < kSize; ++i) {
        outcome.multipliers[i] = {-1, 0.0};
        if (basis.member[i] < 0 || !(weights[i] > 0.0)) continue;
        const Row& row = rows[basis.member[i]];
        outcome.multipliers[i] = {basis.member[i], weights[i]};
        rest -= weights[i] * row.a;
        value += weights[i] * row.b;
        size += weights[i] *
                (std::abs(row.b) + row.a.cwiseAbs().dot(low.cwiseAbs().cwiseMax(high.cwiseAbs())));
    }
    for (int j = 0; j < kSize; ++j) {
        const double term = std::max(rest[j] * low[j], rest[j] * high[j]);
        value += term;
        size +=
            std::abs(term) + std::abs(objective[j]) * std::max(std::abs(low[j]), std::abs(high[j]));
    }
    return value + kRounding * size;
}

bool BoundProgramme::provenEmpty(const Basis& basis, const Vector& share, const Vector& normal,
                                 double limit) const {
    // normal = sum share_i * member_i with no positive share: adding the members with weights
    // -share gives 0.x <= sum, impossible when the sum is negative. Checked over the box.
    Vector rest = normal;
    double value = limit;
    double size = std::abs(limit) + normal.cwiseAbs().dot(low.cwiseAbs().cwiseMax(high.cwiseAbs()));
    for (int i = 0; i < kSize; ++i) {
        if (basis.member[i] < 0 || !(share[i] < 0.0)) continue;
        const Row& row = rows[basis.member[i]];
        rest -= share[i] * row.a;
        value -= share[i] * row.b;
        size -= share[i] *
                (std::abs(row.b) + row.a.cwiseAbs().dot(low.cwiseAbs().cwiseMax(high.cwiseAbs())));
    }
    double least = 0.0;
    for (int j = 0; j < kSize; ++j)
        least += std::min(rest[j] * low[j], rest[j] * high[j]);
    return least > value + kRounding * size;
}

BoundProgramme::Outcome BoundProgramme::maximise(const Vector& objective, Basis& basis,
                                                 double cutoff) const {
    const Vector c = perturbed(objective);
    if (!basis.ready) {
        basis.inverse.setZero();
        for (int j = 0; j < kSize; ++j) {
            basis.member[j] = c[j] >= 0.0 ? -1 - 2 * j : -2 - 2 * j;
            basis.inverse(j, j) = c[j] >= 0.0 ? 1.0 : -1.0;
        }
        basis.ready = true;
    }
    Outcome outcome;
    Vector limits;
    int sinceFactor = 0;
    for (int pivot = 0;; ++pivot) {
        if (sinceFactor >= kRefactorAfter) {
            Matrix normals;
            for (int i = 0; i < kSize; ++i)
                normals.row(i) = normalOf(basis.member[i]).transpose();
            basis.inverse = normals.inverse();
            sinceFactor = 0;
        }
        for (int i = 0; i < kSize; ++i)
            limits[i] = limitOf(basis.member[i]);
        outcome.x = basis.inverse * limits;
        const Vector weights = basis.inverse.transpose() * c;
        if (pivot >= kMostPivots || !outcome.x.allFinite() || objective.dot(outcome.x) < cutoff) {
            outcome.bound = provenBound(objective, basis, weights, outcome);
            if (outcome.bound < cutoff || pivot >= kMostPivots || !outcome.x.allFinite()) {
                if (!std::isfinite(outcome.bound)) outcome.bound = kInfinity;
                return outcome;
            }
        }
        int entering = 0;
        double worst = kFeasible;
        bool found = false;
        for (int r = 0; r < static_cast<int>(rows.size()); ++r) {
            const double excess = rows[r].a.dot(outcome.x) - rows[r].b;
            if (excess > worst) {
                worst = excess;
                entering = r;
                found = true;
            }
        }
        for (int j = 0; j < kSize; ++j) {
            if (outcome.x[j] - high[j] > worst) {
                worst = outcome.x[j] - high[j];
                entering = -1 - 2 * j;
                found = true;
            }
            if (low[j] - outcome.x[j] > worst) {
                worst = low[j] - outcome.x[j];
                entering = -2 - 2 * j;
                found = true;
            }
        }
        if (!found) {
            outcome.solved = true;
            outcome.bound = provenBound(objective, basis, weights, outcome);
            if (!std::isfinite(outcome.bound)) outcome.bound = kInfinity;
            return outcome;
        }
        const Vector normal = normalOf(entering);
        const Vector share = basis.inverse.transpose() * normal;
        int leaving = -1;
        double ratio = kInfinity;
        for (int i = 0; i < kSize; ++i) {
            if (share[i] <= kPivot) continue;
            const double here = std::max(weights[i], 0.0) / share[i];
            if (here < ratio || (here == ratio && share[i] > share[leaving])) {
                ratio = here;
                leaving = i;
            }
        }
        if (leaving < 0) {
            if (provenEmpty(basis, share, normal, limitOf(entering))) {
                outcome.empty = true;
                outcome.bound = -kInfinity;
                return outcome;
            }
            outcome.bound = provenBound(objective, basis, weights, outcome);
            return outcome;
        }
        const Vector column = basis.inverse.col(leaving) / share[leaving];
        for (int i = 0; i < kSize; ++i)
            if (i != leaving) basis.inverse.col(i) -= share[i] * column;
        basis.inverse.col(leaving) = column;
        basis.member[leaving] = entering;
        ++sinceFactor;
    }
}

}  // namespace macle
