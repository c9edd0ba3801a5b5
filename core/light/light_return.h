// Weighted light return: one figure for how bright a cut looks from all around above, after T. S.
// Hemphill, I. M. Reinitz, M. L. Johnson, J. E. Shigley, "Modeling the appearance of the round
// brilliant cut diamond: an analysis of brilliance", Gems & Gemology 34(3) (1998) 158-183.
//
// Diffuse light from the whole upper half space falls on the crown and table, none on girdle and
// pavilion. Of what enters, the part that leaves upwards through the crown counts, weighted from 1
// when it rises straight up to 0 when it leaves level. Glare (thrown back at the first surface)
// does not count. The figure is a share of all light that falls on the crown. That the weight is
// the square of the cosine, and the setting in the dark below the girdle, are from memory of that
// paper's summaries: trust orderings, not digits. A planning estimate.
#pragma once

#include "core/base/progress.h"
#include "core/light/light_body.h"
#include "core/light/trace_options.h"

namespace macle {

struct LightReturnOptions {
    // Rays of a low-discrepancy sequence (Niederreiter, Random Number Generation and Quasi-Monte
    // Carlo Methods, 1992, section 3.1); the weighted figure of a round then stands to about 0.001.
    int rays = 20000;
    double wavelength_nm = kYellowSodium_nm;
    double absorption_per_mm = 0.0;
    double leastPower = 1e-3;
    int threads = 0;
};

struct LightReturn {
    double weighted = 0.0;  // the figure
    double returned = 0.0;  // leaves upwards through the crown, whatever its direction
    double leaked = 0.0;    // leaves elsewhere
    double glare = 0.0;
    double absorbed = 0.0;
    double remainder = 0.0;  // given up; the five add up to 1
};

// The same at any thread count. Throws Error{BadUsage} for options out of range or a design whose
// facets all look down, Error{Cancelled}.
LightReturn lightReturn(const LightBody& body, const LightReturnOptions& options = {},
                        Progress* progress = nullptr);

}  // namespace macle
