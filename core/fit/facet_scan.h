// The innermost loops of the gauge, over the facets of a part at one pose. Private to fit.
//
// Facets stand in blocks of neighbours, so that deep in the tree, where a patch of skin can meet
// few of them, most blocks are set aside by a bit mask. Each loop is compiled for several vector
// widths and the processor's best is taken at start.
#pragma once

#include <cstddef>
#include <cstdint>

#include "core/fit/obstacle_tree.h"

namespace macle {

// Value at q (relative to the centre) is g . q + b with g = R n / d and b = -a / d. Padding repeats
// the first facet of the block.
struct FacetFloats {
    static constexpr int kLanes = 8;
    alignas(32) float gx[kLanes];
    alignas(32) float gy[kLanes];
    alignas(32) float gz[kLanes];
    alignas(32) float b[kLanes];
};
struct FacetDoubles {
    static constexpr int kLanes = 8;
    alignas(64) double gx[kLanes];
    alignas(64) double gy[kLanes];
    alignas(64) double gz[kLanes];
    alignas(64) double b[kLanes];
};

// Bit i stands for blocks i * stride .. (i + 1) * stride - 1.
using BlockMask = std::uint64_t;
struct BlockLayout {
    std::size_t blocks = 0;
    std::size_t stride = 1;
    BlockMask all = 0;
};

namespace scan {

// Lower bound, up to single-precision rounding, of the largest facet value anywhere in the box:
// max over facets of g.q - sum |g.axis| + b. First the block `extra` is tried, which holds shared
// slopes of contacts already met (convex combinations of facets, which bound the maximum from
// below as well as any facet and along an edge or a corner of the design far better), then that of
// bit `first`; a bound above `enough` is returned at once and `mask` is left. Otherwise blocks that
// lie below bound - band everywhere in the box are taken out of `mask`.
float boxBound(const FacetFloats* facets, const BlockLayout& layout, const FacetFloats& extra,
               const TreeNode& node, const float* centre, std::size_t first, float enough,
               float band, BlockMask& mask);

// max over facets of the least of the three corner values (nine floats), up to rounding.
float triangleBound(const FacetFloats* facets, const BlockLayout& layout, const float* corners,
                    BlockMask mask);

// Position (block * lanes + lane) of the largest g.q + b; the lowest among equals. Same bits on
// every processor.
int steepestFacet(const FacetDoubles* facets, const BlockLayout& layout, BlockMask mask,
                  const double* q, double* value);

}  // namespace scan
}  // namespace macle
