#include "core/divide/layout.h"

#include "core/cut/library.h"

namespace macle {

Design designOf(const PlannedStone& stone) {
    return makeDesign(stone.cut, stone.proportions, stone.edits);
}

}  // namespace macle
