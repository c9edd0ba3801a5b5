// The files of resources/cuts as they were when the program was built. Private to core/cut.
#pragma once

#include <string>
#include <utility>
#include <vector>

namespace macle {

// File name ("oval.json") and text, in the order of the library.
const std::vector<std::pair<std::string, std::string>>& embeddedCuts();

}  // namespace macle
