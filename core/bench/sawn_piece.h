// SawnPiece: which saw left which side of a piece, and what bounded a piece before a saw divided
// it, read from a division. Stone frame, mm. Pure functions; any thread.
#pragma once

#include <vector>

#include "core/bench/skin_faces.h"
#include "core/divide/division.h"

namespace macle {

struct SawnPiece {
    std::vector<HalfSpace> sides;
    std::vector<int> saws;  // which saw each side is from
};

// As it is after all saws. `saws` and `division` belong together.
SawnPiece sawnPiece(const std::vector<Saw>& saws, const Division& division, std::size_t piece);

// One way of a saw through its piece: what bounded the piece then, and the faces of the kerf.
struct SawWay {
    SawnPiece before;
    Plane middle;
    HalfSpace below;  // of what keeps its place in the list
    HalfSpace above;  // of the new piece
};
SawWay sawWay(const std::vector<Saw>& saws, const Division& division, std::size_t saw);

// The corners of the piece on its sawn faces: where two of them come out on the skin, and where one
// crosses the edge between two natural faces. Those of two saws first.
std::vector<SkinPoint> sawnCorners(const TriangleMesh& skin, const SawnPiece& piece,
                                   const std::vector<NaturalPatch>& faces);

}  // namespace macle
