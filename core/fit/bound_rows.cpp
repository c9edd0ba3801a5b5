#include "core/fit/bound_rows.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace macle {

namespace {

using Eigen::Matrix3d;
using Eigen::Vector3d;
using Row = BoundProgramme::Row;
using Vector = BoundProgramme::Vector;

// Rounding of a row's coefficients, in scaled lengths: about a thousand times what is needed.
constexpr double kRowRounding = 1e-12;
// Facet normals are of length 1 only to this.
constexpr double kNormalLength = 1e-8;

// Outward rounding of what the corners give.
constexpr double kCornerRounding = 1e-14;

}  // namespace

CellRows::CellRows(const BoundModel& model, const BoundCell& cell, double sizeLow, double sizeHigh)
    : model_(model),
      sizeLow_(sizeLow),
      sizeHigh_(sizeHigh),
      base_(cell.rotation.base()),
      turn_(base_.toRotationMatrix()),
      spinAngle_(cell.rotation.centre().z()),
      middle_(0.5 * (cell.centreLow + cell.centreHigh)),
      half_((cell.centreHigh - middle_).cwiseMax(middle_ - cell.centreLow)) {
    spin_ = Eigen::AngleAxisd(spinAngle_, Vector3d::UnitZ()).toRotationMatrix();
    corners_ = cell.rotation.rodriguesCorners();
    lean_ = Eigen::Vector2d(cell.rotation.centre().y(), -cell.rotation.centre().x());
    rLow_ = rHigh_ = Vector3d::Zero();
    leanLow_ = leanHigh_ = rSquare_ = 0.0;
    for (const Vector3d& r : corners_) {
        rLow_ = rLow_.cwiseMin(r);
        rHigh_ = rHigh_.cwiseMax(r);
        const double own = r.z() - lean_.dot(r.head<2>());
        leanLow_ = std::min(leanLow_, own);
        leanHigh_ = std::max(leanHigh_, own);
        rSquare_ = std::max(rSquare_, r.squaredNorm());
    }
    rLow_.array() -= kCornerRounding;
    rHigh_.array() += kCornerRounding;
    leanLow_ -= kCornerRounding;
    leanHigh_ += kCornerRounding;
    rSquare_ += kCornerRounding;
    leanMost_ = rHigh_.cwiseMax(-rLow_);
    leanMost_.z() = std::max(leanHigh_, -leanLow_);
}

double CellRows::mostAlong(const Vector3d& direction) const {
    double most = 0.0;
    for (const Vector3d& r : corners_)
        most = std::max(most, std::abs(direction.dot(r)));
    return most + kCornerRounding;
}

// Upper bound of r.M r for M = (a b^T + b a^T) - 2 (a.b) I, of which the largest eigenvalue is
// |a||b| - a.b; by that or by the entries of M for (x, y, z'), whichever is less.
double CellRows::quadraticBound(const Vector3d& a, const Vector3d& b) const {
    const double dot = a.dot(b);
    const double byEigenvalue = std::max(0.0, a.norm() * b.norm() - dot) * rSquare_;
    Matrix3d lean = Matrix3d::Identity();
    lean(2, 0) = lean_.x();
    lean(2, 1) = lean_.y();
    const Vector3d c = lean.transpose() * a, d = lean.transpose() * b;
    const Matrix3d square = lean.transpose() * lean;
    double byEntries = 0.0;
    for (int i = 0; i < 3; ++i) {
        byEntries +=
            std::max(0.0, 2.0 * (c[i] * d[i] - dot * square(i, i))) * leanMost_[i] * leanMost_[i];
        for (int j = 0; j < i; ++j)
            byEntries += 2.0 * std::abs(c[i] * d[j] + c[j] * d[i] - 2.0 * dot * square(i, j)) *
                         leanMost_[i] * leanMost_[j];
    }
    return std::min(byEigenvalue, byEntries);
}

