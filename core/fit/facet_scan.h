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

// What to guess the steepest block from: the design's facing table (see PreparedPart) and the turn
// back into the cut frame, row by row.
struct Facing {
    static constexpr int kFields = 8;  // along each side of a cube
    const std::uint8_t* bits = nullptr;
    float unturn[9] = {};
};

struct BoxQuery {
    const FacetFloats* facets;
    BlockLayout layout;
    const FacetFloats* extra;
    std::size_t extras;
    const Facing* facing;  // null: begin with block 0
    const float* centre;   // relative to the tree's origin
    float enough;
    float band;
};

namespace scan {

// Lower bound, up to single-precision rounding, of the largest facet value anywhere in the box:
// max over facets of g.q - sum |g.axis| + b. First the blocks `extra` are tried, which hold shared
// slopes of contacts already met (convex combinations of facets, which bound the maximum from
// below as well as any facet and along an edge or a corner of the design far better), then the
// block that faces the box; a bound above `enough` is returned at once and `mask` is left.
// Otherwise blocks that lie below bound - band everywhere in the box are taken out of `mask`.
float boxBound(const BoxQuery& query, const TreeNode& node, BlockMask& mask);

// max over `extra` and facets of the least of the three corner values (nine floats), up to
// rounding; a bound above `enough` is returned at once.
float triangleBound(const FacetFloats* facets, const BlockLayout& layout, const FacetFloats* extra,
                    std::size_t extras, const float* corners, BlockMask mask, float enough);

// Facets of the cut frame at a pose: `turn` is a rotation, row by row. The same in both precisions.
void turnFacets(const FacetDoubles* from, std::size_t blocks, const double* turn, FacetDoubles* to,
                FacetFloats* floats);

// Position (block * lanes + lane) of the largest g.q + b; the lowest among equals. Same bits on
// every processor.
int steepestFacet(const FacetDoubles* facets, const BlockLayout& layout, BlockMask mask,
                  const double* q, double* value);

}  // namespace scan
}  // namespace macle
