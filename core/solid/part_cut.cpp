#include "core/solid/part_cut.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

namespace macle {
namespace {

using Eigen::Vector3d;

constexpr double kEnlarge = 0x1p-34;

// In no relation to crystal or cut symmetry; shorter than 1.
const Vector3d& aside() {
    static const Vector3d direction(0.3413, -0.2277, 0.1759);
    return direction;
}

// Walks the tree with the list of faces that still matter: those that may cut a triangle below,
// and those that may be the nearest face to a point below.
class SkinWalk {
  public:
    SkinWalk(const SkinTree& tree, PartCut& cut) : tree_(tree), cut_(cut) {
        double size = 0.0;
        for (const Vector3d& v : cut.body.vertices)
            size = std::max(size, v.cwiseAbs().maxCoeff());
        // Bounds on boxes and distances of corners round differently by less than this.
        margin_ = 64.0 * std::numeric_limits<double>::epsilon() * (tree.reach() + size);
    }

    void run() {
        std::vector<std::uint16_t> all(cut_.body.planes.size());
        for (std::size_t k = 0; k < all.size(); ++k)
            all[k] = static_cast<std::uint16_t>(k);
        lists_.assign(1, all);
        visit(0, 0);
    }

  private:
    void visit(std::uint32_t at, std::size_t level) {
        const SkinTree::Node& node = tree_.nodes()[at];
        if (lists_.size() <= level + 1) lists_.emplace_back();
        low_.clear();
        high_.clear();
        double nearest = -std::numeric_limits<double>::infinity();
        for (const std::uint16_t k : lists_[level]) {
            const ClipPlane& plane = cut_.body.planes[k];
            const double middle = plane.normal.dot(node.centre) - plane.offset;
            const double reach = plane.absolute.dot(node.half) + margin_;
            if (middle - reach > 0.0) return;
            low_.push_back(middle - reach);
            high_.push_back(middle + reach);
            nearest = std::max(nearest, middle - reach);
        }
        std::vector<std::uint16_t>& kept = lists_[level + 1];
        kept.clear();
        for (std::size_t i = 0; i < low_.size(); ++i) {
            if (high_[i] < nearest) continue;
            kept.push_back(lists_[level][i]);
        }
        if (node.count == 0) {
            visit(node.child, level + 1);
            visit(node.child + 1, level + 1);
            return;
        }
        leaf(node, kept);
    }

    void leaf(const SkinTree::Node& node, const std::vector<std::uint16_t>& faces) {
        const auto firstNear = static_cast<std::uint32_t>(cut_.nearFaces.size());
        bool used = false;
        for (std::uint32_t t = node.first; t < node.first + node.count; ++t)
            used = triangle(t, faces, firstNear) || used;
        if (used) cut_.nearFaces.insert(cut_.nearFaces.end(), faces.begin(), faces.end());
    }

    bool triangle(std::uint32_t t, const std::vector<std::uint16_t>& faces,
                  std::uint32_t firstNear) {
        const auto& numbers = tree_.triangles()[t];
        const std::array<const Vector3d*, 3> corners = {&tree_.vertices()[numbers[0]],
                                                        &tree_.vertices()[numbers[1]],
                                                        &tree_.vertices()[numbers[2]]};
        cutting_.clear();
        heights_.clear();
        std::array<double, 3> highest;  // over the faces, per corner
        highest.fill(-std::numeric_limits<double>::infinity());
        double bound = std::numeric_limits<double>::infinity();
        for (const std::uint16_t k : faces) {
            const ClipPlane& plane = cut_.body.planes[k];
            const std::array<double, 3> h = {plane.normal.dot(*corners[0]) - plane.offset,
                                             plane.normal.dot(*corners[1]) - plane.offset,
                                             plane.normal.dot(*corners[2]) - plane.offset};
            if (h[0] > 0.0 && h[1] > 0.0 && h[2] > 0.0) return false;
            for (std::size_t i = 0; i < 3; ++i)
                highest[i] = std::max(highest[i], h[i]);
            bound = std::min(bound, -std::min({h[0], h[1], h[2]}));
            if (h[0] > 0.0 || h[1] > 0.0 || h[2] > 0.0) {
                cutting_.push_back(k);
                heights_.push_back(h);
            }
        }

        SkinPiece piece;
        piece.triangle = t;
        piece.firstNear = firstNear;
        piece.nearFaces = static_cast<std::uint16_t>(faces.size());
        piece.depthBound = std::max(0.0, bound);
        piece.place = *corners[0];
        for (std::size_t i = 0; i < 3; ++i)
            if (-highest[i] > piece.depth) {
                piece.depth = -highest[i];
                piece.place = *corners[i];
            }
        const Vector3d& origin = cut_.body.origin;
        if (cutting_.empty()) {
            const Vector3d area =
                0.5 * (*corners[1] - *corners[0]).cross(*corners[2] - *corners[0]);
            addArea(area, *corners[0] - origin, piece);
        } else {
            const auto& loop =
                clipper_.clip(corners, numbers, cut_.body.planes, cutting_, heights_);
            if (loop.size() < 2) return false;
            piece.firstCorner = static_cast<std::uint32_t>(cut_.corners.size());
            piece.corners = static_cast<std::uint16_t>(loop.size());
            Vector3d area = Vector3d::Zero();
            for (std::size_t i = 2; i < loop.size(); ++i)
                area +=
                    0.5 * (loop[i - 1].place - loop[0].place).cross(loop[i].place - loop[0].place);
            addArea(area, loop[0].place - origin, piece);
            for (std::size_t i = 0; i < loop.size(); ++i)
                if (!isSkinEdge(loop[i].next))
                    addChain(loop[i].next, loop[i + 1 == loop.size() ? 0 : i + 1].place,
                             loop[i].place);
            cut_.corners.insert(cut_.corners.end(), loop.begin(), loop.end());
        }
        cut_.pieceOf[t] = static_cast<std::int32_t>(cut_.pieces.size());
        cut_.pieces.push_back(piece);
        return true;
    }

