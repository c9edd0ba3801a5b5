// Piece as a stone: what is known about the rough, for one of its pieces. Pure; any thread.
#pragma once

#include "core/divide/division.h"
#include "core/stone/stone.h"

namespace macle {

// The piece is the rough of the stone it gives; material, axes, colour and all defects are those of
// `stone`, also defects that lie in another piece, so that they keep their numbers. Where the scale
// is trusted its weight is the piece's share, so that caratsOf gives the same bits for a volume as
// for the whole stone. A piece was never on the scale itself: no scale weight where the scan is
// trusted.
Stone stoneOf(const Stone& stone, const Piece& piece);

}  // namespace macle
