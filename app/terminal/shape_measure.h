// macle shape --measure: the proportions of a polished stone from its scan.
#pragma once

#include "app/terminal/arguments.h"
#include "app/terminal/console.h"

namespace macle::app {

void measureScan(const Arguments& arguments, Console& console);

}  // namespace macle::app
