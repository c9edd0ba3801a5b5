#include "core/fit/triangle_minimum.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/fit/facet_scan.h"

namespace macle {

namespace {

// One constraint  du * u + dv * v - z * weight <= limit  of the programme "least z": a facet
// (weight 1) or an edge of the triangle (weight 0).
struct Row {
    double du, dv, weight, limit;
    int facet;  // below 0 for an edge
};

struct Basis {
    Row row[3] = {};
    double inverse[3][3] = {};  // of the matrix whose rows are (du, dv, -weight)

    bool invert() {
        const double m[3][3] = {{row[0].du, row[0].dv, -row[0].weight},
                                {row[1].du, row[1].dv, -row[1].weight},
                                {row[2].du, row[2].dv, -row[2].weight}};
        const double c00 = m[1][1] * m[2][2] - m[1][2] * m[2][1];
        const double c01 = m[1][2] * m[2][0] - m[1][0] * m[2][2];
        const double c02 = m[1][0] * m[2][1] - m[1][1] * m[2][0];
        const double determinant = m[0][0] * c00 + m[0][1] * c01 + m[0][2] * c02;
        if (!(std::abs(determinant) > std::numeric_limits<double>::min())) return false;
        const double r = 1.0 / determinant;
        inverse[0][0] = c00 * r;
        inverse[1][0] = c01 * r;
        inverse[2][0] = c02 * r;
        inverse[0][1] = (m[0][2] * m[2][1] - m[0][1] * m[2][2]) * r;
        inverse[1][1] = (m[0][0] * m[2][2] - m[0][2] * m[2][0]) * r;
        inverse[2][1] = (m[0][1] * m[2][0] - m[0][0] * m[2][1]) * r;
        inverse[0][2] = (m[0][1] * m[1][2] - m[0][2] * m[1][1]) * r;
        inverse[1][2] = (m[0][2] * m[1][0] - m[0][0] * m[1][2]) * r;
        inverse[2][2] = (m[0][0] * m[1][1] - m[0][1] * m[1][0]) * r;
        return true;
    }
    double primal(int variable) const {
        return inverse[variable][0] * row[0].limit + inverse[variable][1] * row[1].limit +
               inverse[variable][2] * row[2].limit;
    }
    bool holds(const Row& edge) const {
        return row[0].facet == edge.facet || row[1].facet == edge.facet ||
               row[2].facet == edge.facet;
    }
    // Shares: y with y^T M = (0, 0, -1).
    double share(int i) const { return -inverse[2][i]; }
};

constexpr Row kEdges[3] = {
    {1.0, 1.0, 0.0, 1.0, -1}, {-1.0, 0.0, 0.0, 0.0, -2}, {0.0, -1.0, 0.0, 0.0, -3}};

// Relative rounding of one facet value.
constexpr double kRounding = 1e-14;
// Barycentric coordinates nearer than this to a corner or edge stand on it.
constexpr double kSnap = 1e-12;
constexpr int kMaxPivots = 200;

struct FacetAt {
    Eigen::Vector3d g;
    double b;
};
FacetAt facetAt(const FacetDoubles* facets, int index) {
    const FacetDoubles& block = facets[index / FacetDoubles::kLanes];
    const int lane = index % FacetDoubles::kLanes;
    return {{block.gx[lane], block.gy[lane], block.gz[lane]}, block.b[lane]};
}

void setShares(const Basis& basis, const FacetDoubles* facets, TriangleMinimum& result) {
    double sum = 0.0;
    result.slope.setZero();
    result.offset = 0.0;
    for (int i = 0; i < 3; ++i) {
        if (basis.row[i].facet < 0) continue;
        const double share = std::max(0.0, basis.share(i));
        const FacetAt f = facetAt(facets, basis.row[i].facet);
        sum += share;
        result.slope += share * f.g;
        result.offset += share * f.b;
    }
    if (sum > 0.0) {
        result.slope /= sum;
        result.offset /= sum;
    } else {  // rounding left no shares: any one facet
        const FacetAt f = facetAt(facets, 0);
        result.slope = f.g;
        result.offset = f.b;
    }
}

}  // namespace

TriangleMinimum minimumOverTriangle(const FacetDoubles* facets, const BlockLayout& layout,
                                    BlockMask mask, const Eigen::Vector3d (&corners)[3],
                                    double stop) {
    TriangleMinimum result;
    double largest = 0.0;
    const Eigen::Vector3d middle = (corners[0] + corners[1] + corners[2]) / 3.0;
    int facet = scan::steepestFacet(facets, layout, mask, middle.data(), &largest);

    const auto rowOf = [&](int index) {
        const FacetAt f = facetAt(facets, index);
        const double v0 = f.g.dot(corners[0]) + f.b;
        return Row{f.g.dot(corners[1] - corners[0]), f.g.dot(corners[2] - corners[0]), 1.0, -v0,
                   index};
    };

    // Dual feasible start: one facet alone is least at a corner, held there by that corner's edges.
    Basis basis;
    basis.row[0] = rowOf(facet);
    {
        const double v1 = basis.row[0].du, v2 = basis.row[0].dv;
        const int corner = (v1 < 0.0 || v2 < 0.0) ? (v1 <= v2 ? 1 : 2) : 0;
        basis.row[1] = kEdges[(corner + 1) % 3];
        basis.row[2] = kEdges[(corner + 2) % 3];
        basis.invert();
    }
    const double scale = std::abs(largest) + std::abs(basis.row[0].du) + std::abs(basis.row[0].dv) +
                         std::abs(basis.row[0].limit);
    const double slack = 8.0 * kRounding * scale;

    double u = 0.0, v = 0.0;
    for (int pivot = 0;; ++pivot) {
        u = basis.primal(0);
        v = basis.primal(1);
        const double z = basis.primal(2);
        if (z > stop + 4.0 * slack) {
            result.beaten = true;
            setShares(basis, facets, result);
            return result;
        }
        // An edge of the basis holds, whatever rounding in a flat basis makes of it.
        if (basis.holds(kEdges[1])) u = 0.0;
        if (basis.holds(kEdges[2])) v = 0.0;
        if (basis.holds(kEdges[0])) {
            if (basis.holds(kEdges[2]))
                u = 1.0;
            else
                v = 1.0 - u;
        }
        // The most violated edge first, then the most violated facet.
        const double w = basis.holds(kEdges[0]) ? 0.0 : 1.0 - u - v;
        const double lowest = std::min({u, v, w});
        Row entering{};
        if (lowest < -kSnap && pivot < kMaxPivots) {
            entering = lowest == w ? kEdges[0] : (lowest == u ? kEdges[1] : kEdges[2]);
        } else {
            u = std::clamp(u, 0.0, 1.0);  // past the last pivot it may lie outside
            v = std::clamp(v, 0.0, 1.0 - u);
            if (u < kSnap) u = 0.0;
            if (v < kSnap) v = 0.0;
            if (1.0 - u - v < kSnap) {  // on the far edge, and at its ends if near them
                if (v == 0.0)
                    u = 1.0;
                else if (u == 0.0)
                    v = 1.0;
            }
            if (u == 0.0 && v == 0.0)
                result.q = corners[0];
            else if (u == 1.0)
                result.q = corners[1];
            else if (v == 1.0)
                result.q = corners[2];
            else
                result.q =
                    corners[0] + u * (corners[1] - corners[0]) + v * (corners[2] - corners[0]);
            facet = scan::steepestFacet(facets, layout, mask, result.q.data(), &largest);
            const bool known = facet == basis.row[0].facet || facet == basis.row[1].facet ||
                               facet == basis.row[2].facet;
            if (largest <= z + slack || known || pivot >= kMaxPivots) {
                // Past the last pivot z still is a proven lower bound: rather too small a stone.
                result.value = pivot >= kMaxPivots ? std::min(z, largest) : largest;
                break;
            }
            entering = rowOf(facet);
        }
        // Ratio test on the shares: entering = sum_i step_i row_i.
        int leaving = -1;
        double least = std::numeric_limits<double>::infinity();
        for (int i = 0; i < 3; ++i) {
            const double step = entering.du * basis.inverse[0][i] +
                                entering.dv * basis.inverse[1][i] -
                                entering.weight * basis.inverse[2][i];
            if (step <= 1e-13) continue;
            const double ratio = std::max(0.0, basis.share(i)) / step;
            if (ratio < least) {
                least = ratio;
                leaving = i;
            }
        }
        const Basis before = basis;
        if (leaving >= 0) basis.row[leaving] = entering;
        if (leaving < 0 || !basis.invert()) {
            // Rounding left no way on; the bound reached is kept.
            basis = before;
            const double held = basis.primal(2);
            u = std::clamp(u, 0.0, 1.0);
            v = std::clamp(v, 0.0, 1.0 - u);
            result.q = corners[0] + u * (corners[1] - corners[0]) + v * (corners[2] - corners[0]);
            scan::steepestFacet(facets, layout, mask, result.q.data(), &largest);
            result.value = std::min(held, largest);
            break;
        }
    }
    setShares(basis, facets, result);
    return result;
}

}  // namespace macle
