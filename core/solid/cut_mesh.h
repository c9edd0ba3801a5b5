// The closed surface of a verified PartCut. Private to solid.
#pragma once

#include <optional>

#include "core/solid/part_cut.h"

namespace macle {

// Stone frame, mm. Verified: every edge is walked once each way for every time it is used, and the
// volume inside is cut.volume. Nothing when that cannot be had (then corefinement is the way).
std::optional<TriangleMesh> cutMesh(const SkinTree& tree, const PartCut& cut);

}  // namespace macle
