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

void SkinTree::build() {
    const auto count = static_cast<std::uint32_t>(triangles_.size());
    std::vector<std::uint32_t> order(count);
    std::iota(order.begin(), order.end(), 0U);
    std::vector<Vector3d> centroid(count);
    for (std::uint32_t t = 0; t < count; ++t)
        centroid[t] = (vertices_[triangles_[t][0]] + vertices_[triangles_[t][1]] +
                       vertices_[triangles_[t][2]]) /
                      3.0;

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
        Vector3d low = Vector3d::Constant(std::numeric_limits<double>::infinity());
        Vector3d high = -low;
        Vector3d centroidLow = low;
        Vector3d centroidHigh = high;
        for (std::uint32_t i = first; i < first + size; ++i) {
            for (const std::uint32_t v : triangles_[order[i]]) {
                low = low.cwiseMin(vertices_[v]);
                high = high.cwiseMax(vertices_[v]);
            }
            centroidLow = centroidLow.cwiseMin(centroid[order[i]]);
            centroidHigh = centroidHigh.cwiseMax(centroid[order[i]]);
        }
        nodes_[at].centre = 0.5 * (low + high);
        nodes_[at].half = 0.5 * (high - low);
        if (size <= kLeafSize) continue;

        Eigen::Index axis = 0;
        (centroidHigh - centroidLow).maxCoeff(&axis);
        const std::uint32_t left = size / 2;
        const auto begin = order.begin() + first;
        // Ties by number, so that the tree is the same everywhere.
        std::nth_element(begin, begin + left, begin + size, [&](std::uint32_t a, std::uint32_t b) {
            return centroid[a][axis] != centroid[b][axis] ? centroid[a][axis] < centroid[b][axis]
                                                          : a < b;
        });
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
        sorted[i] = triangles_[order[i]];
    triangles_.swap(sorted);
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
    const std::size_t count = 3 * triangles_.size();
    const auto ends = [&](std::size_t h) {
        const auto& t = triangles_[h / 3];
        return std::array<std::uint32_t, 2>{t[h % 3], t[(h + 1) % 3]};
    };
    std::vector<std::uint32_t> start(vertices_.size() + 1, 0);
    for (std::size_t h = 0; h < count; ++h) {
        const auto [a, b] = ends(h);
        ++start[std::min(a, b) + 1];
    }
    std::partial_sum(start.begin(), start.end(), start.begin());
    std::vector<std::uint32_t> bucket(count);
    std::vector<std::uint32_t> next(start.begin(), start.end() - 1);
    for (std::size_t h = 0; h < count; ++h) {
        const auto [a, b] = ends(h);
        bucket[next[std::min(a, b)]++] = static_cast<std::uint32_t>(h);
    }
    twins_.assign(count, kNone);
    for (std::size_t v = 0; v + 1 < start.size(); ++v)
        for (std::uint32_t i = start[v]; i < start[v + 1]; ++i)
            for (std::uint32_t j = i + 1; j < start[v + 1]; ++j) {
                const auto [a, b] = ends(bucket[i]);
                const auto [c, d] = ends(bucket[j]);
                if (std::max(a, b) != std::max(c, d)) continue;
                if (a != d || twins_[bucket[i]] != kNone || twins_[bucket[j]] != kNone)
                    notClosed(vertices_[v] + middle_);
                twins_[bucket[i]] = bucket[j];
                twins_[bucket[j]] = bucket[i];
            }
    for (std::size_t h = 0; h < count; ++h)
        if (twins_[h] == kNone) notClosed(vertices_[ends(h)[0]] + middle_);
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
