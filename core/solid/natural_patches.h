// Connected patches of skin that remain on a finished stone. Private to solid.
#pragma once

#include <vector>

#include "core/solid/finished_stone.h"
#include "core/solid/part_cut.h"

namespace macle {

// How far the skin reaches into a part at most. Exact to 1e-9 mm; 0 when it stays outside. mm.
double deepest(const SkinTree& tree, const PartCut& cut);

// `cuts` stand for the design's parts (the first `singles`) and their overlaps. Patches less deep
// than tolerance::kInside_mm are contacts, not naturals. Largest first; places in the stone frame.
std::vector<Natural> naturalPatches(const SkinTree& tree, const std::vector<PartCut>& cuts,
                                    std::size_t singles);

}  // namespace macle
