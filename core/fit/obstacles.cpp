#include "core/fit/obstacles.h"

#include "core/base/error.h"
#include "core/fit/obstacle_tree.h"

namespace macle {

Obstacles::Obstacles(const Stone& stone, Progress* progress) {
    std::vector<std::string> names{"skin"};
    std::vector<ObstacleSurface> surfaces;
    surfaces.push_back({"skin", stone.rough.mesh, true, 0});
    if (stone.rough.mesh.empty())
        throw Error(ErrorCode::BadInput, "The stone has no skin.",
                    "Import the scan of the rough first.");
    for (std::size_t i = 0; i < stone.defects.size(); ++i) {
        const Defect& defect = stone.defects[i];
        names.push_back(defect.name.empty() ? "defect " + std::to_string(i + 1) : defect.name);
        if (defect.policy == DefectPolicy::MayStay) continue;
        surfaces.push_back({names.back(), defectSurface(defect),
                            !std::holds_alternative<Sheet>(defect.shape), static_cast<int>(i) + 1,
                            defect.margin_mm, defect.policy == DefectPolicy::MayStayAtEdge});
    }
    tree_ = std::make_unique<ObstacleTree>(surfaces, std::move(names), progress);
}

Obstacles::~Obstacles() = default;
Obstacles::Obstacles(Obstacles&&) noexcept = default;
Obstacles& Obstacles::operator=(Obstacles&&) noexcept = default;

std::string Obstacles::sourceName(int source) const {
    const auto& names = tree_->names();
    if (source < 0 || source >= static_cast<int>(names.size())) return "nothing";
    return names[source];
}

bool Obstacles::admissibleCentre(const Eigen::Vector3d& point_mm) const {
    return tree_->admissible(point_mm);
}

}  // namespace macle
