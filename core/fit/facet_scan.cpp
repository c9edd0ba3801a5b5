// The scan in double precision that decides. Contraction is off and a maximum does not depend on
// order, so that every vector width gives the same bits.
#include "core/fit/facet_scan.h"

#include <limits>

#include "core/base/vector_width.h"

namespace macle::scan {

namespace {

typedef double Doubles __attribute__((vector_size(64)));
typedef long long Longs __attribute__((vector_size(64)));

}  // namespace

#define MACLE_LOAD(array) (*reinterpret_cast<const Doubles*>(array))

MACLE_MANY_WIDTHS
int steepestFacet(const FacetDoubles* facets, const BlockLayout& layout, BlockMask mask,
                  const double* q, double* value) {
    Doubles best = Doubles{} - std::numeric_limits<double>::infinity();
    Longs where = {};
    for (BlockMask rest = mask; rest != 0; rest &= rest - 1) {
        const std::size_t bit = static_cast<std::size_t>(__builtin_ctzll(rest));
        for (std::size_t i = bit * layout.stride;
             i < (bit + 1) * layout.stride && i < layout.blocks; ++i) {
            const Doubles v = MACLE_LOAD(facets[i].gx) * q[0] + MACLE_LOAD(facets[i].gy) * q[1] +
                              MACLE_LOAD(facets[i].gz) * q[2] + MACLE_LOAD(facets[i].b);
            const Longs higher = v > best;
            const Longs here = Longs{} + static_cast<long long>(i);
            where = higher ? here : where;
            best = higher ? v : best;
        }
    }
    double most = best[0];
    long long index = where[0] * 8;
    for (int lane = 1; lane < 8; ++lane) {
        const long long position = where[lane] * 8 + lane;
        if (best[lane] > most || (best[lane] == most && position < index)) {
            most = best[lane];
            index = position;
        }
    }
    *value = most;
    return static_cast<int>(index);
}

}  // namespace macle::scan
