// The identity of a layout, printed on every page of its plan sheet. Pure; any thread.
#pragma once

#include <map>
#include <string>

#include "core/divide/layout.h"
#include "core/stone/stone.h"

namespace macle {

// SHA-256, in hexadecimal, over a canonical text of everything that decides the layout: skin,
// material and density, defects with their margins, the saws, and of every stone its piece, cut
// with all its proportions, placement and allowance. Names of stone and layout and the date do not
// enter. A layout of one stone without saws keeps the identity it had when there were no others.
// Throws what makeDesign throws.
std::string layoutHash(const Stone& stone, const Layout& layout);

// The proportions with every standard value written out, so that a value left to the standard and
// the same value given make the same layout.
std::map<std::string, double> fullProportions(const Design& design);

}  // namespace macle
