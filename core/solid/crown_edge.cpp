#include "core/solid/crown_edge.h"

#include <algorithm>

#include "core/base/tolerance.h"
#include "core/solid/prepared_design.h"

namespace macle {

using Eigen::Vector3d;

namespace {

// Whether a corner of this facet lies in another part that does not have the facet: there the
// facet, run on through the other part, is no surface of the cut.
bool coveredByAnother(const Design& design, std::size_t part, const Facet& facet,
                      const Vector3d& corner) {
    for (std::size_t p = 0; p < design.parts.size(); ++p) {
        if (p == part) continue;
        bool shared = false, inside = true;
        for (const Facet& other : design.parts[p].facets) {
            shared = shared || (other.normal == facet.normal && other.distance == facet.distance);
            inside = inside && other.normal.dot(corner) <= other.distance + tolerance::kOnPlane_mm;
        }
        if (inside && !shared) return true;
    }
    return false;
}

}  // namespace

Design withoutCrownEdge(const Design& design) {
    double girdleTop = kLeastEdgeHeight;
    std::vector<std::vector<Facet>> prisms;
    const auto prepared = prepareDesign(design);
    for (std::size_t p = 0; p < prepared->singles; ++p) {
        const ConvexSolid& solid = prepared->parts[p].solid;
        for (std::size_t f = 0; f < solid.faces.size(); ++f) {
            const SolidFace& face = solid.faces[f];
            const FacetKind kind = prepared->parts[p].facets[f].kind;
            const auto corner = [&](std::size_t i) -> const Vector3d& {
                return solid
                    .vertices[static_cast<std::size_t>(face.corners[i % face.corners.size()])];
            };
            if (kind == FacetKind::Girdle)
                for (std::size_t i = 0; i < face.corners.size(); ++i)
                    if (!coveredByAnother(design, p, prepared->parts[p].facets[f], corner(i)))
                        girdleTop = std::max(girdleTop, corner(i).z());
            if (kind != FacetKind::Table) continue;
            std::vector<Facet> prism;
            for (std::size_t i = 0; i < face.corners.size(); ++i) {
                // Corners run counter-clockwise seen from above, so that out is to the right.
                const Vector3d along = corner(i + 1) - corner(i);
                const Vector3d out = Vector3d(along.y(), -along.x(), 0.0).normalized();
                prism.push_back({"edge of the table", FacetKind::Other, out,
                                 std::max(kLeastEdgeHeight, out.dot(corner(i)))});
            }
            prisms.push_back(std::move(prism));
        }
    }
    Design inner;
    inner.cut = design.cut;
    inner.proportions = design.proportions;
    for (const ConvexPart& part : design.parts) {
        ConvexPart below = part;
        below.facets.push_back(
            {"top of the girdle", FacetKind::Other, Vector3d::UnitZ(), girdleTop});
        inner.parts.push_back(std::move(below));
        for (const std::vector<Facet>& prism : prisms) {
            ConvexPart under = part;
            under.facets.insert(under.facets.end(), prism.begin(), prism.end());
            inner.parts.push_back(std::move(under));
        }
    }
    return inner;
}

}  // namespace macle
