#include "core/appraise/mirrored.h"

#include <algorithm>

#include "core/appraise/defect_inside.h"
#include "core/light/seen_face_up.h"

namespace macle {

std::vector<std::optional<int>> mirroredImages(const std::vector<Defect>& defects,
                                               const Design& design, const Placement& placement,
                                               const Material& material, int threads,
                                               Progress* progress) {
    std::vector<std::optional<int>> images(defects.size());
    const PlacedDesign placed(design, placement);
    std::vector<std::size_t> inside;
    std::vector<BodyInside> bodies;
    for (std::size_t i = 0; i < defects.size(); ++i) {
        if (!placed.glimpse(defects[i])) continue;
        inside.push_back(i);
        bodies.emplace_back(inCutFrame(defects[i], placement));
    }
    if (bodies.empty()) return images;
    SeenOptions options;
    options.threads = threads;
    const std::vector<SeenBody> seen =
        seenFaceUp(design, placement.size_mm, material, bodies, options, progress);
    for (std::size_t k = 0; k < inside.size(); ++k)
        images[inside[k]] = std::max(0, seen[k].images - (seen[k].straightArea_mm2 > 0.0 ? 1 : 0));
    return images;
}

}  // namespace macle
