#include "core/light/facet_table.h"

#include <algorithm>
#include <array>
#include <bitset>
#include <cmath>
#include <limits>
#include <numeric>

#include "core/base/error.h"

namespace macle::light {
namespace {

using FaceSet = std::bitset<FacetTable::kMostFaces>;

// Relative slack of the reach: far above the rounding of a start that lies on its face and of a
// direction sorted into a cell, far below any facet, so that it costs nothing.
constexpr double kReachSlack = 1e-9;

// Splits the faces into blocks of neighbours: halved along the longest extent until they fit.
void halve(const std::vector<Eigen::Vector3d>& middles, std::vector<int>& order, std::size_t from,
           std::size_t to) {
    const std::size_t lanes = FaceBlock::kLanes;
    if (to - from <= lanes) return;
    Eigen::Vector3d low = Eigen::Vector3d::Constant(std::numeric_limits<double>::max());
    Eigen::Vector3d high = -low;
    for (std::size_t i = from; i < to; ++i) {
        const Eigen::Vector3d& m = middles[static_cast<std::size_t>(order[i])];
        low = low.cwiseMin(m);
        high = high.cwiseMax(m);
    }
    int axis = 0;
    (high - low).maxCoeff(&axis);
    // A whole number of blocks on the left, so that only the last block is padded.
    const std::size_t blocks = (to - from + lanes - 1) / lanes;
    const std::size_t cut = from + blocks / 2 * lanes;
    std::sort(order.begin() + static_cast<std::ptrdiff_t>(from),
              order.begin() + static_cast<std::ptrdiff_t>(to), [&](int a, int b) {
                  const double x = middles[static_cast<std::size_t>(a)][axis];
                  const double y = middles[static_cast<std::size_t>(b)][axis];
                  return x != y ? x < y : a < b;
              });
    halve(middles, order, from, cut);
    halve(middles, order, cut, to);
}

}  // namespace

int directionCell(double x, double y, double z) {
    const double ax = std::abs(x), ay = std::abs(y), az = std::abs(z);
    const int axis = ax >= ay ? (ax >= az ? 0 : 2) : (ay >= az ? 1 : 2);
    const double major = axis == 0 ? x : axis == 1 ? y : z;
    const double u = axis == 0 ? y : axis == 1 ? z : x;
    const double v = axis == 0 ? z : axis == 1 ? x : y;
    constexpr int n = FacetTable::kFields;
    const double scale = 0.5 * n / std::abs(major);
    const int row = std::clamp(static_cast<int>(u * scale + 0.5 * n), 0, n - 1);
    const int column = std::clamp(static_cast<int>(v * scale + 0.5 * n), 0, n - 1);
    return ((2 * axis + (major > 0.0 ? 0 : 1)) * n + row) * n + column;
}

FacetTable::FacetTable(const ConvexPart& part, double size_mm) {
    const ConvexSolid solid = makeSolid(part);
    if (solid.faces.size() > static_cast<std::size_t>(kMostFaces))
        throw Error(ErrorCode::BadInput,
                    "The cut has " + std::to_string(solid.faces.size()) +
                        " facets in one part; light is traced through at most " +
                        std::to_string(kMostFaces) + ".",
                    "Describe its girdle with fewer facets.");
    layOut(part, solid, size_mm);
    findReach();
}

void FacetTable::layOut(const ConvexPart& part, const ConvexSolid& solid, double size_mm) {
    std::vector<Eigen::Vector3d> middles;
    for (const SolidFace& face : solid.faces) {
        Eigen::Vector3d sum = Eigen::Vector3d::Zero();
        for (const int corner : face.corners)
            sum += solid.vertices[static_cast<std::size_t>(corner)];
        middles.push_back(sum / static_cast<double>(face.corners.size()));
    }
    std::vector<int> order(solid.faces.size());
    std::iota(order.begin(), order.end(), 0);
    halve(middles, order, 0, order.size());

    faceOf_.assign(part.facets.size(), -1);
    blocks_.assign((order.size() + FaceBlock::kLanes - 1) / FaceBlock::kLanes, FaceBlock{});
    for (FaceBlock& block : blocks_)
        std::fill(std::begin(block.d), std::end(block.d), std::numeric_limits<double>::infinity());
    for (std::size_t i = 0; i < order.size(); ++i) {
        const SolidFace& face = solid.faces[static_cast<std::size_t>(order[i])];
        const Facet& facet = part.facets[static_cast<std::size_t>(face.facet)];
        FaceBlock& block = blocks_[i / FaceBlock::kLanes];
        const std::size_t lane = i % FaceBlock::kLanes;
        block.nx[lane] = facet.normal.x();
        block.ny[lane] = facet.normal.y();
        block.nz[lane] = facet.normal.z();
        block.d[lane] = facet.distance * size_mm;
        facets_.push_back(face.facet);
        faceOf_[static_cast<std::size_t>(face.facet)] = static_cast<int>(i);
        auto& corners = corners_.emplace_back();
        for (const int corner : face.corners)
            corners.push_back(size_mm * solid.vertices[static_cast<std::size_t>(corner)]);
    }
    for (const Eigen::Vector3d& v : solid.vertices)
        extent_mm_ = std::max(extent_mm_, size_mm * v.norm());
    all_ = blocks_.size() == 64 ? ~BlockMask{0} : (BlockMask{1} << blocks_.size()) - 1;
}

void FacetTable::findReach() {
    constexpr int n = kFields;
    const auto count = static_cast<std::size_t>(faces());
    const double slack = kReachSlack * extent_mm_;
    // The cells' sides lie in planes through the start with normal e_u - s e_axis, for grid lines
    // s. For each axis, each of its two other directions and each line: what every face spans.
    struct Span {
        double low, high;
    };
    const auto side = [](int axis, int which, int line) {
        Eigen::Vector3d m = Eigen::Vector3d::Zero();
        m[(axis + 1 + which) % 3] = 1.0;
        m[axis] = -(2.0 * line / n - 1.0);
        return m;
    };
    std::vector<Span> spans(3 * 2 * (n + 1) * count);
    const auto spanAt = [&](int axis, int which, int line, std::size_t face) -> Span& {
        return spans[static_cast<std::size_t>((axis * 2 + which) * (n + 1) + line) * count + face];
    };
    for (int axis = 0; axis < 3; ++axis)
        for (int which = 0; which < 2; ++which)
            for (int line = 0; line <= n; ++line) {
                const Eigen::Vector3d m = side(axis, which, line);
                for (std::size_t f = 0; f < count; ++f) {
                    Span span{std::numeric_limits<double>::max(),
                              std::numeric_limits<double>::lowest()};
                    for (const Eigen::Vector3d& corner : corners_[f]) {
                        const double at = m.dot(corner);
                        span.low = std::min(span.low, at);
                        span.high = std::max(span.high, at);
                    }
                    spanAt(axis, which, line, f) = span;
                }
            }

    // The faces that some direction of a cell runs out of: the largest n.d over a cone of
    // directions is at one of its four edges.
    std::vector<FaceSet> facing(kCells);
    for (int axis = 0; axis < 3; ++axis)
        for (int sign = 0; sign < 2; ++sign)
            for (int row = 0; row < n; ++row)
                for (int column = 0; column < n; ++column) {
                    FaceSet& set = facing[static_cast<std::size_t>(
                        ((2 * axis + sign) * n + row) * n + column)];
                    for (int edge = 0; edge < 4; ++edge) {
                        Eigen::Vector3d d;
                        d[axis] = sign == 0 ? 1.0 : -1.0;
                        d[(axis + 1) % 3] = 2.0 * (row + edge % 2) / n - 1.0;
                        d[(axis + 2) % 3] = 2.0 * (column + edge / 2) / n - 1.0;
                        for (std::size_t f = 0; f < count; ++f)
                            if (normal(static_cast<int>(f)).dot(d) > -kReachSlack) set.set(f);
                    }
                }

    reach_.assign(count * kCells, 0);
    // above[axis][which][line]: faces that reach to the side of the plane where u > s |axis|, for
    // rays that run along +axis; below the other side. Along -axis the line s stands for -s.
    std::vector<FaceSet> above(3 * 2 * (n + 1)), below(above.size());
    for (std::size_t from = 0; from < count; ++from) {
        for (int axis = 0; axis < 3; ++axis)
            for (int which = 0; which < 2; ++which)
                for (int line = 0; line <= n; ++line) {
                    const auto at = static_cast<std::size_t>((axis * 2 + which) * (n + 1) + line);
                    above[at].reset();
                    below[at].reset();
                    const Span start = spanAt(axis, which, line, from);
                    for (std::size_t f = 0; f < count; ++f) {
                        const Span& span = spanAt(axis, which, line, f);
                        if (span.high - start.low >= -slack) above[at].set(f);
                        if (span.low - start.high <= slack) below[at].set(f);
                    }
                }
        for (int axis = 0; axis < 3; ++axis)
            for (int sign = 0; sign < 2; ++sign)
                for (int row = 0; row < n; ++row)
                    for (int column = 0; column < n; ++column) {
                        const auto lineAt = [&](int which, int line) {
                            return static_cast<std::size_t>((axis * 2 + which) * (n + 1) +
                                                            (sign == 0 ? line : n - line));
                        };
                        const int cell = ((2 * axis + sign) * n + row) * n + column;
                        const FaceSet set = facing[static_cast<std::size_t>(cell)] &
                                            above[lineAt(0, row)] & below[lineAt(0, row + 1)] &
                                            above[lineAt(1, column)] & below[lineAt(1, column + 1)];
                        BlockMask mask = 0;
                        for (std::size_t f = set._Find_first(); f < set.size();
                             f = set._Find_next(f))
                            mask |= BlockMask{1} << (f / FaceBlock::kLanes);
                        reach_[from * kCells + static_cast<std::size_t>(cell)] = mask;
                    }
    }
}

Eigen::Vector3d FacetTable::normal(int face) const {
    const FaceBlock& block = blocks_[static_cast<std::size_t>(face / FaceBlock::kLanes)];
    const int lane = face % FaceBlock::kLanes;
    return {block.nx[lane], block.ny[lane], block.nz[lane]};
}

double FacetTable::distance(int face) const {
    return blocks_[static_cast<std::size_t>(face / FaceBlock::kLanes)].d[face % FaceBlock::kLanes];
}

}  // namespace macle::light
