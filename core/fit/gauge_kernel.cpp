#include "core/fit/gauge_kernel.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "core/base/error.h"
#include "core/fit/facet_scan.h"
#include "core/fit/triangle_minimum.h"

namespace macle {

namespace {

// Facets that attain the value within this share of it count as touching.
constexpr double kSameValue = 1e-9;
constexpr std::size_t kLeafMost = 8;

// Order in which each next facet points farthest from all before it, so that the first lanes
// already hold the design from all sides.
std::vector<int> spreadOrder(const ConvexPart& part) {
    const int count = static_cast<int>(part.facets.size());
    std::vector<int> order;
    std::vector<double> nearest(count, std::numeric_limits<double>::infinity());
    int next = 0;
    for (int i = 0; i < count; ++i) {
        order.push_back(next);
        nearest[next] = -1.0;
        int farthest = -1;
        for (int k = 0; k < count; ++k) {
            if (nearest[k] < 0.0) continue;
            nearest[k] =
                std::min(nearest[k], (part.facets[k].normal - part.facets[next].normal).norm());
            if (farthest < 0 || nearest[k] > nearest[farthest]) farthest = k;
        }
        next = farthest;
    }
    return order;
}

bool precedes(const Contact& a, const Contact& b) {
    if (a.value != b.value) return a.value < b.value;
    if (a.triangle != b.triangle) return a.triangle < b.triangle;
    return a.part < b.part;
}

}  // namespace

std::vector<PreparedPart> prepareParts(const Design& design, const FitRules& rules) {
    if (!(rules.allowance_mm >= 0.0) || !std::isfinite(rules.allowance_mm))
        throw Error(ErrorCode::BadUsage, "The polishing allowance must be zero or more, in mm.",
                    "Give a length such as 0.05.");
    if (design.parts.empty())
        throw Error(ErrorCode::BadInput, "The cut has no parts.", "Choose another cut.");
    std::vector<PreparedPart> prepared;
    for (const ConvexPart& part : design.parts) {
        if (part.facets.empty())
            throw Error(ErrorCode::BadInput, "A part of the cut has no facets.",
                        "Choose another cut.");
        PreparedPart out;
        for (const Facet& facet : part.facets)
            if (!(facet.distance > 0.0) || !std::isfinite(facet.distance) ||
                !facet.normal.allFinite() || std::abs(facet.normal.norm() - 1.0) > kSameValue)
                throw Error(
                    ErrorCode::BadInput,
                    "The facet '" + facet.name +
                        "' has no unit normal, or does not keep the middle of the cut inside.",
                    "Correct the proportions.");
        for (const int k : spreadOrder(part)) {
            const Facet& facet = part.facets[k];
            out.g.push_back(facet.normal / facet.distance);
            out.b.push_back(-rules.allowance_mm / facet.distance);
            out.facet.push_back(k);
            out.steepest = std::max(out.steepest, std::sqrt(3.0) / facet.distance);
            out.deepest = std::max(out.deepest, rules.allowance_mm / facet.distance);
        }
        prepared.push_back(std::move(out));
    }
    return prepared;
}

PoseQuery::PoseQuery(const ObstacleTree& tree, const std::vector<PreparedPart>& parts)
    : tree_(&tree), parts_(&parts), posed_(parts.size()), marginByPart_(parts.size(), 0.0) {
    for (std::size_t p = 0; p < parts.size(); ++p) {
        const std::size_t count = parts[p].g.size();
        posed_[p].floats.resize((count + FacetFloats::kLanes - 1) / FacetFloats::kLanes);
        posed_[p].doubles.resize((count + FacetDoubles::kLanes - 1) / FacetDoubles::kLanes);
    }
}

void PoseQuery::aim(const Eigen::Quaterniond& rotation, const Eigen::Vector3d& centre) {
    const Eigen::Matrix3d turn = rotation.normalized().toRotationMatrix();
    centre_ = centre;
    const Eigen::Vector3d relative = centre - tree_->origin();
    for (int axis = 0; axis < 3; ++axis)
        centreFloat_[axis] = static_cast<float>(relative[axis]);
    const double span = tree_->reach_mm() + relative.cwiseAbs().maxCoeff();
    for (std::size_t p = 0; p < parts_->size(); ++p) {
        const PreparedPart& part = (*parts_)[p];
        PosedPart& posed = posed_[p];
        const std::size_t count = part.g.size();
        for (std::size_t i = 0; i < posed.floats.size() * FacetFloats::kLanes; ++i) {
            const std::size_t k = i < count ? i : 0;
            const Eigen::Vector3d g = turn * part.g[k];
            FacetFloats& f = posed.floats[i / FacetFloats::kLanes];
            const std::size_t lane = i % FacetFloats::kLanes;
            f.gx[lane] = static_cast<float>(g.x());
            f.gy[lane] = static_cast<float>(g.y());
            f.gz[lane] = static_cast<float>(g.z());
            f.ax[lane] = std::abs(f.gx[lane]);
            f.ay[lane] = std::abs(f.gy[lane]);
            f.az[lane] = std::abs(f.gz[lane]);
            f.b[lane] = static_cast<float>(part.b[k]);
            if (i < posed.doubles.size() * FacetDoubles::kLanes) {
                FacetDoubles& d = posed.doubles[i / FacetDoubles::kLanes];
                const std::size_t at = i % FacetDoubles::kLanes;
                d.gx[at] = g.x();
                d.gy[at] = g.y();
                d.gz[at] = g.z();
                d.b[at] = part.b[k];
            }
        }
        // Every float value differs from the true one by less than this: about ten roundings of
        // terms no larger than steepest * span, here counted generously.
        marginByPart_[p] = 16.0 * std::numeric_limits<float>::epsilon() *
                           (part.steepest * 2.0 * span + part.deepest);
    }
}

bool PoseQuery::improveByTriangle(int part, int triangle, Contact& best) {
    const TreeTriangle& t = tree_->triangles()[triangle];
    const Eigen::Vector3d corners[3] = {
        Eigen::Vector3d(t.corner[0], t.corner[1], t.corner[2]) - centre_,
        Eigen::Vector3d(t.corner[3], t.corner[4], t.corner[5]) - centre_,
        Eigen::Vector3d(t.corner[6], t.corner[7], t.corner[8]) - centre_};
    const PosedPart& posed = posed_[part];
    const TriangleMinimum minimum =
        minimumOverTriangle(posed.doubles.data(), posed.doubles.size(), corners, best.value);
    if (minimum.beaten) return false;
    Contact contact;
    contact.value = minimum.value;
    contact.triangle = triangle;
    contact.part = part;
    if (!precedes(contact, best)) return false;
    contact.q = minimum.q;
    contact.slope = minimum.slope;
    best = contact;
    return true;
}

void PoseQuery::descend(int part, std::uint32_t root, Contact& best) {
    struct Waiting {
        std::uint32_t node;
        float bound;
    };
    const PosedPart& posed = posed_[part];
    const FacetFloats* facets = posed.floats.data();
    const std::size_t blocks = posed.floats.size();
    const double margin = marginByPart_[part];
    const std::vector<TreeNode>& nodes = tree_->nodes();
    std::array<Waiting, 160> stack;
    int top = 0;
    stack[top++] = {root, -std::numeric_limits<float>::infinity()};
    while (top > 0) {
        Waiting now = stack[--top];
        if (now.bound - margin > best.value) continue;
        const TreeNode* node = &nodes[now.node];
        while (node->count == 0) {
            const TreeNode* child = &nodes[node->first];
            float q[2][3], bounds[2];
            for (int i = 0; i < 2; ++i)
                for (int axis = 0; axis < 3; ++axis)
                    q[i][axis] = child[i].centre[axis] - centreFloat_[axis];
            scan::boxBounds(facets, blocks, q[0], child[0].half.data(), q[1], child[1].half.data(),
                            bounds);
            ++nodesVisited;
            const int near = bounds[1] < bounds[0] ? 1 : 0;
            if (bounds[1 - near] - margin <= best.value)
                stack[top++] = {node->first + static_cast<std::uint32_t>(1 - near),
                                bounds[1 - near]};
            if (bounds[near] - margin > best.value) {
                node = nullptr;
                break;
            }
            node = child + near;
        }
        if (!node) continue;
        float corners[9 * kLeafMost], bounds[kLeafMost];
        for (std::uint32_t i = 0; i < node->count; ++i) {
            const TreeTriangle& t = tree_->triangles()[node->first + i];
            for (int c = 0; c < 9; ++c)
                corners[9 * i + c] = static_cast<float>(t.corner[c] - centre_[c % 3]);
        }
        scan::triangleBounds(facets, blocks, corners, node->count, bounds);
        for (std::uint32_t i = 0; i < node->count; ++i)
            if (bounds[i] - margin <= best.value)
                improveByTriangle(part, static_cast<int>(node->first + i), best);
    }
}

Contact PoseQuery::smallest(int warm) {
    Contact best;
    best.value = std::numeric_limits<double>::infinity();
    best.triangle = std::numeric_limits<int>::max();
    const int parts = static_cast<int>(parts_->size());
    if (warm >= 0 && warm < static_cast<int>(tree_->triangles().size()))
        for (int part = 0; part < parts; ++part)
            improveByTriangle(part, warm, best);
    for (int part = 0; part < parts; ++part)
        descend(part, 0, best);
    require(best.part >= 0, "a gauge query finds a triangle");
    best.facet = touchedFacet(best);
    return best;
}

int PoseQuery::touchedFacet(const Contact& contact) const {
    const PosedPart& posed = posed_[contact.part];
    const PreparedPart& prepared = (*parts_)[contact.part];
    const double band = kSameValue * std::max(1.0, std::abs(contact.value));
    int lowest = -1;
    for (std::size_t i = 0; i < prepared.g.size(); ++i) {
        const FacetDoubles& block = posed.doubles[i / FacetDoubles::kLanes];
        const std::size_t lane = i % FacetDoubles::kLanes;
        const double value = block.gx[lane] * contact.q.x() + block.gy[lane] * contact.q.y() +
                             block.gz[lane] * contact.q.z() + block.b[lane];
        if (value >= contact.value - band && (lowest < 0 || prepared.facet[i] < lowest))
            lowest = prepared.facet[i];
    }
    return lowest;
}

double PoseQuery::valueAt(const Eigen::Vector3d& q) const {
    double least = std::numeric_limits<double>::infinity();
    for (const PosedPart& posed : posed_) {
        double value = 0.0;
        scan::steepestFacet(posed.doubles.data(), posed.doubles.size(), q.data(), &value);
        least = std::min(least, value);
    }
    return least;
}

void PoseQuery::gather(double ceiling, double cell_mm, std::vector<Contact>& contacts) {
    contacts.clear();
    const std::vector<TreeNode>& nodes = tree_->nodes();
    std::vector<std::uint32_t> stack;
    const float cell = static_cast<float>(0.5 * cell_mm);
    for (int part = 0; part < static_cast<int>(parts_->size()); ++part) {
        const PosedPart& posed = posed_[part];
        const double margin = marginByPart_[part];
        stack.assign(1, 0);
        while (!stack.empty()) {
            const std::uint32_t index = stack.back();
            stack.pop_back();
            const TreeNode& node = nodes[index];
            const float extent = std::max({node.half[0], node.half[1], node.half[2]});
            if (node.count > 0 || extent <= cell) {
                Contact best;
                best.value = ceiling;
                best.triangle = std::numeric_limits<int>::max();
                descend(part, index, best);
                if (best.part >= 0) contacts.push_back(best);
                continue;
            }
            const TreeNode* child = &nodes[node.first];
            float q[2][3], bounds[2];
            for (int i = 0; i < 2; ++i)
                for (int axis = 0; axis < 3; ++axis)
                    q[i][axis] = child[i].centre[axis] - centreFloat_[axis];
            scan::boxBounds(posed.floats.data(), posed.floats.size(), q[0], child[0].half.data(),
                            q[1], child[1].half.data(), bounds);
            ++nodesVisited;
            for (int i = 1; i >= 0; --i)
                if (bounds[i] - margin <= ceiling)
                    stack.push_back(node.first + static_cast<std::uint32_t>(i));
        }
    }
}

}  // namespace macle
