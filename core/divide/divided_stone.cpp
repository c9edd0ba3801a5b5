#include "core/divide/divided_stone.h"

#include <utility>

#include "core/base/error.h"
#include "core/base/part_progress.h"
#include "core/divide/piece_stone.h"

namespace macle {

namespace {

constexpr double kDivided = 0.5;  // share of the whole that is done once the pieces are known

}  // namespace

DividedStone divideStone(const Stone& stone, const RoughCutter& cutter,
                         const std::vector<Saw>& saws, Progress* progress) {
    DividedStone divided;
    divided.rough_mm3 = stone.rough.volume_mm3;
    divided.saws = saws;
    PartProgress dividing(progress, 0.0, kDivided);
    divided.division = divide(stone.rough, cutter, saws, &dividing);
    divided.sawOfSide.resize(1);
    for (std::size_t s = 0; s < saws.size(); ++s) {
        auto& below = divided.sawOfSide[static_cast<std::size_t>(saws[s].piece)];
        below.push_back(static_cast<int>(s));
        const std::vector<int> above = below;
        divided.sawOfSide.push_back(above);
    }
    if (saws.empty()) {
        const std::shared_ptr<void> nobody;
        divided.pieces.push_back({std::shared_ptr<const Stone>(nobody, &stone),
                                  std::shared_ptr<const RoughCutter>(nobody, &cutter)});
    } else {
        for (const Piece& piece : divided.division.pieces) {
            if (progress) progress->throwIfCancelled();
            const auto part = std::make_shared<const Stone>(stoneOf(stone, piece));
            divided.pieces.push_back({part, std::make_shared<const RoughCutter>(part->rough)});
        }
    }
    if (progress) progress->advanceTo(1.0);
    return divided;
}

int partingSaw(const std::vector<Saw>& saws, int piece, int other) {
    require(piece >= 0 && other >= 0 && piece <= static_cast<int>(saws.size()) &&
                other <= static_cast<int>(saws.size()),
            "the pieces are those of the saws");
    // Saw s makes piece s + 1; before it that was part of the piece it divides.
    while (piece != other) {
        if (piece < other) std::swap(piece, other);
        const int made = piece - 1;
        piece = saws[static_cast<std::size_t>(made)].piece;
        if (piece == other) return made;
    }
    return -1;
}

std::vector<double> enteringSaws_mm3(const std::vector<Saw>& saws, const Division& division) {
    std::vector<double> volumes;
    for (const Piece& piece : division.pieces)
        volumes.push_back(piece.volume_mm3);
    std::vector<double> entering(saws.size(), 0.0);
    for (std::size_t s = saws.size(); s-- > 0;) {
        double& whole = volumes[static_cast<std::size_t>(saws[s].piece)];
        whole += volumes[s + 1] + division.kerf_mm3[s];
        entering[s] = whole;
    }
    return entering;
}

}  // namespace macle
