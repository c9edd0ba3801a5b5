// What the verbs that draw have in common: the size of a picture and where it is seen from.
#pragma once

#include <array>
#include <string>

#include "app/terminal/arguments.h"
#include "render/scene.h"

namespace macle::app {

// "WIDTHxHEIGHT" of the option. Throws Error{BadUsage}.
std::array<int, 2> pixels(const Arguments& arguments, const std::string& option,
                          std::array<int, 2> standard);

// "table", "side", "end", "culet" or "oblique" (also without the option). Throws Error{BadUsage}.
render::ViewFrom viewFrom(const Arguments& arguments, const std::string& option);

}  // namespace macle::app
