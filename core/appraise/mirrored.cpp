#include "core/appraise/mirrored.h"

#include <algorithm>

#include "core/appraise/defect_inside.h"
#include "core/light/seen_face_up.h"

namespace macle {

namespace {

BodyInside::Shape inCutFrame(const Defect& defect, const Placement& placement) {
    const Eigen::Quaterniond turn = placement.rotation.conjugate();
    const auto carried = [&](const Eigen::Vector3d& p) -> Eigen::Vector3d {
        return turn * (p - placement.translation_mm);
    };
    BodyInside::Shape shape = defect.shape;
    if (auto* mesh = std::get_if<TriangleMesh>(&shape))
        for (Eigen::Vector3d& v : mesh->vertices)
            v = carried(v);
    if (auto* ellipsoid = std::get_if<Ellipsoid>(&shape)) {
        ellipsoid->centre_mm = carried(ellipsoid->centre_mm);
        ellipsoid->rotation = (turn * ellipsoid->rotation).normalized();
    }
    if (auto* sheet = std::get_if<Sheet>(&shape))
        for (Eigen::Vector3d& corner : sheet->corners_mm)
            corner = carried(corner);
    return shape;
}

}  // namespace

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
