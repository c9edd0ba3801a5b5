// Which of the recognisable places fix a reference face best. Private to core/bench. Pure; any
// thread.
#pragma once

#include <vector>

#include "core/bench/reference_face.h"

namespace macle {

// Puts the three that hold the plane best under the table (stone frame, mm) first, of those that
// are not ground away when there are enough, then up to three more as a check; drops the others.
// Sets `firmness`, or says in `remarks` why there is none.
void chooseDeciding(ReferenceFace& face, const std::vector<Eigen::Vector3d>& tableCorners);

}  // namespace macle
