// The window: `macle [FILE]`.
#pragma once

namespace macle::app {

int runWindow(int argc, char** argv);

}  // namespace macle::app
