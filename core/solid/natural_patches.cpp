#include "core/solid/natural_patches.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "core/base/tolerance.h"

namespace macle {
namespace {

using Eigen::Vector3d;

constexpr double kDepthExact_mm = 1e-9;
constexpr int kMostCuts = 200;

struct Deep {
    double depth = 0.0;
    Vector3d place = Vector3d::Zero();
};

// The depth inside a body is the least distance to its planes: concave, so its maximum over a
// triangle is found by cutting the triangle through its centroid, again and again, and keeping
// the half towards which the nearest plane recedes. Each cut takes at least 4/9 of the area
// (Gruenbaum). Replaces `best` when deeper.
void deepen(const SkinTree& tree, const PartCut& cut, const SkinPiece& piece, Deep& best) {
    if (piece.depth > best.depth) best = {piece.depth, piece.place};
    if (piece.depthBound <= best.depth + kDepthExact_mm) return;
    std::vector<Vector3d> region;
    for (const std::uint32_t v : tree.triangles()[piece.triangle])
        region.push_back(tree.vertices()[v]);
    std::vector<Vector3d> kept;
    for (int n = 0; n < kMostCuts && region.size() >= 3; ++n) {
        Vector3d centre = Vector3d::Zero();
        double area = 0.0;
        for (std::size_t i = 2; i < region.size(); ++i) {
            const double a = 0.5 * (region[i - 1] - region[0]).cross(region[i] - region[0]).norm();
            centre += a * (region[0] + region[i - 1] + region[i]) / 3.0;
            area += a;
        }
        if (!(area > std::numeric_limits<double>::min())) return;
        centre /= area;

        double depth = std::numeric_limits<double>::infinity();
        double bound = depth;
        const ClipPlane* nearest = nullptr;
        for (std::uint32_t i = 0; i < piece.nearFaces; ++i) {
            const ClipPlane& plane = cut.body.planes[cut.nearFaces[piece.firstNear + i]];
            const double here = plane.offset - plane.normal.dot(centre);
            if (here < depth) {
                depth = here;
                nearest = &plane;
            }
            double most = -std::numeric_limits<double>::infinity();
            for (const Vector3d& p : region)
                most = std::max(most, plane.offset - plane.normal.dot(p));
            bound = std::min(bound, most);
        }
        if (depth > best.depth) best = {depth, centre};
        if (bound <= best.depth + kDepthExact_mm || nearest == nullptr) return;

        kept.clear();
        const double level = nearest->normal.dot(centre);
        for (std::size_t i = 0; i < region.size(); ++i) {
            const Vector3d& p = region[i];
            const Vector3d& q = region[(i + 1) % region.size()];
            const double hp = nearest->normal.dot(p) - level;
            const double hq = nearest->normal.dot(q) - level;
            if (hp <= 0.0) kept.push_back(p);
            if ((hp <= 0.0) != (hq <= 0.0)) kept.push_back(p + (q - p) * (hp / (hp - hq)));
        }
        region.swap(kept);
    }
}

class Patches {
  public:
    explicit Patches(std::size_t count) : parent_(count) {
        std::iota(parent_.begin(), parent_.end(), 0U);
    }
    std::uint32_t root(std::uint32_t a) {
        while (parent_[a] != a)
            a = parent_[a] = parent_[parent_[a]];
        return a;
    }
    void join(std::uint32_t a, std::uint32_t b) {
        a = root(a);
        b = root(b);
        parent_[std::max(a, b)] = std::min(a, b);
    }

