// Bounds in single precision. Contraction may be on here (see CMakeLists.txt): every use allows for
// rounding, so the last digits do not matter.
#include <limits>

#include "core/base/vector_width.h"
#include "core/fit/facet_scan.h"

namespace macle::scan {

namespace {

typedef float Floats __attribute__((vector_size(32)));
typedef int Ints __attribute__((vector_size(32)));
typedef long long Longs __attribute__((vector_size(32)));

constexpr std::size_t kMostKept = 64;

}  // namespace

#define MACLE_LOAD(array) (*reinterpret_cast<const Floats*>(array))
#define MACLE_ABS(value) ((Floats)((Ints)(value)&0x7FFFFFFF))

// Least and largest value of each lane's facet over the box.
#define MACLE_BOX_RANGE(f)                                                                  \
    const Floats gx = MACLE_LOAD((f).gx), gy = MACLE_LOAD((f).gy), gz = MACLE_LOAD((f).gz), \
                 b = MACLE_LOAD((f).b);                                                     \
    const Floats middle = gx * qx + gy * qy + gz * qz + b;                                  \
    const Floats a0 = gx * u[0] + gy * u[1] + gz * u[2];                                    \
    const Floats a1 = gx * u[3] + gy * u[4] + gz * u[5];                                    \
    const Floats a2 = gx * u[6] + gy * u[7] + gz * u[8];                                    \
    const Floats span = MACLE_ABS(a0) + MACLE_ABS(a1) + MACLE_ABS(a2);                      \
    const Floats least = middle - span

// Whether any lane of `values` reaches `floor`.
#define MACLE_REACHES(values, floor, result)                  \
    const Longs result##Lanes = (Longs)((values) >= (floor)); \
    const bool result =                                       \
        (result##Lanes[0] | result##Lanes[1] | result##Lanes[2] | result##Lanes[3]) != 0

MACLE_MANY_WIDTHS
float boxBound(const FacetFloats* facets, const BlockLayout& layout, const FacetFloats& extra,
               const TreeNode& node, const float* centre, std::size_t first, float enough,
               float band, BlockMask& mask) {
    const float qx = node.centre[0] - centre[0], qy = node.centre[1] - centre[1],
                qz = node.centre[2] - centre[2];
    const float* u = node.axes.data();
    Floats low = Floats{} - std::numeric_limits<float>::infinity();
    {
        MACLE_BOX_RANGE(extra);
        low = least;
    }
    Floats top = Floats{} - std::numeric_limits<float>::infinity();
    for (std::size_t i = first * layout.stride;
         i < (first + 1) * layout.stride && i < layout.blocks; ++i) {
        MACLE_BOX_RANGE(facets[i]);
        const Floats most = middle + span;
        low = least > low ? least : low;
        top = most > top ? most : top;
    }
    {
        MACLE_REACHES(low, enough, far);
        if (far) return enough;
    }
    const BlockMask tried = BlockMask{1} << first;
    const BlockMask others = mask & ~tried;
    Floats high[kMostKept];
    std::size_t bits = 0;
    for (BlockMask rest = others; rest != 0; rest &= rest - 1) {
        const std::size_t bit = static_cast<std::size_t>(__builtin_ctzll(rest));
        Floats over = Floats{} - std::numeric_limits<float>::infinity();
        for (std::size_t i = bit * layout.stride;
             i < (bit + 1) * layout.stride && i < layout.blocks; ++i) {
            MACLE_BOX_RANGE(facets[i]);
            const Floats most = middle + span;
            low = least > low ? least : low;
            over = most > over ? most : over;
        }
        high[bits++] = over;
    }
    float bound = low[0];
    for (int lane = 1; lane < 8; ++lane)
        bound = low[lane] > bound ? low[lane] : bound;
    if (bits > 0 && bound <= enough) {
        const float floor = bound - band;
        BlockMask kept = 0;
        MACLE_REACHES(top, floor, holds);
        if (holds) kept = tried;
        std::size_t k = 0;
        for (BlockMask rest = others; rest != 0; rest &= rest - 1, ++k) {
            MACLE_REACHES(high[k], floor, stays);
            if (stays) kept |= rest & (~rest + 1);
        }
        mask &= kept;
    }
    return bound;
}

MACLE_MANY_WIDTHS
float triangleBound(const FacetFloats* facets, const BlockLayout& layout, const float* c,
                    BlockMask mask) {
    Floats best = Floats{} - std::numeric_limits<float>::infinity();
    for (BlockMask rest = mask; rest != 0; rest &= rest - 1) {
        const std::size_t bit = static_cast<std::size_t>(__builtin_ctzll(rest));
        for (std::size_t i = bit * layout.stride;
             i < (bit + 1) * layout.stride && i < layout.blocks; ++i) {
            const Floats gx = MACLE_LOAD(facets[i].gx), gy = MACLE_LOAD(facets[i].gy),
                         gz = MACLE_LOAD(facets[i].gz), b = MACLE_LOAD(facets[i].b);
            const Floats v0 = gx * c[0] + gy * c[1] + gz * c[2];
            const Floats v1 = gx * c[3] + gy * c[4] + gz * c[5];
            const Floats v2 = gx * c[6] + gy * c[7] + gz * c[8];
            Floats least = v0 < v1 ? v0 : v1;
            least = (v2 < least ? v2 : least) + b;
            best = least > best ? least : best;
        }
    }
    float bound = best[0];
    for (int lane = 1; lane < 8; ++lane)
        bound = best[lane] > bound ? best[lane] : bound;
    return bound;
}

}  // namespace macle::scan
