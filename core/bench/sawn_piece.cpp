#include "core/bench/sawn_piece.h"

#include "core/base/error.h"

namespace macle {

namespace {

// Which saws bound each piece after the first `count` of them, in the order of the sides.
std::vector<std::vector<int>> sawsOfPieces(const std::vector<Saw>& saws, std::size_t count) {
    std::vector<std::vector<int>> pieces(1);
    for (std::size_t s = 0; s < count; ++s) {
        auto& divided = pieces.at(static_cast<std::size_t>(saws[s].piece));
        divided.push_back(static_cast<int>(s));
        std::vector<int> fresh = divided;
        pieces.push_back(std::move(fresh));
    }
    return pieces;
}

}  // namespace

SawnPiece sawnPiece(const std::vector<Saw>& saws, const Division& division, std::size_t piece) {
    SawnPiece found;
    found.sides = division.pieces.at(piece).sides;
    found.saws = sawsOfPieces(saws, saws.size()).at(piece);
    require(found.saws.size() == found.sides.size(), "each side of a piece is of one saw");
    return found;
}

SawWay sawWay(const std::vector<Saw>& saws, const Division& division, std::size_t saw) {
    const auto divided = static_cast<std::size_t>(saws.at(saw).piece);
    SawWay way;
    way.before.saws = sawsOfPieces(saws, saw).at(divided);
    const std::size_t count = way.before.saws.size();
    const auto& below = division.pieces.at(divided).sides;
    const auto& above = division.pieces.at(saw + 1).sides;
    require(below.size() > count && above.size() > count, "a saw leaves a side on both its pieces");
    way.before.sides.assign(below.begin(), below.begin() + static_cast<std::ptrdiff_t>(count));
    way.below = below[count];
    way.above = above[count];
    way.middle = {saws[saw].normal, saws[saw].offset_mm};
    return way;
}

}  // namespace macle