void CellRows::setBox(BoundProgramme& programme) const {
    programme.low[0] = sizeLow_;
    programme.high[0] = sizeHigh_;
    for (int i = 0; i < 3; ++i) {
        // |u_i| <= 2 s |r_i|, as r_i / (1 + r.r) is between 0 and r_i.
        programme.low[1 + i] = 2.0 * sizeHigh_ * rLow_[i];
        programme.high[1 + i] = 2.0 * sizeHigh_ * rHigh_[i];
        programme.low[4 + i] = -half_[i];
        programme.high[4 + i] = half_[i];
        Row above{Vector::Zero(), kRowRounding}, below{Vector::Zero(), kRowRounding};
        above.a[1 + i] = 1.0;
        above.a[0] = -2.0 * rHigh_[i];
        below.a[1 + i] = -1.0;
        below.a[0] = 2.0 * rLow_[i];
        programme.rows.push_back(above);
        programme.rows.push_back(below);
    }
    Row above{Vector::Zero(), kRowRounding}, below{Vector::Zero(), kRowRounding};
    above.a[3] = 1.0;
    above.a.segment<2>(1) = -lean_;
    below.a = -above.a;
    above.a[0] = -2.0 * leanHigh_;
    below.a[0] = 2.0 * leanLow_;
    programme.rows.push_back(above);
    programme.rows.push_back(below);
}

Row CellRows::hullRow(const HullPair& pair, double* error) const {
    // n.(s R v + t) + allowance <= b. With m = R0^T n and sigma = s / (1 + r.r):
    // s m.R(r)v = s m.v + u.(v x m) + sigma (2 (m.r)(v.r) - 2 (r.r)(m.v)), and the last bracket is
    // at least minus the bound for (-m, v) below.
    const SupportPlane& plane = model_.planes[pair.plane];
    const Vector3d v = spin_ * model_.parts[pair.part].vertices()[pair.vertex];
    const Vector3d m = turn_.transpose() * plane.normal;
    const double lost = quadraticBound(-m, v);
    if (error) *error = sizeHigh_ * lost;
    Row row;
    row.a[0] = m.dot(v) - lost;
    row.a.segment<3>(1) = v.cross(m);
    row.a.tail<3>() = plane.normal;
    row.b = plane.distance - plane.normal.dot(middle_) - model_.allowance * (1.0 - kNormalLength) +
            kRowRounding;
    return row;
}

Row CellRows::pointRow(const Vector3d& point, int part, int facet, double* error,
                       double margin) const {
    // s d + a <= (R n).(p - t) = R(r)n.(q0 - tau), q0 = R0^T (p - t0), tau = R0^T (t - t0):
    // n.q + g.(n x q) + (2 (r.n)(r.q) - 2 (r.r)(n.q)) / (1 + r.r), g = u / s = 2 r / (1 + r.r).
    const BoundFacet& plane = model_.parts[part].facets()[facet];
    const Vector3d n = spin_ * plane.normal;
    const Vector3d q0 = turn_.transpose() * (point - middle_);
    const Vector3d lever = n.cross(q0);
    // Quadratic in r; it is linear in q, so that tau adds at most 2 (r.r) |tau|.
    double added = quadraticBound(n, q0) + 2.0 * rSquare_ * half_.norm();
    // g.(n x tau) is bilinear in g and t - t0: by column, g.c times a width.
    for (int j = 0; j < 3; ++j)
        added += 2.0 * half_[j] * mostAlong(turn_.row(j).transpose().cross(n));
    // g.lever = u.lever / s0 + g.lever (1 - s / s0).
    const double middleSize = 0.5 * (sizeLow_ + sizeHigh_);
    added += 2.0 * mostAlong(lever) * 0.5 * (sizeHigh_ - sizeLow_) / middleSize;
    if (error) *error = added;
    Row row;
    row.a[0] = plane.distance;
    row.a.segment<3>(1) = -lever / middleSize;
    row.a.tail<3>() = turn_ * n;
    row.b = n.dot(q0) - model_.allowance - margin + added + kRowRounding;
    return row;
}

