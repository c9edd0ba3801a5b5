// Layout: one whole way of cutting the rough: how it is sawn, and which stone is cut from which
// piece. Stone frame. Plain values; any thread.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "core/cut/design.h"
#include "core/cut/facet_edit.h"
#include "core/cut/placement.h"
#include "core/divide/saw.h"
#include "core/fit/fit_rules.h"

namespace macle {

// One stone of a layout: its cut and where it sits.
struct PlannedStone {
    int piece = 0;  // of those the saws leave (see Division); 0 where nothing is sawn
    std::string cut = "round";
    std::map<std::string, double> proportions;
    std::vector<FacetEdit> edits;  // of the cut's facets, by hand
    Placement placement;
    FitRules rules;

    bool operator==(const PlannedStone&) const = default;
};

inline constexpr std::size_t kMostStones = 24;

struct Layout {
    std::string name = "Layout 1";
    std::vector<Saw> saws;                                            // in working order
    std::vector<PlannedStone> stones = std::vector<PlannedStone>(1);  // never empty

    // The first stone, after which the others were planned.
    PlannedStone& main() { return stones.front(); }
    const PlannedStone& main() const { return stones.front(); }

    bool operator==(const Layout&) const = default;
};

// Throws what makeDesign throws.
Design designOf(const PlannedStone& stone);

}  // namespace macle
