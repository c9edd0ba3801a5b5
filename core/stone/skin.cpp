#include "core/stone/skin.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>

#include "core/base/error.h"

namespace macle::skin {

namespace {

constexpr std::uint32_t kNone = std::numeric_limits<std::uint32_t>::max();
std::uint64_t mix(std::uint64_t value) {
    value ^= value >> 31;
    value *= 0x9e3779b97f4a7c15ull;
    value ^= value >> 29;
    value *= 0xbf58476d1ce4e5b9ull;
    return value ^ value >> 32;
}

std::uint64_t hashOf(std::uint64_t x, std::uint64_t y, std::uint64_t z) {
    return mix(mix(mix(x) + y) + z);
}

// Points in chained cells four weld lengths wide, so that few points must look into more than
// one cell, and no cell can hold many points that are all a weld length apart.
class PointGrid {
  public:
    PointGrid(double reach, std::size_t expected)
        : reach_(reach), heads_(std::bit_ceil(std::max<std::size_t>(16, expected)), kNone) {}

    // The first point within reach, or kNone.
    std::uint32_t find(const Eigen::Vector3d& p, const std::vector<Eigen::Vector3d>& points) const {
        std::uint32_t best = kNone;
        const auto low = cellOf(p.array() - reach_);
        const auto high = cellOf(p.array() + reach_);
        for (std::int64_t x = low[0]; x <= high[0]; ++x)
            for (std::int64_t y = low[1]; y <= high[1]; ++y)
                for (std::int64_t z = low[2]; z <= high[2]; ++z)
                    for (std::uint32_t i = heads_[bucket({x, y, z})]; i != kNone; i = next_[i])
                        if (i < best && (points[i] - p).squaredNorm() <= reach_ * reach_) best = i;
        return best;
    }
    void insert(const Eigen::Vector3d& p) {
        const std::size_t at = bucket(cellOf(p.array()));
        next_.push_back(heads_[at]);
        heads_[at] = static_cast<std::uint32_t>(next_.size() - 1);
    }

  private:
    using Cell = std::array<std::int64_t, 3>;
    Cell cellOf(const Eigen::Array3d& p) const {
        const Eigen::Array3d scaled = (p / (4.0 * reach_)).floor();
        Cell cell;
        for (std::size_t axis = 0; axis < 3; ++axis)
            cell[axis] = static_cast<std::int64_t>(scaled[static_cast<Eigen::Index>(axis)]);
        return cell;
    }
    std::size_t bucket(const Cell& cell) const {
        return hashOf(static_cast<std::uint64_t>(cell[0]), static_cast<std::uint64_t>(cell[1]),
                      static_cast<std::uint64_t>(cell[2])) &
               (heads_.size() - 1);
    }

    double reach_;
    std::vector<std::uint32_t> heads_;
    std::vector<std::uint32_t> next_;
};

// Points that are equal to the last bit: the common case in STL, and the fast one.
class EqualPoints {
  public:
    explicit EqualPoints(std::size_t expected)
        : slots_(std::bit_ceil(std::max<std::size_t>(16, 2 * expected)), kNone) {}

    // The slot of an equal raw point seen before, or an empty one to be filled.
    std::uint32_t& slotFor(const Eigen::Vector3d& p, const std::vector<Eigen::Vector3d>& raw) {
        // Adding zero makes -0 and +0 one.
        std::size_t at = hashOf(std::bit_cast<std::uint64_t>(p.x() + 0.0),
                                std::bit_cast<std::uint64_t>(p.y() + 0.0),
                                std::bit_cast<std::uint64_t>(p.z() + 0.0)) &
                         (slots_.size() - 1);
        while (slots_[at] != kNone && raw[slots_[at]] != p)
            at = (at + 1) & (slots_.size() - 1);
        return slots_[at];
    }

  private:
    std::vector<std::uint32_t> slots_;
};

}  // namespace

std::vector<bool> usedVertices(const TriangleMesh& mesh, Progress* progress) {
    std::vector<bool> used(mesh.vertices.size(), false);
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        poll(progress, t);
        for (const std::uint32_t v : mesh.triangles[t])
            used[v] = true;
    }
    return used;
}

Welded weld(const TriangleMesh& raw, const std::vector<bool>& used, double distance_mm,
            Progress* progress) {
    Welded welded;
    std::vector<std::uint32_t> newOf(raw.vertices.size(), kNone);
    EqualPoints equal(raw.vertices.size());
    PointGrid near(distance_mm, raw.triangles.size() / 2);
    std::vector<Eigen::Vector3d>& kept = welded.mesh.vertices;
    for (std::size_t i = 0; i < raw.vertices.size(); ++i) {
        poll(progress, i);
        if (!used[i]) continue;
        const Eigen::Vector3d& p = raw.vertices[i];
        std::uint32_t& slot = equal.slotFor(p, raw.vertices);
        if (slot != kNone) {
            newOf[i] = newOf[slot];
            ++welded.merged;
            continue;
        }
        slot = static_cast<std::uint32_t>(i);
        newOf[i] = near.find(p, kept);
        if (newOf[i] != kNone) {
            ++welded.merged;
            continue;
        }
        newOf[i] = static_cast<std::uint32_t>(kept.size());
        near.insert(p);
        kept.push_back(p);
    }
    welded.mesh.triangles.reserve(raw.triangles.size());
    for (std::size_t t = 0; t < raw.triangles.size(); ++t) {
        poll(progress, t);
        const auto& [a, b, c] = raw.triangles[t];
        welded.mesh.triangles.push_back({newOf[a], newOf[b], newOf[c]});
    }
    return welded;
}

