// A design made ready for many intersections: the verified solid of each part, and of each
// overlap of parts (for inclusion and exclusion), with the edges between faces. Size 1, cut frame.
// Private to solid and appraise.
#pragma once

#include <memory>
#include <vector>

#include "core/solid/convex_solid.h"

namespace macle {

struct PreparedEdge {
    int v0 = 0;
    int v1 = 0;
    int left = 0;   // face that walks v0 -> v1, counter-clockwise from outside
    int right = 0;  // face that walks v1 -> v0
};

struct PreparedSolid {
    unsigned members = 0;  // bit i: part i of the design
    ConvexSolid solid;
    std::vector<Facet> facets;  // one per face of the solid
    std::vector<PreparedEdge> edges;
    std::vector<std::vector<int>> faceEdges;  // per face: edge from corner i to corner i + 1
    std::vector<int> edgeBetween;             // faces * faces; -1 for none

    bool single() const { return (members & (members - 1)) == 0; }
    double sign() const;  // +1 for an odd number of members, else -1
    int edge(int face, int other) const {
        return edgeBetween[static_cast<std::size_t>(face) * facets.size() +
                           static_cast<std::size_t>(other)];
    }
};

struct PreparedDesign {
    std::vector<PreparedSolid> parts;  // every combination of parts; the single ones first
    std::size_t singles = 0;
    double volume = 0.0;  // of the union
};

// The last few designs are remembered, so that dragging one stone pays for its solid once.
// Thread contract: any thread. Throws what makeSolid throws.
std::shared_ptr<const PreparedDesign> prepareDesign(const Design& design);

}  // namespace macle