    void addArea(const Vector3d& area, const Vector3d& arm, SkinPiece& piece) {
        piece.area = area.norm();
        cut_.skinArea += area;
        cut_.skinAreaTotal += piece.area;
        cut_.skinMoment += arm.dot(area);  // constant over the plane of the triangle
    }

    // The face walks the piece's edge backwards.
    void addChain(int face, const Vector3d& from, const Vector3d& to) {
        const auto f = static_cast<std::size_t>(face);
        const auto corner =
            static_cast<std::size_t>(cut_.body.part->solid.faces[f].corners.front());
        const Vector3d& about = cut_.body.vertices[corner];
        cut_.chainArea[f] += 0.5 * cut_.body.planes[f].normal.dot((from - about).cross(to - about));
        cut_.chainSum[f] += to - from;
    }

    const SkinTree& tree_;
    PartCut& cut_;
    double margin_ = 0.0;
    TriangleClipper clipper_;
    std::vector<std::vector<std::uint16_t>> lists_;
    std::vector<double> low_;
    std::vector<double> high_;
    std::vector<std::uint16_t> cutting_;
    std::vector<std::array<double, 3>> heights_;
};

}  // namespace

PlacedBody placeBody(const PreparedSolid& part, const Placement& placement,
                     const Vector3d& middle_mm) {
    PlacedBody body;
    body.part = &part;
    double nearest = std::numeric_limits<double>::infinity();
    for (const Facet& facet : part.facets)
        nearest = std::min(nearest, facet.distance);
    const Eigen::Matrix3d rotation = placement.rotation.normalized().toRotationMatrix();
    const Vector3d push = placement.size_mm * kEnlarge * nearest * aside();
    body.origin = placement.translation_mm - middle_mm + push;
    const double size = placement.size_mm * (1.0 + kEnlarge);
    for (const Facet& facet : part.facets) {
        const Vector3d normal = rotation * facet.normal;
        body.planes.push_back(
            {normal, normal.cwiseAbs(), size * facet.distance + normal.dot(body.origin)});
        body.excess.push_back(placement.size_mm * kEnlarge * facet.distance + normal.dot(push));
    }
    for (const Vector3d& v : part.solid.vertices)
        body.vertices.push_back(rotation * (size * v) + body.origin);
    body.volume = part.solid.volume * placement.size_mm * placement.size_mm * placement.size_mm;
    return body;
}

PartCut clipSkin(const SkinTree& tree, const PreparedSolid& part, const Placement& placement) {
    PartCut cut;
    cut.body = placeBody(part, placement, tree.middle());
    cut.pieceOf.assign(tree.triangles().size(), -1);
    cut.chainArea.assign(cut.body.planes.size(), 0.0);
    cut.chainSum.assign(cut.body.planes.size(), Vector3d::Zero());
    SkinWalk(tree, cut).run();
    return cut;
}

}  // namespace macle
