#include "core/divide/piece_stone.h"

#include "core/base/error.h"

namespace macle {

Stone stoneOf(const Stone& stone, const Piece& piece) {
    Stone part;
    part.name = stone.name;
    part.material = stone.material;
    part.rough = roughOf(piece);
    part.axes = stone.axes;
    part.colour = stone.colour;
    part.defects = stone.defects;
    part.clusters = stone.clusters;
    if (stone.trusted != TrustedWeight::Scale || !stone.scale_ct) return part;
    part.trusted = TrustedWeight::Scale;
    part.scale_ct = weightFactor(stone) * scanWeight_ct(part);
    require(weightFactor(part) == weightFactor(stone), "a piece is weighed as its rough is");
    return part;
}

}  // namespace macle
