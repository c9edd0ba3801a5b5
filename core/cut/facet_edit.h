// FacetEdit: one change by hand to the facets of a design. Pure functions; any thread.
#pragma once

#include <string>
#include <vector>

#include "core/cut/design.h"

namespace macle {

struct FacetEdit {
    enum class What {
        Add,     // a new facet at angle_deg, azimuth_deg, distance_percent
        Tilt,    // by tilt_deg steeper (towards upright), keeping its line at height hold_percent
        Turn,    // by turn_deg of azimuth round the axis
        Shift,   // by shift_percent outward along its normal; negative: inward
        Remove,  // of a facet
    };
    What what = What::Shift;
    // A facet by its full name ("pavilion main 3"), or all of its row with wholeRow. For Add the
    // name of the new row.
    std::string facet;
    bool wholeRow = false;
    double angle_deg = 0.0;         // Add: 0 level .. 90 upright
    double azimuth_deg = 0.0;       // Add
    double distance_percent = 0.0;  // Add: of the size, from the origin of the cut frame
    bool crown = true;              // Add: faces up, else down
    int copies = 1;                 // Add: so many round the axis, evenly turned
    bool mirrored = false;          // Add: and the mirror image of each in the plane of the length
    double tilt_deg = 0.0;
    double hold_percent = 0.0;  // Tilt: height above mid-girdle of the line that stays, of the size
    double turn_deg = 0.0;
    double shift_percent = 0.0;

    bool operator==(const FacetEdit&) const = default;
};

// "pavilion main 3" -> "pavilion main"; a name without a number is its own row.
std::string rowOf(const std::string& facetName);

// Appends an edit; one that goes on from the last (the same facet, the same way) is added to it, so
// that stepping a number makes one edit, and one that comes back to where it began makes none.
void append(std::vector<FacetEdit>& edits, const FacetEdit& edit);

// The design after the edit, told in its `changes`; names stay what they were, new facets are
// numbered on from their row. In a design of several parts every part that has the facet changes; a
// new facet joins the parts it is given for: all of them. Throws Error{BadUsage} when there is no
// such facet, the plane would pass the centre or stand beyond upright, or nothing would be left of
// a part. Whether the facets still enclose a solid, makeSolid says.
Design edited(const Design& design, const FacetEdit& edit);
Design edited(Design design, const std::vector<FacetEdit>& edits);

// In words, for the history: "Tilt pavilion main (row) by 0.5 deg".
std::string describe(const FacetEdit& edit);

}  // namespace macle
