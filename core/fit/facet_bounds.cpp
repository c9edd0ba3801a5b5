// Bounds in single precision. Every use allows for their rounding; yet contraction is off here too,
// for how finely contacts are told apart follows them, and that must not depend on the processor.
#include <algorithm>
#include <cmath>
#include <limits>

#include "core/base/vector_width.h"
#include "core/fit/facet_scan.h"

namespace macle::scan {

namespace {

typedef float Floats __attribute__((vector_size(32)));
typedef int Ints __attribute__((vector_size(32)));
typedef long long Longs __attribute__((vector_size(32)));
typedef long long Pair __attribute__((vector_size(16)));

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
#define MACLE_REACHES(values, floor, result)                                                \
    const Longs result##Lanes = (Longs)((values) >= (floor));                               \
    const Pair result##Both = __builtin_shufflevector(result##Lanes, result##Lanes, 0, 1) | \
                              __builtin_shufflevector(result##Lanes, result##Lanes, 2, 3);  \
    const bool result = (result##Both[0] | result##Both[1]) != 0

// The field of the cube map that a direction in the stone frame falls in.
__attribute__((always_inline)) static inline std::size_t facingBit(const Facing& facing, float qx,
                                                                   float qy, float qz) {
    const float* m = facing.unturn;
    const float d[3] = {m[0] * qx + m[1] * qy + m[2] * qz, m[3] * qx + m[4] * qy + m[5] * qz,
                        m[6] * qx + m[7] * qy + m[8] * qz};
    const float size[3] = {std::abs(d[0]), std::abs(d[1]), std::abs(d[2])};
    const int axis =
        size[0] >= size[1] ? (size[0] >= size[2] ? 0 : 2) : (size[1] >= size[2] ? 1 : 2);
    if (!(size[axis] > 0.0F)) return facing.bits[0];
    constexpr int n = Facing::kFields;
    const float scale = 0.5F * n / size[axis];
    const int row = std::min(n - 1, static_cast<int>(d[(axis + 1) % 3] * scale + 0.5F * n));
    const int column = std::min(n - 1, static_cast<int>(d[(axis + 2) % 3] * scale + 0.5F * n));
    const int side = 2 * axis + (d[axis] > 0.0F ? 0 : 1);
    return facing.bits[(side * n + row) * n + column];
}

MACLE_MANY_WIDTHS
float boxBound(const BoxQuery& query, const TreeNode& node, BlockMask& mask) {
    const FacetFloats* facets = query.facets;
    const FacetFloats* extra = query.extra;
    const BlockLayout layout = query.layout;
    const std::size_t extras = query.extras;
    const float enough = query.enough, band = query.band;
    const float qx = node.centre[0] - query.centre[0], qy = node.centre[1] - query.centre[1],
                qz = node.centre[2] - query.centre[2];
    const float* u = node.axes.data();
    Floats low = Floats{} - std::numeric_limits<float>::infinity();
    for (std::size_t i = 0; i < extras; ++i) {
        MACLE_BOX_RANGE(extra[i]);
        low = least > low ? least : low;
    }
    {
        MACLE_REACHES(low, enough, far);
        if (far) return enough;
    }
    const std::size_t first = query.facing ? facingBit(*query.facing, qx, qy, qz) : 0;
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

#define MACLE_LEAST_CORNER(f)                                                               \
    const Floats gx = MACLE_LOAD((f).gx), gy = MACLE_LOAD((f).gy), gz = MACLE_LOAD((f).gz); \
    const Floats v0 = gx * c[0] + gy * c[1] + gz * c[2];                                    \
    const Floats v1 = gx * c[3] + gy * c[4] + gz * c[5];                                    \
    const Floats v2 = gx * c[6] + gy * c[7] + gz * c[8];                                    \
    const Floats lower = v0 < v1 ? v0 : v1;                                                 \
    const Floats least = (v2 < lower ? v2 : lower) + MACLE_LOAD((f).b)

MACLE_MANY_WIDTHS
float triangleBound(const FacetFloats* facets, const BlockLayout& layout, const FacetFloats* extra,
                    std::size_t extras, const float* c, BlockMask mask, float enough) {
    Floats best = Floats{} - std::numeric_limits<float>::infinity();
    for (std::size_t i = 0; i < extras; ++i) {
        MACLE_LEAST_CORNER(extra[i]);
        best = least > best ? least : best;
    }
    {
        MACLE_REACHES(best, enough, far);
        if (far) return enough;
    }
    for (BlockMask rest = mask; rest != 0; rest &= rest - 1) {
        const std::size_t bit = static_cast<std::size_t>(__builtin_ctzll(rest));
        for (std::size_t i = bit * layout.stride;
             i < (bit + 1) * layout.stride && i < layout.blocks; ++i) {
            MACLE_LEAST_CORNER(facets[i]);
            best = least > best ? least : best;
        }
    }
    float bound = best[0];
    for (int lane = 1; lane < 8; ++lane)
        bound = best[lane] > bound ? best[lane] : bound;
    return bound;
}

}  // namespace macle::scan