HullPair CellRows::worstPair(int plane, int part, const Vector& x) const {
    const Vector3d m = turn_.transpose() * model_.planes[plane].normal;
    const Vector3d u = x.segment<3>(1);
    const Vector3d direction = spin_.transpose() * (x[0] * m + m.cross(u));
    return {plane, part, model_.parts[part].farthest(direction)};
}

std::array<double, 6> CellRows::widths(const Vector3d& point, int part, int facet) const {
    const Vector3d n = spin_ * model_.parts[part].facets()[facet].normal;
    const Vector3d lever = n.cross(turn_.transpose() * (point - middle_));
    const Vector3d out = turn_ * n;
    std::array<double, 6> found{};
    for (int axis = 0; axis < 3; ++axis) {
        Vector3d across = Vector3d::Zero();
        for (int corner = 0; corner < 8; ++corner)
            across += (corner >> axis & 1 ? 0.25 : -0.25) * corners_[corner];
        found[axis] = 2.0 * std::abs(lever.dot(across));
        found[3 + axis] = 2.0 * half_[axis] * std::abs(out[axis]);
    }
    return found;
}

double CellRows::sizeInHull(const Eigen::Quaterniond& rotation, const Vector3d& centre) const {
    const Matrix3d back = rotation.toRotationMatrix().transpose();
    double least = std::numeric_limits<double>::infinity();
    for (const SupportPlane& plane : model_.planes) {
        const double room = plane.distance - plane.normal.dot(centre) - model_.allowance;
        if (room > least * model_.reach) continue;
        const Vector3d direction = back * plane.normal;
        for (const BoundPart& part : model_.parts)
            least =
                std::min(least, room / direction.dot(part.vertices()[part.farthest(direction)]));
    }
    return least;
}

bool CellRows::impossible(const BoundProgramme& programme, const Row& row) {
    double least = 0.0;
    for (int j = 0; j < BoundProgramme::kSize; ++j)
        least += std::min(row.a[j] * programme.low[j], row.a[j] * programme.high[j]);
    return least > row.b + kRowRounding;
}

Row CellRows::either(const BoundProgramme& programme, const std::vector<Row>& rows) {
    if (rows.size() == 1) return rows.front();
    Row joined{Vector::Zero(), -std::numeric_limits<double>::infinity()};
    for (const Row& row : rows)
        joined.a += row.a / static_cast<double>(rows.size());
    // Over the part of the box where one row holds, joined.a.x is at most, for any weight w >= 0,
    // w b + max over the box of (joined.a - w a).x; the best w is where a coefficient vanishes.
    for (const Row& row : rows) {
        double best = std::numeric_limits<double>::infinity();
        for (int k = -1; k < BoundProgramme::kSize; ++k) {
            const double weight = k < 0 ? 1.0 : joined.a[k] / row.a[k];
            if (!(weight >= 0.0) || !std::isfinite(weight)) continue;
            double value = weight * row.b;
            for (int j = 0; j < BoundProgramme::kSize; ++j) {
                const double c = joined.a[j] - weight * row.a[j];
                value += std::max(c * programme.low[j], c * programme.high[j]);
            }
            best = std::min(best, value + kRowRounding * (1.0 + weight));
        }
        joined.b = std::max(joined.b, best);
    }
    return joined;
}

Eigen::Quaterniond CellRows::rotationAt(const Vector& x) const {
    const Vector3d g = x.segment<3>(1) / x[0];
    const double length = g.norm();
    Vector3d r = 0.5 * g;
    if (length > 1e-8) {
        const double tangent =
            length < 1.0 ? (1.0 - std::sqrt(1.0 - length * length)) / length : 1.0;
        r = g * (tangent / length);
    }
    r = r.cwiseMax(rLow_).cwiseMin(rHigh_);
    const Eigen::Quaterniond turn = Eigen::Quaterniond(1.0, r.x(), r.y(), r.z()).normalized();
    return (base_ * turn * Eigen::Quaterniond(Eigen::AngleAxisd(spinAngle_, Vector3d::UnitZ())))
        .normalized();
}

}  // namespace macle
