// The scan in double precision that decides. Contraction is off and a maximum does not depend on
// order, so that every vector width gives the same bits.
#include "core/fit/facet_scan.h"

#include <limits>

#include "core/base/vector_width.h"

namespace macle::scan {

namespace {

// Half a block: as wide as the widest registers in use.
typedef double Doubles __attribute__((vector_size(32)));
typedef long long Longs __attribute__((vector_size(32)));
typedef float Singles __attribute__((vector_size(16)));

}  // namespace

#define MACLE_LOAD(array, half) (*reinterpret_cast<const Doubles*>((array) + 4 * (half)))

#define MACLE_STORE(array, half) (*reinterpret_cast<Doubles*>((array) + 4 * (half)))

#define MACLE_PUT(doubles, singles, member, half, value)             \
    {                                                                \
        const Doubles put = value;                                   \
        MACLE_STORE((doubles).member, half) = put;                   \
        *reinterpret_cast<Singles*>((singles).member + 4 * (half)) = \
            __builtin_convertvector(put, Singles);                   \
    }

MACLE_MANY_WIDTHS
void turnFacets(const FacetDoubles* from, std::size_t blocks, const double* turn, FacetDoubles* to,
                FacetFloats* floats) {
    for (std::size_t i = 0; i < blocks; ++i) {
        for (int half = 0; half < 2; ++half) {
            const Doubles x = MACLE_LOAD(from[i].gx, half), y = MACLE_LOAD(from[i].gy, half),
                          z = MACLE_LOAD(from[i].gz, half), b = MACLE_LOAD(from[i].b, half);
            MACLE_PUT(to[i], floats[i], gx, half, turn[0] * x + turn[1] * y + turn[2] * z);
            MACLE_PUT(to[i], floats[i], gy, half, turn[3] * x + turn[4] * y + turn[5] * z);
            MACLE_PUT(to[i], floats[i], gz, half, turn[6] * x + turn[7] * y + turn[8] * z);
            MACLE_PUT(to[i], floats[i], b, half, b);
        }
    }
}

#define MACLE_HIGHER_HALF(f, half, block, best, where)                                    \
    {                                                                                     \
        const Doubles v = MACLE_LOAD((f).gx, half) * qx + MACLE_LOAD((f).gy, half) * qy + \
                          MACLE_LOAD((f).gz, half) * qz + MACLE_LOAD((f).b, half);        \
        const Longs higher = v > (best);                                                  \
        (where) = higher ? (block) : (where);                                             \
        (best) = higher ? v : (best);                                                     \
    }

MACLE_MANY_WIDTHS
int steepestFacet(const FacetDoubles* facets, const BlockLayout& layout, BlockMask mask,
                  const double* q, double* value) {
    const double qx = q[0], qy = q[1], qz = q[2];
    Doubles best[2];
    best[0] = best[1] = Doubles{} - std::numeric_limits<double>::infinity();
    Longs where[2] = {};
    for (BlockMask rest = mask; rest != 0; rest &= rest - 1) {
        const std::size_t bit = static_cast<std::size_t>(__builtin_ctzll(rest));
        for (std::size_t i = bit * layout.stride;
             i < (bit + 1) * layout.stride && i < layout.blocks; ++i) {
            const Longs block = Longs{} + static_cast<long long>(i);
            MACLE_HIGHER_HALF(facets[i], 0, block, best[0], where[0]);
            MACLE_HIGHER_HALF(facets[i], 1, block, best[1], where[1]);
        }
    }
    double most = best[0][0];
    long long index = where[0][0] * FacetDoubles::kLanes;
    for (int lane = 1; lane < FacetDoubles::kLanes; ++lane) {
        const double here = best[lane / 4][lane % 4];
        const long long position = where[lane / 4][lane % 4] * FacetDoubles::kLanes + lane;
        if (here > most || (here == most && position < index)) {
            most = here;
            index = position;
        }
    }
    *value = most;
    return static_cast<int>(index);
}

}  // namespace macle::scan
