// Where the files of resources/ are found: $MACLE_RESOURCES, then beside the executable
// (../share/macle), then the source tree this program was built from.
#pragma once

#include <filesystem>

namespace macle {

// Path of `relative` ("materials/diamond.json"). Throws Error{NotFound}.
std::filesystem::path resourcePath(const std::filesystem::path& relative);

}  // namespace macle
