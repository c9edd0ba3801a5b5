#include "core/fit/gauge_kernel.h"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numeric>

#include "core/base/error.h"
#include "core/fit/facet_scan.h"
#include "core/fit/triangle_minimum.h"
#include "core/solid/crown_edge.h"

namespace macle {

namespace {

// Facets that attain the value within this share of it count as touching.
constexpr double kSameValue = 1e-9;
constexpr std::size_t kMaskBits = 64;
// Boxes longer than this share of the stone are bounded by a few facets only.
constexpr double kLargeBox = 0.12;
// Slopes that differ by less than this share are remembered as one.
constexpr double kAlike = 0.05;

// Halves a run of facets by the main direction of their dual points n / d until each piece fills a
// block.
void groupNeighbours(const ConvexPart& part, std::vector<int> facets,
                     std::vector<std::vector<int>>& blocks) {
    if (facets.size() <= FacetFloats::kLanes) {
        std::sort(facets.begin(), facets.end());
        blocks.push_back(std::move(facets));
        return;
    }
    const auto dual = [&](int k) -> Eigen::Vector3d {
        return part.facets[k].normal / std::sqrt(part.facets[k].distance);
    };
    Eigen::Vector3d mean = Eigen::Vector3d::Zero();
    for (const int k : facets)
        mean += dual(k);
    mean /= static_cast<double>(facets.size());
    Eigen::Matrix3d spread = Eigen::Matrix3d::Zero();
    for (const int k : facets)
        spread += (dual(k) - mean) * (dual(k) - mean).transpose();
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> solver(spread);
    const Eigen::Vector3d along = solver.eigenvectors().col(2);
    std::stable_sort(facets.begin(), facets.end(),
                     [&](int a, int b) { return along.dot(dual(a)) < along.dot(dual(b)); });
    // The left side gets whole blocks.
    const std::size_t count = (facets.size() + FacetFloats::kLanes - 1) / FacetFloats::kLanes;
    const auto middle =
        facets.begin() + static_cast<std::ptrdiff_t>(count / 2 * FacetFloats::kLanes);
    groupNeighbours(part, {facets.begin(), middle}, blocks);
    groupNeighbours(part, {middle, facets.end()}, blocks);
}

// Middle of a field of the cube map; the inverse of the look-up.
Eigen::Vector3d fieldDirection(int field) {
    constexpr int n = Facing::kFields;
    const int side = field / (n * n), row = field / n % n, column = field % n;
    Eigen::Vector3d direction;
    direction[side / 2] = side % 2 == 0 ? 1.0 : -1.0;
    direction[(side / 2 + 1) % 3] = (2.0 * row + 1.0) / n - 1.0;
    direction[(side / 2 + 2) % 3] = (2.0 * column + 1.0) / n - 1.0;
    return direction;
}

// Facets of which each next one points farthest from all before it.
std::vector<int> lookingAllRound(const PreparedPart& part) {
    std::vector<int> chosen;
    std::vector<double> nearest(part.g.size(), std::numeric_limits<double>::infinity());
    std::size_t next = 0;
    while (chosen.size() < PreparedPart::kFewBlocks * FacetFloats::kLanes) {
        chosen.push_back(static_cast<int>(next));
        std::size_t farthest = 0;
        for (std::size_t k = 0; k < nearest.size(); ++k) {
            const double apart = (part.g[k].normalized() - part.g[next].normalized()).norm();
            nearest[k] = std::min(nearest[k], apart);
            if (nearest[k] > nearest[farthest]) farthest = k;
        }
        next = farthest;
    }
    return chosen;
}

template <class Block>
void setLane(Block& block, std::size_t lane, const Eigen::Vector3d& g, double b) {
    using Number = std::remove_reference_t<decltype(block.b[0])>;
    block.gx[lane] = static_cast<Number>(g.x());
    block.gy[lane] = static_cast<Number>(g.y());
    block.gz[lane] = static_cast<Number>(g.z());
    block.b[lane] = static_cast<Number>(b);
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
        std::vector<int> all(part.facets.size());
        std::iota(all.begin(), all.end(), 0);
        std::vector<std::vector<int>> blocks;
        groupNeighbours(part, std::move(all), blocks);
        for (const std::vector<int>& block : blocks)
            for (int lane = 0; lane < FacetFloats::kLanes; ++lane) {
                const int k = block[lane < static_cast<int>(block.size()) ? lane : 0];
                const Facet& facet = part.facets[k];
                out.g.push_back(facet.normal / facet.distance);
                out.b.push_back(-rules.allowance_mm / facet.distance);
                out.facet.push_back(k);
                out.steepest = std::max(out.steepest, 1.0 / facet.distance);
                out.shallowest = out.g.size() == 1 ? 1.0 / facet.distance
                                                   : std::min(out.shallowest, 1.0 / facet.distance);
                out.deepest = std::max(out.deepest, rules.allowance_mm / facet.distance);
            }
        out.layout.blocks = blocks.size();
        out.blocks.resize(blocks.size());
        for (std::size_t i = 0; i < out.g.size(); ++i)
            setLane(out.blocks[i / FacetDoubles::kLanes], i % FacetDoubles::kLanes, out.g[i],
                    out.b[i]);
        out.layout.stride = (blocks.size() + kMaskBits - 1) / kMaskBits;
        const std::size_t bits = (blocks.size() + out.layout.stride - 1) / out.layout.stride;
        out.layout.all = bits == kMaskBits ? ~BlockMask{0} : (BlockMask{1} << bits) - 1;
        out.few = lookingAllRound(out);
        for (std::size_t field = 0; field < out.facing.size(); ++field) {
            const Eigen::Vector3d direction = fieldDirection(static_cast<int>(field));
            std::size_t nearest = 0;
            for (std::size_t i = 1; i < out.g.size(); ++i)
                if (out.g[i].dot(direction) > out.g[nearest].dot(direction)) nearest = i;
            out.facing[field] =
                static_cast<std::uint8_t>(nearest / FacetFloats::kLanes / out.layout.stride);
        }
        prepared.push_back(std::move(out));
    }
    return prepared;
}

std::vector<PreparedPart> prepareParts(const Design& design, const Design& inner,
                                       const FitRules& rules) {
    std::vector<PreparedPart> parts = prepareParts(design, rules);
    if (inner.parts.empty()) return parts;
    for (PreparedPart& part : prepareParts(inner, FitRules())) {
        part.inner = true;
        parts.push_back(std::move(part));
    }
    return parts;
}

Design innerFor(const ObstacleTree& tree, const Design& design) {
    return tree.innerRoot() != 0 ? withoutCrownEdge(design) : Design();
}

PoseQuery::PoseQuery(const ObstacleTree& tree, const std::vector<PreparedPart>& parts)
    : tree_(&tree),
      parts_(&parts),
      posed_(parts.size()),
      marginByPart_(parts.size(), 0.0),
      bandByPart_(parts.size(), 0.0) {
    for (std::size_t p = 0; p < parts.size(); ++p) {
        posed_[p].facing.bits = parts[p].facing.data();
        posed_[p].floats.resize(parts[p].layout.blocks);
        posed_[p].doubles.resize(parts[p].layout.blocks);
        for (FacetDoubles& block : posed_[p].metInCut)
            for (std::size_t lane = 0; lane < FacetDoubles::kLanes; ++lane)
                setLane(block, lane, parts[p].g.front(), parts[p].b.front());
    }
}

void PoseQuery::aim(const Eigen::Quaterniond& rotation, const Eigen::Vector3d& centre) {
    turn_ = rotation.normalized().toRotationMatrix();
    const double turn[9] = {turn_(0, 0), turn_(0, 1), turn_(0, 2), turn_(1, 0), turn_(1, 1),
                            turn_(1, 2), turn_(2, 0), turn_(2, 1), turn_(2, 2)};
    centre_ = centre;
    const Eigen::Vector3d relative = centre - tree_->origin();
    for (int axis = 0; axis < 3; ++axis)
        centreFloat_[axis] = static_cast<float>(relative[axis]);
    const double span = tree_->reach_mm() + relative.norm();
    for (std::size_t p = 0; p < parts_->size(); ++p) {
        const PreparedPart& part = (*parts_)[p];
        PosedPart& posed = posed_[p];
        for (int k = 0; k < 9; ++k)
            posed.facing.unturn[k] = static_cast<float>(turn[3 * (k % 3) + k / 3]);
        scan::turnFacets(part.blocks.data(), part.blocks.size(), turn, posed.doubles.data(),
                         posed.floats.data());
        std::array<FacetDoubles, kMetBlocks> scratch;
        scan::turnFacets(posed.metInCut.data(), kMetBlocks, turn, scratch.data(), posed.met.data());
        for (std::size_t i = 0; i < part.few.size(); ++i) {
            const auto from = static_cast<std::size_t>(part.few[i]);
            const FacetFloats& block = posed.floats[from / FacetFloats::kLanes];
            FacetFloats& few = posed.few[i / FacetFloats::kLanes];
            const std::size_t lane = from % FacetFloats::kLanes, place = i % FacetFloats::kLanes;
            few.gx[place] = block.gx[lane];
            few.gy[place] = block.gy[lane];
            few.gz[place] = block.gz[lane];
            few.b[place] = block.b[lane];
        }
        // Single precision loses less than this on a value: about ten half-roundings of products no
        // larger than |g| times the distance.
        const double rounding =
            6.0 * std::numeric_limits<float>::epsilon() * (part.steepest * span + part.deepest);
        // Bounds know nothing of the margins of defects, which lower a facet's value by as much as
        // margin / d, and one facet's more than another's.
        const double most = tree_->largestMargin_mm();
        marginByPart_[p] = rounding + most * part.steepest;
        bandByPart_[p] = 2.5 * rounding + most * (part.steepest - part.shallowest);
        posed.lowered.clear();
    }
}

bool PoseQuery::improveByTriangle(int part, int triangle, BlockMask mask, Contact& best) {
    const TreeTriangle& t = tree_->triangles()[triangle];
    const Eigen::Vector3d corners[3] = {
        Eigen::Vector3d(t.corner[0], t.corner[1], t.corner[2]) - centre_,
        Eigen::Vector3d(t.corner[3], t.corner[4], t.corner[5]) - centre_,
        Eigen::Vector3d(t.corner[6], t.corner[7], t.corner[8]) - centre_};
    const TriangleMinimum minimum = minimumOverTriangle(
        facetsFor(part, t.source), (*parts_)[part].layout, mask, corners, best.value);
    remember(part, minimum);
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

const FacetDoubles* PoseQuery::facetsFor(int part, int source) {
    PosedPart& posed = posed_[part];
    const double margin = tree_->margin_mm(source);
    if (margin == 0.0) return posed.doubles.data();
    for (const auto& [known, facets] : posed.lowered)
        if (known == margin) return facets.data();
    std::vector<FacetDoubles> facets = posed.doubles;
    for (FacetDoubles& block : facets)
        for (std::size_t lane = 0; lane < FacetDoubles::kLanes; ++lane)
            block.b[lane] -=
                margin * Eigen::Vector3d(block.gx[lane], block.gy[lane], block.gz[lane]).norm();
    posed.lowered.emplace_back(margin, std::move(facets));
    return posed.lowered.back().second.data();
}

// A slope much like one already held takes its place, so that the few there is room for tell of as
// many contacts as possible.
void PoseQuery::remember(int part, const TriangleMinimum& minimum) {
    PosedPart& posed = posed_[part];
    const Eigen::Vector3d slope = turn_.transpose() * minimum.slope;
    const double alike = kAlike * kAlike * slope.squaredNorm();
    constexpr std::size_t kCount = kMetBlocks * FacetDoubles::kLanes;
    std::size_t place = 0;
    for (; place < kCount; ++place) {
        const FacetDoubles& block = posed.metInCut[place / FacetDoubles::kLanes];
        const std::size_t lane = place % FacetDoubles::kLanes;
        const Eigen::Vector3d known(block.gx[lane], block.gy[lane], block.gz[lane]);
        if ((known - slope).squaredNorm() <= alike) break;
    }
    if (place == kCount) place = posed.metNext++ % kCount;
    const std::size_t lane = place % FacetDoubles::kLanes;
    setLane(posed.metInCut[place / FacetDoubles::kLanes], lane, slope, minimum.offset);
    setLane(posed.met[place / FacetFloats::kLanes], lane, minimum.slope, minimum.offset);
}

void PoseQuery::searchLeaf(int part, const TreeNode& leaf, BlockMask mask, Contact& best) {
    for (std::uint32_t i = leaf.first; i < leaf.first + leaf.count; ++i) {
        const TreeTriangle& t = tree_->triangles()[i];
        const auto enough = static_cast<float>(best.value + 2.0 * marginByPart_[part]);
        float corners[9];
        for (int c = 0; c < 9; ++c)
            corners[c] = static_cast<float>(t.corner[c] - centre_[c % 3]);
        const float bound =
            scan::triangleBound(posed_[part].floats.data(), (*parts_)[part].layout,
                                posed_[part].met.data(), kMetBlocks, corners, mask, enough);
        if (bound - marginByPart_[part] <= best.value)
            improveByTriangle(part, static_cast<int>(i), mask, best);
    }
}

struct PoseQuery::Bounds {
    BoxQuery large;  // by the few facets that look all round
    BoxQuery small;
    double largeExtent;

    // A bound above `enough` says no more than that. Small boxes narrow the mask.
    float of(const TreeNode& node, BlockMask& mask) const {
        if (node.extent <= largeExtent) return scan::boxBound(small, node, mask);
        BlockMask all = large.layout.all;
        return scan::boxBound(large, node, all);
    }
    void setEnough(float enough) { large.enough = small.enough = enough; }
};

// With `met` false bounds and masks depend on node and pose alone.
PoseQuery::Bounds PoseQuery::boundsOf(int part, double enough, bool met) const {
    constexpr BlockLayout kFew{PreparedPart::kFewBlocks, 1,
                               (BlockMask{1} << PreparedPart::kFewBlocks) - 1};
    const PosedPart& posed = posed_[part];
    const auto band = static_cast<float>(bandByPart_[part]);
    const std::size_t extras = met ? kMetBlocks : 0;
    return {{posed.few.data(), kFew, posed.met.data(), extras, nullptr, centreFloat_,
             static_cast<float>(enough), band},
            {posed.floats.data(), (*parts_)[part].layout, posed.met.data(), extras, &posed.facing,
             centreFloat_, static_cast<float>(enough), band},
            kLargeBox * tree_->reach_mm()};
}

// Asks for what a look at the node will need.
void PoseQuery::fetch(const TreeNode& node) const {
    if (node.count == 0) {
        __builtin_prefetch(&tree_->nodes()[node.first]);
        __builtin_prefetch(&tree_->nodes()[node.first + 1]);
        return;
    }
    const auto* begin = reinterpret_cast<const char*>(&tree_->triangles()[node.first]);
    for (std::size_t byte = 0; byte < node.count * sizeof(TreeTriangle); byte += 64)
        __builtin_prefetch(begin + byte);
}

void PoseQuery::descend(int part, std::uint32_t root, BlockMask mask, Contact& best) {
    struct Waiting {
        std::uint32_t node;
        float bound;
        BlockMask mask;
    };
    const double margin = marginByPart_[part];
    const std::vector<TreeNode>& nodes = tree_->nodes();
    Bounds bounds = boundsOf(part, best.value + 2.0 * margin, true);
    std::array<Waiting, 160> stack;
    int top = 0;
    stack[top++] = {root, -std::numeric_limits<float>::infinity(), mask};
    while (top > 0) {
        const Waiting now = stack[--top];
        if (now.bound - margin > best.value) continue;
        const TreeNode& node = nodes[now.node];
        if (node.count > 0) {
            searchLeaf(part, node, now.mask, best);
            bounds.setEnough(static_cast<float>(best.value + 2.0 * margin));
            continue;
        }
        Waiting child[2];
        for (std::uint32_t i = 0; i < 2; ++i) {
            child[i].node = node.first + i;
            child[i].mask = now.mask;
            child[i].bound = bounds.of(nodes[child[i].node], child[i].mask);
        }
        ++nodesVisited;
        const int near = child[1].bound < child[0].bound ? 1 : 0;
        for (const int i : {1 - near, near}) {
            if (child[i].bound - margin > best.value) continue;
            stack[top++] = child[i];
            fetch(nodes[child[i].node]);
        }
    }
}

Contact PoseQuery::smallest(int warm) {
    Contact best;
    best.value = std::numeric_limits<double>::infinity();
    best.triangle = std::numeric_limits<int>::max();
    const int parts = static_cast<int>(parts_->size());
    if (warm >= 0 && warm < static_cast<int>(tree_->triangles().size()))
        for (int part = 0; part < parts; ++part)
            if (applies(part, warm))
                improveByTriangle(part, warm, (*parts_)[part].layout.all, best);
    for (int part = 0; part < parts; ++part)
        descend(part, rootOf(part), (*parts_)[part].layout.all, best);
    require(best.part >= 0, "a gauge query finds a triangle");
    best.facet = touchedFacet(best);
    return best;
}

Contact PoseQuery::onTriangle(int triangle) {
    Contact best;
    best.value = std::numeric_limits<double>::infinity();
    best.triangle = std::numeric_limits<int>::max();
    for (int part = 0; part < static_cast<int>(parts_->size()); ++part)
        if (applies(part, triangle))
            improveByTriangle(part, triangle, (*parts_)[part].layout.all, best);
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
        const double margin = tree_->margin_mm(tree_->triangles()[contact.triangle].source);
        if (value - margin * prepared.g[i].norm() >= contact.value - band &&
            (lowest < 0 || prepared.facet[i] < lowest))
            lowest = prepared.facet[i];
    }
    return lowest;
}

double PoseQuery::valueAt(const Eigen::Vector3d& q) const {
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t p = 0; p < posed_.size(); ++p) {
        if (tree_->innerRoot() != 0 && !(*parts_)[p].inner) continue;
        const BlockLayout& layout = (*parts_)[p].layout;
        double value = 0.0;
        scan::steepestFacet(posed_[p].doubles.data(), layout, layout.all, q.data(), &value);
        least = std::min(least, value);
    }
    return least;
}

