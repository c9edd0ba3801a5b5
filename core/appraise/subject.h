// Subject: the layout that is appraised, as the figures of the appraisal need it.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "core/cut/facet_edit.h"
#include "core/cut/placement.h"
#include "core/fit/fit_rules.h"
#include "core/solid/finished_stone.h"
#include "core/stone/stone.h"

namespace macle {

// The stone and its cutter (made from stone.rough) must outlive it.
struct Subject {
    const Stone& stone;
    const RoughCutter& cutter;
    std::string cut;
    std::map<std::string, double> proportions;  // missing ones take their standard value
    Placement placement;
    FitRules rules = {};
    std::vector<FacetEdit> edits = {};  // of the cut's facets
};

}  // namespace macle
