#include "core/appraise/facet_body.h"

#include "core/base/tolerance.h"
#include "core/base/units.h"
#include "core/solid/convex_solid.h"

namespace macle {

FacetBody facetBody(const Design& design, double size_mm) {
    FacetBody body;
    body.exact_mm = tolerance::kMergeVertex_mm * size_mm;
    body.flat_deg = degrees(tolerance::kMergeVertex_mm);
    int index = 0;
    for (const ConvexPart& part : design.parts) {
        const ConvexSolid solid = makeSolid(part);
        body.parts.emplace_back();
        for (const Facet& facet : part.facets)
            body.parts.back().push_back({facet.normal, facet.distance * size_mm});
        for (const SolidFace& face : solid.faces) {
            const Facet& facet = part.facets[static_cast<std::size_t>(face.facet)];
            SeenFacet seen;
            seen.normal = facet.normal;
            seen.distance_mm = facet.distance * size_mm;
            seen.area_mm2 = face.area * size_mm * size_mm;
            for (const int corner : face.corners)
                seen.corners_mm.push_back(size_mm *
                                          solid.vertices[static_cast<std::size_t>(corner)]);
            seen.part = index;
            body.facets.push_back(std::move(seen));
        }
        ++index;
    }
    return body;
}

}  // namespace macle
