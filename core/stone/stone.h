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

// Which weight a figure in carats starts from when scan and scale differ. Density is known to a
// fraction of a percent and a scale to its last digit, so that a difference is laid to the scan:
// its lengths are taken to be all wrong by one factor k, and volumes by k^3. When the scale is
// trusted, every weight of the stone and of what is cut from it is therefore its volume in the scan
// times density times k^3 = scale weight / scan weight; recovery does not change. Lengths stay
// those of the scan, which weightBasis says with the doubt: a local fault of the scan (a pit it did
// not see) would not be one factor.
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

// Scale weight over scan weight when the scale is trusted and the stone was weighed, else 1.
double weightFactor(const Stone& stone);

// Of a volume in the scan of this stone, rough or finished, by the trusted weight: the one way from
// volumes to carats. ct.
double caratsOf(const Stone& stone, double volume_mm3);

// "Weights scaled to the scale weight 19.020 ct; by the scan the rough weighs 19.100 ct. Lengths
// are those of the scan, 0.14 % too long if one factor is to blame." Empty when the scan is
// trusted.
std::string weightBasis(const Stone& stone);

}  // namespace macle
