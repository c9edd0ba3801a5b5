// Stone: everything the planner knows about one rough before a cut is chosen.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/base/material.h"
#include "core/stone/colour.h"
#include "core/stone/crystal_axes.h"
#include "core/stone/defect.h"
#include "core/stone/rough.h"

namespace macle {

// Which weight a figure in carats starts from when scan and scale differ.
enum class TrustedWeight { Scan, Scale };

struct Stone {
    std::string name;
    Material material;
    Rough rough;
    std::optional<double> scale_ct;  // as weighed on the scale
    TrustedWeight trusted = TrustedWeight::Scan;
    std::optional<CrystalAxes> axes;
    ColourRecord colour;
    std::vector<Defect> defects;
    std::vector<DefectCluster> clusters;
};

// Weight of the rough by its scan. ct.
double scanWeight_ct(const Stone& stone);

}  // namespace macle
