// Division: the rough sawn into pieces. Each piece is the rough within the half-spaces that the
// saws of its branch leave it, cut out of the rough once and not plane by plane. Pieces and kerfs
// are found one by one and must add up to the rough. Stone frame, mm.
#pragma once

#include <vector>

#include "core/base/progress.h"
#include "core/divide/saw.h"
#include "core/solid/finished_stone.h"
#include "core/stone/rough.h"

namespace macle {

namespace tolerance {
// Of the rough's volume: what pieces and kerfs may miss it by. Their volumes are sums over the
// skin's triangles, each right to a few last digits.
inline constexpr double kDivisionSum = 1e-9;
}  // namespace tolerance

struct Piece {
    int saw = -1;                  // the saw whose upper side it is; -1: the first piece
    std::vector<HalfSpace> sides;  // that bound it beside the skin
    double volume_mm3 = 0.0;
    // Separate bodies it falls into; more than one where the rough is hollow. Not counted, 1, where
    // nothing is sawn.
    int lumps = 1;
    TriangleMesh mesh;  // closed surface
};

struct Division {
    std::vector<Piece> pieces;     // of a saw's piece what lies below keeps its place in the list
    std::vector<double> kerf_mm3;  // what each saw turns to dust
};

// The saws in their order. `cutter` must be made from `rough`. Throws Error{BadUsage} for a saw
// that names no piece or leaves nothing on one side, or for more than kMostSaws; Error{Internal}
// when pieces and kerfs do not add up; Error{Cancelled}.
Division divide(const Rough& rough, const RoughCutter& cutter, const std::vector<Saw>& saws,
                Progress* progress = nullptr);

// A piece as a rough of its own, to be fitted into.
Rough roughOf(const Piece& piece);

}  // namespace macle