Edges findEdges(const TriangleMesh& mesh, Progress* progress) {
    const auto halfEdges = static_cast<std::uint32_t>(3 * mesh.triangles.size());
    const auto ends = [&](std::uint32_t h) {
        return std::minmax({fromVertex(mesh, h), toVertex(mesh, h)});
    };
    // Counting sort by the lower vertex, then each small bucket by the higher one.
    std::vector<std::uint32_t> start(mesh.vertices.size() + 1, 0);
    for (std::uint32_t h = 0; h < halfEdges; ++h) {
        poll(progress, h);
        ++start[ends(h).first + 1];
    }
    for (std::size_t v = 1; v < start.size(); ++v)
        start[v] += start[v - 1];
    struct Item {
        std::uint32_t high;
        std::uint32_t halfEdge;
    };
    std::vector<Item> items(halfEdges);
    std::vector<std::uint32_t> fill(start.begin(), start.end() - 1);
    for (std::uint32_t h = 0; h < halfEdges; ++h) {
        poll(progress, h);
        const auto [low, high] = ends(h);
        items[fill[low]++] = {high, h};
    }
    Edges edges;
    edges.edgeOf.resize(halfEdges);
    edges.uses.reserve(halfEdges / 2);
    for (std::size_t v = 0; v + 1 < start.size(); ++v) {
        poll(progress, v);
        const auto first = items.begin() + start[v];
        const auto last = items.begin() + start[v + 1];
        std::sort(first, last, [](const Item& a, const Item& b) {
            return a.high != b.high ? a.high < b.high : a.halfEdge < b.halfEdge;
        });
        for (auto item = first; item != last; ++item) {
            if (item == first || item->high != (item - 1)->high) edges.uses.push_back(0);
            ++edges.uses.back();
            edges.edgeOf[item->halfEdge] = static_cast<std::uint32_t>(edges.uses.size() - 1);
        }
    }
    return edges;
}

std::vector<std::uint32_t> findTwins(const Edges& edges) {
    // The exclusive or of both half-edges of an edge gives the one from the other.
    std::vector<std::uint32_t> both(edges.uses.size(), 0);
    for (std::size_t h = 0; h < edges.edgeOf.size(); ++h)
        both[edges.edgeOf[h]] ^= static_cast<std::uint32_t>(h);
    std::vector<std::uint32_t> twins(edges.edgeOf.size());
    for (std::size_t h = 0; h < twins.size(); ++h)
        twins[h] = both[edges.edgeOf[h]] ^ static_cast<std::uint32_t>(h);
    return twins;
}

Shells findShells(const TriangleMesh& mesh, const std::vector<std::uint32_t>& twins,
                  Progress* progress) {
    Shells shells;
    shells.shellOf.assign(mesh.triangles.size(), -1);
    shells.turned.assign(mesh.triangles.size(), false);
    std::vector<std::uint32_t> waiting;
    std::size_t steps = 0;
    for (std::size_t seed = 0; seed < mesh.triangles.size(); ++seed) {
        if (shells.shellOf[seed] >= 0) continue;
        const int shell = shells.count++;
        shells.shellOf[seed] = shell;
        waiting.assign(1, static_cast<std::uint32_t>(seed));
        while (!waiting.empty()) {
            poll(progress, steps++);
            const std::uint32_t t = waiting.back();
            waiting.pop_back();
            for (std::uint32_t h = 3 * t; h < 3 * t + 3; ++h) {
                const std::uint32_t other = twins[h] / 3;
                const bool sameWay = fromVertex(mesh, h) == fromVertex(mesh, twins[h]);
                const bool turned = shells.turned[t] != sameWay;
                if (shells.shellOf[other] < 0) {
                    shells.shellOf[other] = shell;
                    shells.turned[other] = turned;
                    waiting.push_back(other);
                } else if (shells.turned[other] != turned && shells.oneSided < 0) {
                    shells.oneSided = other;
                }
            }
        }
    }
    return shells;
}

std::vector<std::uint32_t> pinchedVertices(const TriangleMesh& mesh,
                                           const std::vector<std::uint32_t>& twins) {
    // Count each vertex's triangles, then walk one fan around it; a rest means a second fan.
    std::vector<std::uint32_t> rest(mesh.vertices.size(), 0);
    std::vector<std::uint32_t> leaving(mesh.vertices.size(), kNone);
    for (std::uint32_t h = 0; h < twins.size(); ++h) {
        const std::uint32_t v = fromVertex(mesh, h);
        ++rest[v];
        if (leaving[v] == kNone) leaving[v] = h;
    }
    std::vector<std::uint32_t> pinched;
    for (std::uint32_t v = 0; v < rest.size(); ++v) {
        if (leaving[v] == kNone) continue;
        std::uint32_t h = leaving[v];
        do {
            --rest[v];
            h = nextInTriangle(twins[h]);
        } while (h != leaving[v] && rest[v] > 0);
        if (rest[v] > 0) pinched.push_back(v);
    }
    return pinched;
}

long long dropUnusedVertices(TriangleMesh& mesh) {
    std::vector<bool> used(mesh.vertices.size(), false);
    for (const auto& triangle : mesh.triangles)
        for (const std::uint32_t v : triangle)
            used[v] = true;
    std::vector<std::uint32_t> newOf(mesh.vertices.size(), kNone);
    std::uint32_t kept = 0;
    for (std::size_t v = 0; v < used.size(); ++v) {
        if (!used[v]) continue;
        newOf[v] = kept;
        mesh.vertices[kept++] = mesh.vertices[v];
    }
    const auto dropped = static_cast<long long>(mesh.vertices.size() - kept);
    mesh.vertices.resize(kept);
    for (auto& triangle : mesh.triangles)
        for (std::uint32_t& v : triangle)
            v = newOf[v];
    return dropped;
}

}  // namespace macle::skin
