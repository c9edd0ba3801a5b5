#include "core/solid/cut_mesh.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numeric>
#include <unordered_map>

#include "core/base/tolerance.h"
#include "core/solid/facet_fill.h"

namespace macle {
namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;
using Triangle = std::array<std::uint32_t, 3>;

// Edges shorter than this are drawn together. mm.
constexpr double kWeld_mm = 1e-9;
constexpr std::uint32_t kNone = ~0U;

class CutMesher {
  public:
    CutMesher(const SkinTree& tree, const PartCut& cut)
        : tree_(tree), cut_(cut), skinVertex_(tree.vertices().size(), kNone) {}

    std::optional<TriangleMesh> run() {
        for (const Vector3d& v : cut_.body.vertices)
            bodyVertex_.push_back(add(v));
        for (const VertexContact& contact : cut_.contacts)
            withinNumber_[contact.corner] = bodyVertex_[static_cast<std::size_t>(contact.vertex)];
        borders_.resize(cut_.body.planes.size());
        numberCorners();
        for (const InnerSpan& span : cut_.spans)
            borders_[static_cast<std::size_t>(span.face)].push_back(
                {spanEnd(span.from), spanEnd(span.to)});
        weld();
        addSkin();
        for (std::size_t f = 0; f < borders_.size(); ++f)
            if (!addFace(f)) return std::nullopt;
        if (!closed()) return std::nullopt;
        return compact();
    }

  private:
    std::uint32_t add(const Vector3d& place) {
        places_.push_back(place);
        return static_cast<std::uint32_t>(places_.size() - 1);
    }

    std::uint32_t skinVertex(std::uint32_t v) {
        if (skinVertex_[v] == kNone) skinVertex_[v] = add(tree_.vertices()[v]);
        return skinVertex_[v];
    }

    std::uint32_t onSkinEdge(std::uint32_t triangle, int edge, int face, const Vector3d& place) {
        const std::uint32_t half = 3 * triangle + static_cast<std::uint32_t>(edge);
        const std::uint64_t own = std::min(half, tree_.twins()[half]);
        const auto [slot, fresh] = edgeNumber_.try_emplace(
            own * cut_.body.planes.size() + static_cast<std::uint64_t>(face), kNone);
        if (fresh) slot->second = add(place);
        return slot->second;
    }

    std::uint32_t within(std::uint32_t corner) {
        const auto [slot, fresh] = withinNumber_.try_emplace(corner, kNone);
        if (fresh) slot->second = add(cut_.corners[corner].place);
        return slot->second;
    }

    void numberCorners() {
        cornerNumber_.assign(cut_.corners.size(), kNone);
        for (const SkinPiece& piece : cut_.pieces) {
            for (std::uint32_t i = 0; i < piece.corners; ++i) {
                const std::uint32_t at = piece.firstCorner + i;
                const std::uint32_t before = piece.firstCorner + (i == 0 ? piece.corners : i) - 1U;
                const std::int32_t arriving = cut_.corners[before].next;
                const std::int32_t leaving = cut_.corners[at].next;
                if (isSkinEdge(arriving) && isSkinEdge(leaving))
                    cornerNumber_[at] =
                        skinVertex(tree_.triangles()[piece.triangle]
                                                    [static_cast<std::size_t>(skinEdge(leaving))]);
                else if (isSkinEdge(arriving))
                    cornerNumber_[at] = onSkinEdge(piece.triangle, skinEdge(arriving), leaving,
                                                   cut_.corners[at].place);
                else if (isSkinEdge(leaving))
                    cornerNumber_[at] = onSkinEdge(piece.triangle, skinEdge(leaving), arriving,
                                                   cut_.corners[at].place);
                else
                    cornerNumber_[at] = within(at);
            }
            for (std::uint32_t i = 0; i < piece.corners; ++i) {
                const std::uint32_t at = piece.firstCorner + i;
                const std::uint32_t after =
                    piece.firstCorner + (i + 1U == piece.corners ? 0U : i + 1U);
                if (!isSkinEdge(cut_.corners[at].next))
                    borders_[static_cast<std::size_t>(cut_.corners[at].next)].push_back(
                        {cornerNumber_[after], cornerNumber_[at]});
            }
        }
    }

    std::uint32_t spanEnd(std::int64_t end) const {
        return end < 0 ? bodyVertex_[static_cast<std::size_t>(-1 - end)]
                       : cornerNumber_[static_cast<std::size_t>(end)];
    }

    // Rounding leaves edges of no length where the skin passes close to a corner of the body.
    // Body vertices have the lowest numbers and stay where they are.
    void weld() {
        merged_.resize(places_.size());
        std::iota(merged_.begin(), merged_.end(), 0U);
        const auto join = [&](std::uint32_t a, std::uint32_t b) {
            if ((places_[a] - places_[b]).squaredNorm() > kWeld_mm * kWeld_mm) return;
            a = merged(a);
            b = merged(b);
            merged_[std::max(a, b)] = std::min(a, b);
        };
        for (const SkinPiece& piece : cut_.pieces)
            for (std::uint32_t i = 0; i < piece.corners; ++i)
                join(cornerNumber_[piece.firstCorner + i],
                     cornerNumber_[piece.firstCorner + (i + 1U == piece.corners ? 0U : i + 1U)]);
        for (const InnerSpan& span : cut_.spans)
            join(spanEnd(span.from), spanEnd(span.to));
    }

