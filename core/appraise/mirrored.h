// Mirrored: how often the facets show each defect that is left inside, traced by core/light.
#pragma once

#include <optional>
#include <vector>

#include "core/base/material.h"
#include "core/base/progress.h"
#include "core/cut/design.h"
#include "core/cut/placement.h"
#include "core/stone/defect.h"

namespace macle {

// In the order of the defects: images beside the straight one; nothing for a defect that is not
// left inside. Takes seconds for many defects; polls `progress`. Throws what seenFaceUp throws:
// Error{BadInput} for a material of unknown index, Error{Cancelled}.
std::vector<std::optional<int>> mirroredImages(const std::vector<Defect>& defects,
                                               const Design& design, const Placement& placement,
                                               const Material& material, int threads = 0,
                                               Progress* progress = nullptr);

}  // namespace macle
