// Divided stone: a stone sawn into pieces, each ready to be fitted into, cut from and weighed as a
// stone of its own. Immutable once made; any thread.
#pragma once

#include <memory>
#include <vector>

#include "core/base/progress.h"
#include "core/divide/division.h"
#include "core/stone/stone.h"

namespace macle {

struct StonePiece {
    std::shared_ptr<const Stone> stone;         // the piece as its rough
    std::shared_ptr<const RoughCutter> cutter;  // made from it
};

struct DividedStone {
    double rough_mm3 = 0.0;  // of the stone
    std::vector<Saw> saws;
    Division division;
    std::vector<StonePiece> pieces;           // as in the division
    std::vector<std::vector<int>> sawOfSide;  // per piece: which saw made each of its sides
};

// Where nothing is sawn the only piece is the stone itself, which, as `cutter`, must then outlive
// the result. Throws what divide throws.
DividedStone divideStone(const Stone& stone, const RoughCutter& cutter,
                         const std::vector<Saw>& saws, Progress* progress = nullptr);

// The saw that put two pieces, numbers as in the division, on different sides; -1 for one piece.
int partingSaw(const std::vector<Saw>& saws, int piece, int other);

// The volume that each saw found before it, mm3.
std::vector<double> enteringSaws_mm3(const std::vector<Saw>& saws, const Division& division);

}  // namespace macle