  private:
    std::vector<std::uint32_t> parent_;
};

bool within(const PlacedBody& body, const Vector3d& place) {
    return std::all_of(body.planes.begin(), body.planes.end(), [&](const ClipPlane& plane) {
        return plane.normal.dot(place) <= plane.offset;
    });
}

struct Contact {
    bool girdle = false;
    bool other = false;
};

// Which kinds of facet a piece touches, leaving out what another part of the design covers.
Contact contact(const std::vector<PartCut>& cuts, std::size_t singles, std::size_t at,
                const SkinPiece& piece) {
    Contact found;
    const PartCut& cut = cuts[at];
    for (std::uint32_t i = 0; i < piece.corners; ++i) {
        const CutCorner& from = cut.corners[piece.firstCorner + i];
        const CutCorner& to =
            cut.corners[piece.firstCorner + (i + 1U == piece.corners ? 0U : i + 1U)];
        if (isSkinEdge(from.next) || (to.place - from.place).norm() <= tolerance::kOnPlane_mm)
            continue;
        bool covered = false;
        for (std::size_t o = 0; o < singles && !covered; ++o)
            covered = o != at && within(cuts[o].body, from.place) && within(cuts[o].body, to.place);
        if (covered) continue;
        const FacetKind kind = cut.body.part->facets[static_cast<std::size_t>(from.next)].kind;
        (kind == FacetKind::Girdle ? found.girdle : found.other) = true;
    }
    return found;
}

}  // namespace

double deepest(const SkinTree& tree, const PartCut& cut) {
    Deep best;
    for (const SkinPiece& piece : cut.pieces)
        deepen(tree, cut, piece, best);
    return best.depth;
}

std::vector<Natural> naturalPatches(const SkinTree& tree, const std::vector<PartCut>& cuts,
                                    std::size_t singles) {
    std::vector<std::uint32_t> first(cuts.size() + 1, 0);
    for (std::size_t c = 0; c < cuts.size(); ++c)
        first[c + 1] = first[c] + static_cast<std::uint32_t>(cuts[c].pieces.size());
    Patches patches(first.back());

    for (std::size_t c = 0; c < cuts.size(); ++c) {
        const PartCut& cut = cuts[c];
        const auto joinAcross = [&](std::uint32_t p, int edge) {
            const std::uint32_t twin =
                tree.twins()[3 * cut.pieces[p].triangle + static_cast<std::uint32_t>(edge)];
            const std::int32_t other = cut.pieceOf[twin / 3];
            if (other >= 0)
                patches.join(first[c] + p, first[c] + static_cast<std::uint32_t>(other));
        };
        for (std::uint32_t p = 0; p < cut.pieces.size(); ++p) {
            const SkinPiece& piece = cut.pieces[p];
            if (piece.corners == 0)
                for (int e = 0; e < 3; ++e)
                    joinAcross(p, e);
            for (std::uint32_t i = 0; i < piece.corners; ++i) {
                const std::int32_t label = cut.corners[piece.firstCorner + i].next;
                if (isSkinEdge(label)) joinAcross(p, skinEdge(label));
            }
            if (c < singles) continue;
            for (std::size_t s = 0; s < singles; ++s) {
                const std::int32_t own = cuts[s].pieceOf[piece.triangle];
                if ((cut.body.part->members >> s & 1U) && own >= 0)
                    patches.join(first[c] + p, first[s] + static_cast<std::uint32_t>(own));
            }
        }
    }

    std::vector<std::int32_t> patchOf(first.back(), -1);
    std::vector<Natural> naturals;
    std::vector<Deep> depths;
    std::vector<Contact> contacts;
    const auto patch = [&](std::uint32_t node) {
        std::int32_t& number = patchOf[patches.root(node)];
        if (number < 0) {
            number = static_cast<std::int32_t>(naturals.size());
            naturals.emplace_back();
            depths.emplace_back();
            contacts.emplace_back();
        }
        return static_cast<std::size_t>(number);
    };
    // Vertices first: they spare most triangles the search inside.
    for (std::size_t c = 0; c < cuts.size(); ++c)
        for (std::uint32_t p = 0; p < cuts[c].pieces.size(); ++p) {
            const SkinPiece& piece = cuts[c].pieces[p];
            const std::size_t at = patch(first[c] + p);
            naturals[at].area_mm2 += cuts[c].body.part->sign() * piece.area;
            if (c >= singles) continue;
            if (piece.depth > depths[at].depth) depths[at] = {piece.depth, piece.place};
            if (piece.corners == 0) continue;
            const Contact found = contact(cuts, singles, c, piece);
            contacts[at].girdle = contacts[at].girdle || found.girdle;
            contacts[at].other = contacts[at].other || found.other;
        }
    for (std::size_t c = 0; c < singles; ++c)
        for (std::uint32_t p = 0; p < cuts[c].pieces.size(); ++p)
            deepen(tree, cuts[c], cuts[c].pieces[p], depths[patch(first[c] + p)]);

    std::vector<Natural> kept;
    for (std::size_t n = 0; n < naturals.size(); ++n) {
        if (depths[n].depth < tolerance::kInside_mm) continue;
        Natural& natural = naturals[n];
        natural.depth_mm = depths[n].depth;
        natural.place_mm = depths[n].place + tree.middle();
        natural.girdleOnly = contacts[n].girdle && !contacts[n].other;
        kept.push_back(natural);
    }
    std::stable_sort(kept.begin(), kept.end(),
                     [](const Natural& a, const Natural& b) { return a.area_mm2 > b.area_mm2; });
    return kept;
}

}  // namespace macle
