// The innermost loops of the gauge, over all facets of a part. Private to fit.
//
// Each is compiled for several vector widths and the processor's best is taken at start;
// contraction is off and a maximum does not depend on order, so that every width gives the same
// bits.
#pragma once

#include <cstddef>

#include "core/fit/gauge_kernel.h"

namespace macle::scan {

// max over facets of g.q - |g|.h + b for two boxes at once.
void boxBounds(const FacetFloats* facets, std::size_t blocks, const float* q0, const float* h0,
               const float* q1, const float* h1, float* bounds);

// max over facets of the least of the three corner values, for `count` triangles of nine floats.
void triangleBounds(const FacetFloats* facets, std::size_t blocks, const float* corners,
                    std::size_t count, float* bounds);

// Facet of the largest g.q + b; the lowest lane among equals. `value` is that maximum.
int steepestFacet(const FacetDoubles* facets, std::size_t blocks, const double* q, double* value);

}  // namespace macle::scan