void PoseQuery::gather(double floor, double ceiling, double cell_mm, double growth,
                       std::vector<Contact>& contacts) {
    struct Waiting {
        std::uint32_t node;
        float bound;
        BlockMask mask;
    };
    contacts.clear();
    const std::vector<TreeNode>& nodes = tree_->nodes();
    std::vector<Waiting> stack;
    for (int part = 0; part < static_cast<int>(parts_->size()); ++part) {
        const BlockLayout& layout = (*parts_)[part].layout;
        const double margin = marginByPart_[part];
        const Bounds bounds = boundsOf(part, ceiling + 2.0 * margin, false);
        stack.assign(1, {rootOf(part), static_cast<float>(floor), layout.all});
        while (!stack.empty()) {
            const Waiting now = stack.back();
            stack.pop_back();
            const TreeNode& node = nodes[now.node];
            Contact best;
            best.value = ceiling;
            best.triangle = std::numeric_limits<int>::max();
            const double height = std::max(0.0, now.bound - margin - floor);
            const double cell = 0.5 * cell_mm + growth * height;
            if (node.extent <= cell) {
                descend(part, now.node, now.mask, best);
                if (best.part >= 0) contacts.push_back(best);
                continue;
            }
            if (node.count > 0) {
                const Contact none = best;
                for (std::uint32_t i = node.first; i < node.first + node.count; ++i) {
                    best = none;
                    if (improveByTriangle(part, static_cast<int>(i), now.mask, best))
                        contacts.push_back(best);
                }
                continue;
            }
            for (std::uint32_t i = 2; i-- > 0;) {
                Waiting child{node.first + i, 0.0F, now.mask};
                child.bound = bounds.of(nodes[child.node], child.mask);
                if (child.bound - margin <= ceiling) stack.push_back(child);
            }
            ++nodesVisited;
        }
    }
}

}  // namespace macle
