// Proportions measured on a solid alone: its facets, edges and corners, not the file it was built
// from. Lengths in mm, shares in percent of the width (round: of the mean diameter), angles between
// facet and girdle plane. Pure; any thread.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/appraise/facet_body.h"
#include "core/cut/cut_info.h"

namespace macle {

// By how much a row that should be even is not: largest minus smallest.
struct Spread {
    double mean = 0.0;
    double least = 0.0;
    double most = 0.0;
    double spread() const { return most - least; }
};

struct MeasuredProportions {
    double width_mm = 0.0;
    double length_mm = 0.0;
    double depth_mm = 0.0;
    double depth_percent = 0.0;
    double length_to_width = 0.0;
    std::optional<double> table_percent;         // corner to corner, mean over opposite corners
    std::optional<double> crown_height_percent;  // from the girdle's upper edge at the mains
    std::optional<double> pavilion_depth_percent;
    std::optional<double> culet_percent;
    std::optional<Spread> girdle_percent;  // thickness where it is thickest and thinnest
    std::optional<Spread> crown_deg;       // of the mains, or of all crown facets without mains
    std::optional<Spread> pavilion_deg;
    std::optional<Spread> star_percent;
    std::optional<Spread> lower_half_percent;
    // Symmetry, in percent of the width.
    std::optional<double> table_offset_percent;  // table's middle from the axis
    std::optional<double> culet_offset_percent;
    std::optional<double> table_culet_percent;    // from one another
    std::optional<double> out_of_round_percent;   // round outlines: largest minus least diameter
    std::optional<double> azimuth_deviation_deg;  // mains: largest from their even division
};

// Measures what the stone has; what it has not stays empty (a rose has no table).
MeasuredProportions measureProportions(const FacetBody& body);

// The proportions of `cut` by key, each by the way its `measure` names; a body in the cut frame.
// A proportion that cannot be seen on this body is left out.
std::map<std::string, double> measuredFor(const CutInfo& cut, const FacetBody& body);

// The ways `measure` may name.
std::vector<std::string> waysOfMeasuring();

}  // namespace macle
