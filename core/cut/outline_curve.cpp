#include "core/cut/outline_curve.h"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/tolerance.h"
#include "core/base/units.h"

namespace macle {

using Eigen::Vector2d;

namespace {

constexpr double kTurn = 2.0 * std::numbers::pi;

// Rounding at the ends of a piece, as a share of it.
constexpr double kAtTheEnd = 1e-12;

double cross(const Vector2d& a, const Vector2d& b) {
    return a.x() * b.y() - a.y() * b.x();
}

std::optional<double> inPiece(double share) {
    if (!(share >= -kAtTheEnd && share <= 1.0 + kAtTheEnd)) return std::nullopt;
    return std::clamp(share, 0.0, 1.0);
}

}  // namespace

Vector2d OutlineCurve::Piece::point(double share) const {
    if (turn == 0.0) return (1.0 - share) * first + share * second;
    const double s = share * turn;
    return centre + std::cos(s) * first + std::sin(s) * second;
}

Vector2d OutlineCurve::Piece::along(double share) const {
    if (turn == 0.0) return (second - first).normalized();
    const double s = share * turn;
    return (-std::sin(s) * first + std::cos(s) * second).normalized();
}

void OutlineCurve::lineTo(const Vector2d& start, const Vector2d& end) {
    if ((end - start).norm() <= tolerance::kMergeVertex_mm)
        throw Error(ErrorCode::NoSolution, "The outline has a piece without length.",
                    "Move its end or leave it out.");
    pieces_.push_back({Vector2d::Zero(), start, end, 0.0});
}

void OutlineCurve::arcTo(const Vector2d& start, const Vector2d& end, const Vector2d& centre) {
    const Vector2d from = start - centre;
    const Vector2d to = end - centre;
    if (std::abs(from.norm() - to.norm()) > tolerance::kOnPlane_mm)
        throw Error(ErrorCode::NoSolution,
                    "The ends of an arc lie " + formatExact(from.norm()) + " and " +
                        formatExact(to.norm()) + " from its centre.",
                    "Correct the centre: both must be the radius.");
    double turn = std::atan2(cross(from, to), from.dot(to));
    if (turn <= 0.0) turn += kTurn;
    if (from.norm() * std::min(turn, kTurn - turn) <= tolerance::kMergeVertex_mm)
        throw Error(ErrorCode::NoSolution, "The outline has an arc without length.",
                    "Move its end or leave it out.");
    pieces_.push_back({centre, from, Vector2d(-from.y(), from.x()), turn});
}

void OutlineCurve::quarterTo(const Vector2d& start, const Vector2d& end, const Vector2d& centre) {
    if (!(cross(start - centre, end - centre) > 0.0))
        throw Error(ErrorCode::NoSolution, "The quarter of an ellipse does not turn left.",
                    "Give its pieces counter-clockwise, and a centre beside both ends.");
    pieces_.push_back({centre, start - centre, end - centre, std::numbers::pi / 2.0});
}

OutlinePlace OutlineCurve::place(std::size_t piece, double share) const {
    return {pieces_[piece].point(share), pieces_[piece].along(share),
            static_cast<double>(piece) + share};
}

OutlinePlace OutlineCurve::at(double share) const {
    const auto count = static_cast<double>(pieces_.size());
    if (!(share >= 0.0 && share <= count))
        throw Error(ErrorCode::NoSolution,
                    "The outline has no share " + formatExact(share) + "; it has " +
                        std::to_string(pieces_.size()) + " pieces.",
                    "Give 0 to " + std::to_string(pieces_.size()) + ".");
    const double piece = std::min(std::floor(share), count - 1.0);
    return place(static_cast<std::size_t>(piece), share - piece);
}

std::optional<OutlinePlace> OutlineCurve::facing(double azimuth_deg) const {
    const Vector2d n(std::cos(radians(azimuth_deg)), std::sin(radians(azimuth_deg)));
    for (std::size_t k = 0; k < pieces_.size(); ++k) {
        const Piece& p = pieces_[k];
        if (p.turn == 0.0) continue;
        // The point farthest along n: where (first cos s + second sin s).n is greatest.
        double s = std::atan2(p.second.dot(n), p.first.dot(n));
        if (s < -kAtTheEnd * kTurn) s += kTurn;
        if (const auto share = inPiece(s / p.turn)) return place(k, *share);
    }
    return std::nullopt;
}

std::optional<OutlinePlace> OutlineCurve::towards(const Vector2d& point) const {
    // On the ray where cross(point, q) = 0 and point.q > 0.
    for (std::size_t k = 0; k < pieces_.size(); ++k) {
        const Piece& p = pieces_[k];
        std::vector<double> shares;
        if (p.turn == 0.0) {
            const double from = cross(point, p.first);
            shares.push_back(-from / (cross(point, p.second) - from));
        } else {
            // c + a cos s + b sin s = 0
            const double a = cross(point, p.first);
            const double b = cross(point, p.second);
            const double reach = std::hypot(a, b);
            const double middle = std::atan2(b, a);
            const double half = std::acos(std::clamp(-cross(point, p.centre) / reach, -1.0, 1.0));
            for (double s : {middle - half, middle + half}) {
                s -= kTurn * std::floor(s / kTurn);
                if (kTurn - s < kAtTheEnd * kTurn) s = 0.0;
                shares.push_back(s / p.turn);
            }
        }
        for (const double candidate : shares) {
            const auto share = inPiece(candidate);
            if (!share) continue;
            const OutlinePlace found = place(k, *share);
            if (point.dot(found.point) > 0.0) return found;
        }
    }
    return std::nullopt;
}

}  // namespace macle