    std::uint32_t merged(std::uint32_t a) {
        // Skin vertices of whole triangles are numbered after the welding.
        if (a >= merged_.size()) return a;
        while (merged_[a] != a)
            a = merged_[a] = merged_[merged_[a]];
        return a;
    }

    void addTriangle(std::uint32_t a, std::uint32_t b, std::uint32_t c) {
        if (a != b && b != c && c != a) triangles_.push_back({a, b, c});
    }

    void addSkin() {
        for (const SkinPiece& piece : cut_.pieces) {
            if (piece.corners == 0) {
                const Triangle& t = tree_.triangles()[piece.triangle];
                addTriangle(merged(skinVertex(t[0])), merged(skinVertex(t[1])),
                            merged(skinVertex(t[2])));
                continue;
            }
            loop_.clear();
            for (std::uint32_t i = 0; i < piece.corners; ++i) {
                const std::uint32_t number = merged(cornerNumber_[piece.firstCorner + i]);
                if (loop_.empty() || loop_.back() != number) loop_.push_back(number);
            }
            while (loop_.size() > 1 && loop_.back() == loop_.front())
                loop_.pop_back();
            for (std::size_t i = 2; i < loop_.size(); ++i)
                addTriangle(loop_[0], loop_[i - 1], loop_[i]);
        }
    }

    bool addFace(std::size_t f) {
        const Vector3d& normal = cut_.body.planes[f].normal;
        Eigen::Index least = 0;
        normal.cwiseAbs().minCoeff(&least);
        const Vector3d u = normal.cross(Vector3d::Unit(least)).normalized();
        const Vector3d v = normal.cross(u);
        const Vector3d& about =
            cut_.body.vertices[static_cast<std::size_t>(cut_.body.part->solid.faces[f].corners[0])];
        std::vector<BorderEdge> border;
        std::vector<std::pair<std::uint32_t, Vector2d>> places;
        for (const BorderEdge& edge : borders_[f]) {
            const BorderEdge own = {merged(edge.from), merged(edge.to)};
            if (own.from == own.to) continue;
            border.push_back(own);
            for (const std::uint32_t end : {own.from, own.to}) {
                const Vector3d arm = places_[end] - about;
                places.emplace_back(end, Vector2d(u.dot(arm), v.dot(arm)));
            }
        }
        const auto filled = fillBorder(places, border);
        if (!filled) return false;
        triangles_.insert(triangles_.end(), filled->begin(), filled->end());
        return true;
    }

    bool closed() const {
        std::vector<std::pair<std::uint64_t, int>> edges;
        edges.reserve(3 * triangles_.size());
        for (const Triangle& t : triangles_)
            for (std::size_t i = 0; i < 3; ++i) {
                const std::uint64_t a = t[i];
                const std::uint64_t b = t[(i + 1) % 3];
                edges.emplace_back(std::min(a, b) << 32U | std::max(a, b), a < b ? 1 : -1);
            }
        std::sort(edges.begin(), edges.end());
        for (std::size_t i = 0; i < edges.size();) {
            int balance = 0;
            const std::uint64_t key = edges[i].first;
            for (; i < edges.size() && edges[i].first == key; ++i)
                balance += edges[i].second;
            if (balance != 0) return false;
        }
        return true;
    }

    std::optional<TriangleMesh> compact() {
        double moment = 0.0;
        for (const Triangle& t : triangles_)
            moment +=
                (places_[t[0]] - cut_.body.origin)
                    .dot(
                        (places_[t[1]] - cut_.body.origin).cross(places_[t[2]] - cut_.body.origin));
        if (std::abs(moment / 6.0 - cut_.volume) > tolerance::kVolumeRelative * cut_.body.volume)
            return std::nullopt;
        TriangleMesh mesh;
        std::vector<std::uint32_t> number(places_.size(), kNone);
        for (const Triangle& t : triangles_) {
            Triangle own{};
            for (std::size_t i = 0; i < 3; ++i) {
                if (number[t[i]] == kNone) {
                    number[t[i]] = static_cast<std::uint32_t>(mesh.vertices.size());
                    mesh.vertices.push_back(places_[t[i]] + tree_.middle());
                }
                own[i] = number[t[i]];
            }
            mesh.triangles.push_back(own);
        }
        return mesh;
    }

    const SkinTree& tree_;
    const PartCut& cut_;
    std::vector<Vector3d> places_;
    std::vector<Triangle> triangles_;
    std::vector<std::uint32_t> bodyVertex_;
    std::vector<std::uint32_t> skinVertex_;
    std::unordered_map<std::uint64_t, std::uint32_t> edgeNumber_;
    std::unordered_map<std::uint32_t, std::uint32_t> withinNumber_;
    std::vector<std::uint32_t> cornerNumber_;
    std::vector<std::vector<BorderEdge>> borders_;
    std::vector<std::uint32_t> merged_;
    std::vector<std::uint32_t> loop_;
};

}  // namespace

std::optional<TriangleMesh> cutMesh(const SkinTree& tree, const PartCut& cut) {
    return CutMesher(tree, cut).run();
}

}  // namespace macle
