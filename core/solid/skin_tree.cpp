#include "core/solid/skin_tree.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <numeric>

#include "core/base/error.h"

namespace macle {
namespace {

using Eigen::Vector3d;

constexpr std::uint32_t kLeafSize = 6;
constexpr std::uint32_t kNone = std::numeric_limits<std::uint32_t>::max();

// Directions in no relation to crystal or cut symmetry.
const std::array<Vector3d, 6>& rayDirections() {
    static const std::array<Vector3d, 6> directions = {
        Vector3d(0.5377, 0.2618, 0.8014),  Vector3d(-0.3188, 0.8622, 0.3935),
        Vector3d(0.6715, -0.7172, 0.1859), Vector3d(-0.4889, -0.3034, -0.8178),
        Vector3d(0.2939, 0.7873, -0.5421), Vector3d(-0.8884, 0.1147, 0.4444)};
    return directions;
}

[[noreturn]] void notClosed(const Vector3d& place) {
    const auto whole = [](double x) { return std::to_string(std::lround(x)); };
    throw Error(ErrorCode::BadInput,
                "The surface is not closed near (" + whole(place.x()) + ", " + whole(place.y()) +
                    ", " + whole(place.z()) + ") mm.",
                "Only a closed surface can be intersected; run it through the intake.");
}

}  // namespace

SkinTree::SkinTree(const TriangleMesh& skin) {
    if (skin.empty())
        throw Error(ErrorCode::BadInput, "The surface has no triangles.",
                    "Load a closed surface first.");
    for (const auto& triangle : skin.triangles)
        for (const std::uint32_t v : triangle)
            if (v >= skin.vertices.size() || !skin.vertices[v].allFinite())
                throw Error(
                    ErrorCode::BadInput,
                    "A triangle of the surface has a corner that is missing or not a place.",
                    "Run the surface through the intake.");
    const Box box = bounds(skin);
    middle_ = box.centre();
    vertices_.reserve(skin.vertices.size());
    for (const Vector3d& v : skin.vertices)
        vertices_.push_back(v - middle_);
    reach_ = 0.5 * box.extent().maxCoeff();
    triangles_ = skin.triangles;
    build();
    renumberVertices();
    pairEdges();
}

namespace {

struct Item {
    Vector3d centroid;
    std::uint32_t triangle;
};

// Sorts the lower items along the widest axis to the front and returns their number: about half,
// cut where that is quick to find, or exactly half where the items are too bunched for it. The
// order depends on the items alone.
std::uint32_t halve(Item* items, std::uint32_t size, Item* scratch) {
    Vector3d low = items[0].centroid;
    Vector3d high = low;
    for (std::uint32_t i = 1; i < size; ++i) {
        low = low.cwiseMin(items[i].centroid);
        high = high.cwiseMax(items[i].centroid);
    }
    Eigen::Index axis = 0;
    const double width = (high - low).maxCoeff(&axis);
    constexpr std::uint32_t kBins = 64;
    if (width > 0.0) {
        const double from = low[axis], scale = (kBins - 0.5) / width;
        std::array<std::uint32_t, kBins> held{};
        for (std::uint32_t i = 0; i < size; ++i)
            ++held[static_cast<std::uint32_t>((items[i].centroid[axis] - from) * scale)];
        std::uint32_t bin = 0, left = 0;
        while (left + held[bin] <= size / 2)
            left += held[bin++];
        if (size / 2 - left > left + held[bin] - size / 2) left += held[bin++];
        if (left >= size / 4 && size - left >= size / 4) {
            std::uint32_t lower = 0, upper = 0;
            for (std::uint32_t i = 0; i < size; ++i) {  // no branch to guess
                const Item item = items[i];
                const bool isLower =
                    static_cast<std::uint32_t>((item.centroid[axis] - from) * scale) < bin;
                items[lower] = item;
                scratch[upper] = item;
                lower += isLower ? 1 : 0;
                upper += isLower ? 0 : 1;
            }
            std::copy_n(scratch, upper, items + lower);
            return left;
        }
    }
    // Ties by number, so that the tree is the same everywhere.
    const std::uint32_t left = size / 2;
    std::nth_element(items, items + left, items + size, [axis](const Item& a, const Item& b) {
        return a.centroid[axis] != b.centroid[axis] ? a.centroid[axis] < b.centroid[axis]
                                                    : a.triangle < b.triangle;
    });
    return left;
}

}  // namespace

void SkinTree::build() {
    const auto count = static_cast<std::uint32_t>(triangles_.size());
    std::vector<Item> items(count), scratch(count);
    for (std::uint32_t t = 0; t < count; ++t) {
        items[t].centroid = (vertices_[triangles_[t][0]] + vertices_[triangles_[t][1]] +
                             vertices_[triangles_[t][2]]) /
                            3.0;
        items[t].triangle = t;
    }

    nodes_.reserve(2 * (count / (kLeafSize / 2) + 1));
    nodes_.emplace_back();
    nodes_[0].first = 0;
    nodes_[0].count = count;
    std::vector<std::uint32_t> open = {0};
    while (!open.empty()) {
        const std::uint32_t at = open.back();
        open.pop_back();
        const std::uint32_t first = nodes_[at].first;
        const std::uint32_t size = nodes_[at].count;
        if (size <= kLeafSize) continue;
        const std::uint32_t left = halve(items.data() + first, size, scratch.data());
        const auto child = static_cast<std::uint32_t>(nodes_.size());
        nodes_.emplace_back();
        nodes_.emplace_back();
        nodes_[child].first = first;
        nodes_[child].count = left;
        nodes_[child + 1].first = first + left;
        nodes_[child + 1].count = size - left;
        nodes_[at].count = 0;
        nodes_[at].child = child;
        open.push_back(child);
        open.push_back(child + 1);
    }
    std::vector<std::array<std::uint32_t, 3>> sorted(count);
    for (std::uint32_t i = 0; i < count; ++i)
        sorted[i] = triangles_[items[i].triangle];
    triangles_.swap(sorted);
    boundNodes();
}

void SkinTree::boundNodes() {
    std::vector<Eigen::AlignedBox3d> boxes(nodes_.size());
    for (std::size_t n = nodes_.size(); n-- > 0;) {  // children come after their parent
        Node& node = nodes_[n];
        Eigen::AlignedBox3d& box = boxes[n];
        if (node.count == 0) {
            box = boxes[node.child].merged(boxes[node.child + 1]);
        } else {
            for (std::uint32_t t = node.first; t < node.first + node.count; ++t)
                for (const std::uint32_t v : triangles_[t])
                    box.extend(vertices_[v]);
        }
        node.centre = 0.5 * (box.min() + box.max());
        node.half = 0.5 * (box.max() - box.min());
    }
}

void SkinTree::renumberVertices() {
    std::vector<std::uint32_t> number(vertices_.size(), kNone);
    std::vector<Vector3d> sorted;
    sorted.reserve(vertices_.size());
    for (auto& triangle : triangles_)
        for (std::uint32_t& v : triangle) {
            if (number[v] == kNone) {
                number[v] = static_cast<std::uint32_t>(sorted.size());
                sorted.push_back(vertices_[v]);
            }
            v = number[v];
        }
    vertices_.swap(sorted);
}

void SkinTree::pairEdges() {
    // Half-edges in buckets by their lower vertex.
    struct HalfEdge {
        std::uint32_t upper;
        std::uint32_t number;
        bool rising;  // from the lower vertex to the upper
    };
    const auto count = static_cast<std::uint32_t>(3 * triangles_.size());
    std::vector<std::uint32_t> start(vertices_.size() + 1, 0);
    for (const auto& t : triangles_)
        for (int e = 0; e < 3; ++e)
            ++start[std::min(t[e], t[(e + 1) % 3]) + 1];
    std::partial_sum(start.begin(), start.end(), start.begin());
    std::vector<HalfEdge> bucket(count);
    std::vector<std::uint32_t> next(start.begin(), start.end() - 1);
    std::uint32_t number = 0;
    for (const auto& t : triangles_)
        for (int e = 0; e < 3; ++e) {
            const std::uint32_t a = t[e], b = t[(e + 1) % 3];
            bucket[next[std::min(a, b)]++] = {std::max(a, b), number++, a < b};
        }
    twins_.assign(count, kNone);
    for (std::size_t v = 0; v + 1 < start.size(); ++v)
        for (std::uint32_t i = start[v]; i < start[v + 1]; ++i) {
            const HalfEdge& one = bucket[i];
            for (std::uint32_t j = i + 1; j < start[v + 1]; ++j) {
                const HalfEdge& other = bucket[j];
                if (one.upper != other.upper) continue;
                if (one.rising == other.rising || twins_[one.number] != kNone ||
                    twins_[other.number] != kNone)
                    notClosed(vertices_[v] + middle_);
                twins_[one.number] = other.number;
                twins_[other.number] = one.number;
            }
            if (twins_[one.number] == kNone) notClosed(vertices_[v] + middle_);
        }
}

bool SkinTree::contains(const Vector3d& place) const {
    const Node& root = nodes_.front();
    if (((place - root.centre).cwiseAbs() - root.half).maxCoeff() > 0.0) return false;
    for (const Vector3d& direction : rayDirections()) {
        const Side side = alongRay(place, direction);
        if (side != Side::Unsure) return side == Side::In;
    }
    return bySolidAngle(place);
}

SkinTree::Side SkinTree::alongRay(const Vector3d& place, const Vector3d& direction) const {
    // Rounding of a coordinate difference, with room to spare.
    const double noise = 16.0 * std::numeric_limits<double>::epsilon() * reach_;
    constexpr double kGraze = 1e-10;  // barycentric share below which a hit is too near an edge
    const Vector3d inverse = direction.cwiseInverse();
    bool inside = false;
    std::vector<std::uint32_t> open = {0};
    while (!open.empty()) {
        const Node& node = nodes_[open.back()];
        open.pop_back();
        const Vector3d a = (node.centre - node.half - place).cwiseProduct(inverse);
        const Vector3d b = (node.centre + node.half - place).cwiseProduct(inverse);
        const double enter = a.cwiseMin(b).maxCoeff();
        const double leave = a.cwiseMax(b).minCoeff();
        const double slack = 1e3 * noise;
        if (leave < -slack || enter > leave + slack) continue;
        if (node.count == 0) {
            open.push_back(node.child + 1);
            open.push_back(node.child);
            continue;
        }
        for (std::uint32_t t = node.first; t < node.first + node.count; ++t) {
            const Vector3d& v0 = vertices_[triangles_[t][0]];
            const Vector3d e1 = vertices_[triangles_[t][1]] - v0;
            const Vector3d e2 = vertices_[triangles_[t][2]] - v0;
            const Vector3d p = direction.cross(e2);
            const double det = e1.dot(p);
            const Vector3d s = place - v0;
            const Vector3d q = s.cross(e1);
            const double u = s.dot(p);
            const double v = direction.dot(q);
            const double size = std::abs(det);
            const double sign = det < 0.0 ? -1.0 : 1.0;
            const double least = std::min({sign * u, sign * v, size - sign * (u + v)});
            const double scale = e1.norm() * e2.norm();
            if (least < -kGraze * scale) continue;
            const double t0 = sign * e2.dot(q);
            const double graze = std::max(kGraze * scale, noise * (e1.norm() + e2.norm()));
            if (size <= graze || least <= graze) {
                // Behind the start a doubtful hit does not matter.
                const double far = std::max({s.norm(), (s - e1).norm(), (s - e2).norm()});
                const bool behind = std::max({-s.dot(direction), (e1 - s).dot(direction),
                                              (e2 - s).dot(direction)}) < -kGraze * far;
                if (behind) continue;
                return Side::Unsure;
            }
            if (std::abs(t0) <= noise * size) return Side::Unsure;
            if (t0 > 0.0) inside = !inside;
        }
    }
    return inside ? Side::In : Side::Out;
}

// Van Oosterom and Strackee, IEEE Trans. Biomed. Eng. 30 (1983) 125.
bool SkinTree::bySolidAngle(const Vector3d& place) const {
    double angle = 0.0;
    for (const auto& t : triangles_) {
        const Vector3d a = vertices_[t[0]] - place;
        const Vector3d b = vertices_[t[1]] - place;
        const Vector3d c = vertices_[t[2]] - place;
        const double la = a.norm();
        const double lb = b.norm();
        const double lc = c.norm();
        angle += 2.0 * std::atan2(a.dot(b.cross(c)),
                                  la * lb * lc + a.dot(b) * lc + b.dot(c) * la + c.dot(a) * lb);
    }
    return angle > 2.0 * std::numbers::pi;
}

}  // namespace macle
