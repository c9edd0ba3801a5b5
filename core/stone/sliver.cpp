// Triangles of no height: three welded corners on one line, where one side of the skin has a
// vertex on an edge of the other. Dropping them would open the skin; turning their longest edge
// does not.
#include <Eigen/Geometry>
#include <algorithm>

#include "core/stone/skin.h"

namespace macle::skin {

namespace {

std::uint32_t longestHalfEdge(const TriangleMesh& mesh, std::uint32_t triangle) {
    std::uint32_t longest = 3 * triangle;
    double most = -1.0;
    for (std::uint32_t h = 3 * triangle; h < 3 * triangle + 3; ++h) {
        const double length =
            (mesh.vertices[toVertex(mesh, h)] - mesh.vertices[fromVertex(mesh, h)]).squaredNorm();
        if (length > most) {
            most = length;
            longest = h;
        }
    }
    return longest;
}

class Turner {
  public:
    Turner(TriangleMesh& mesh, std::vector<std::uint32_t>& twins) : mesh_(mesh), twins_(twins) {}

    // Replaces edge a-b of triangles a b c and b a d by the edge c-d. False when it exists already.
    bool turn(std::uint32_t h) {
        const std::uint32_t g = twins_[h];
        const std::uint32_t t = h / 3, u = g / 3;
        const std::uint32_t bc = nextInTriangle(h), ca = nextInTriangle(bc);
        const std::uint32_t ad = nextInTriangle(g), db = nextInTriangle(ad);
        const std::uint32_t a = fromVertex(mesh_, h), b = fromVertex(mesh_, g);
        const std::uint32_t c = fromVertex(mesh_, ca), d = fromVertex(mesh_, db);
        if (t == u || c == d || joined(ca, d)) return false;
        const std::uint32_t outBc = twins_[bc], outCa = twins_[ca];
        const std::uint32_t outAd = twins_[ad], outDb = twins_[db];
        mesh_.triangles[t] = {a, d, c};
        mesh_.triangles[u] = {d, b, c};
        // An outer half-edge may itself belong to the pair when a vertex has only two triangles;
        // `joined` has excluded that, as c and d would then share an edge.
        pair(3 * t, outAd);
        pair(3 * t + 1, 3 * u + 2);
        pair(3 * t + 2, outCa);
        pair(3 * u, outDb);
        pair(3 * u + 1, outBc);
        return true;
    }

  private:
    void pair(std::uint32_t h, std::uint32_t g) {
        twins_[h] = g;
        twins_[g] = h;
    }
    // Whether the start of half-edge `leaving` has an edge to `vertex`.
    bool joined(std::uint32_t leaving, std::uint32_t vertex) const {
        std::uint32_t h = leaving;
        do {
            if (toVertex(mesh_, h) == vertex) return true;
            h = nextInTriangle(twins_[h]);
        } while (h != leaving);
        return false;
    }

    TriangleMesh& mesh_;
    std::vector<std::uint32_t>& twins_;
};

}  // namespace

bool isSliver(const TriangleMesh& mesh, std::uint32_t triangle, double height_mm) {
    const auto& [a, b, c] = mesh.triangles[triangle];
    const Eigen::Vector3d ab = mesh.vertices[b] - mesh.vertices[a];
    const Eigen::Vector3d ac = mesh.vertices[c] - mesh.vertices[a];
    const Eigen::Vector3d bc = mesh.vertices[c] - mesh.vertices[b];
    const double longest2 = std::max({ab.squaredNorm(), ac.squaredNorm(), bc.squaredNorm()});
    return ab.cross(ac).squaredNorm() <= height_mm * height_mm * longest2;
}

std::vector<std::uint32_t> dissolveSlivers(TriangleMesh& mesh, std::vector<std::uint32_t>& twins,
                                           double height_mm, Progress* progress) {
    std::vector<std::uint32_t> waiting;
    for (std::uint32_t t = 0; t < mesh.triangles.size(); ++t)
        if (isSliver(mesh, t, height_mm)) waiting.push_back(t);
    std::reverse(waiting.begin(), waiting.end());

    // Given up until something beside it changes; else two of them would wait for one another.
    std::vector<bool> stuck(mesh.triangles.size(), false);
    Turner turner(mesh, twins);
    // Each turn puts a corner of a sliver where it belongs; many more turns than slivers mean
    // that they only push one another round.
    std::size_t turnsLeft = 20 * waiting.size() + 100;
    while (!waiting.empty()) {
        if (progress) progress->throwIfCancelled();
        std::uint32_t t = waiting.back();
        waiting.pop_back();
        if (stuck[t] || !isSliver(mesh, t, height_mm)) continue;
        std::uint32_t h = longestHalfEdge(mesh, t);
        // A neighbour that is a sliver with a longer edge elsewhere goes first; lengths grow
        // along this chain, so it ends.
        for (;;) {
            const std::uint32_t other = twins[h] / 3;
            if (stuck[other] || !isSliver(mesh, other, height_mm)) break;
            const std::uint32_t itsLongest = longestHalfEdge(mesh, other);
            const auto length2 = [&](std::uint32_t e) {
                return (mesh.vertices[toVertex(mesh, e)] - mesh.vertices[fromVertex(mesh, e)])
                    .squaredNorm();
            };
            if (length2(itsLongest) <= length2(h)) break;
            waiting.push_back(t);
            t = other;
            h = itsLongest;
        }
        const std::uint32_t other = twins[h] / 3;
        if (turnsLeft == 0 || !turner.turn(h)) {
            stuck[t] = true;
            continue;
        }
        --turnsLeft;
        for (const std::uint32_t turned : {other, t})
            for (std::uint32_t e = 3 * turned; e < 3 * turned + 3; ++e) {
                const std::uint32_t beside = twins[e] / 3;
                if (!stuck[beside]) continue;
                stuck[beside] = false;
                waiting.push_back(beside);
            }
        waiting.push_back(other);
        waiting.push_back(t);
    }
    std::vector<std::uint32_t> left;
    for (std::uint32_t t = 0; t < mesh.triangles.size(); ++t)
        if (stuck[t] && isSliver(mesh, t, height_mm)) left.push_back(t);
    return left;
}

}  // namespace macle::skin
