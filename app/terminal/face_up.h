// macle picture --face-up: what is seen from above of a cut, drawn from rays of light; needs no
// display.
#pragma once

#include <vector>

#include "app/terminal/arguments.h"
#include "app/terminal/console.h"

namespace macle::app {

std::vector<OptionSpec> faceUpOptions();

// Throws Error{BadUsage} when any of faceUpOptions() is given.
void refuseFaceUpOptions(const Arguments& arguments);

void drawFaceUp(const Arguments& arguments, Console& console);

}  // namespace macle::app
