#include "core/divide/piece_stone.h"

#include <gtest/gtest.h>

#include <random>

#include "core/base/error.h"
#include "tests/core/solid/test_bodies.h"

using namespace macle;
using namespace macle::bodies;

namespace {

Stone pebbleStone() {
    Stone stone;
    stone.name = "pebble";
    stone.material = loadMaterial("diamond");
    stone.rough = rough(pebble(3));
    stone.axes = CrystalAxes{};
    stone.colour.body.letter = "G";
    Defect spot;
    spot.name = "spot";
    spot.shape = Ellipsoid{{0.0, 0.0, 2.0}, Vector3d::Constant(0.1)};
    stone.defects = {spot};
    return stone;
}

}  // namespace

TEST(PieceStone, KeepsWhatIsKnownOfTheRough) {
    const Stone stone = pebbleStone();
    const RoughCutter cutter(stone.rough);
    const Division division = divide(stone.rough, cutter, {Saw{}});
    for (const Piece& piece : division.pieces) {
        const Stone part = stoneOf(stone, piece);
        EXPECT_EQ(part.rough.volume_mm3, piece.volume_mm3);
        EXPECT_EQ(part.rough.mesh.triangles.size(), piece.mesh.triangles.size());
        EXPECT_EQ(part.material.density_g_cm3, stone.material.density_g_cm3);
        EXPECT_EQ(part.colour.body.letter, "G");
        EXPECT_TRUE(part.axes);
        ASSERT_EQ(part.defects.size(), 1u);
        EXPECT_EQ(part.defects[0].name, "spot");
        EXPECT_FALSE(part.scale_ct);
    }
}

TEST(PieceStone, WeighsToTheBitAsTheWholeStoneDoes) {
    Stone stone = pebbleStone();
    const RoughCutter cutter(stone.rough);
    std::mt19937_64 random(5);
    const auto unit = [&] { return static_cast<double>(random() >> 11) * 0x1.0p-53; };
    Saw saw;
    for (int cuts = 0; cuts < 20; ++cuts) {
        saw.offset_mm = 3.0 * unit() - 1.5;
        saw.kerf_mm = 0.1 * unit();
        const Division division = divide(stone.rough, cutter, {saw});
        for (int scales = 0; scales < 40; ++scales) {
            stone.scale_ct = scanWeight_ct(stone) * (0.1 + 1.9 * unit());
            for (const TrustedWeight trusted : {TrustedWeight::Scan, TrustedWeight::Scale}) {
                stone.trusted = trusted;
                for (const Piece& piece : division.pieces) {
                    const Stone part = stoneOf(stone, piece);
                    ASSERT_EQ(weightFactor(part), weightFactor(stone));
                    ASSERT_EQ(part.rough.volume_mm3, piece.volume_mm3);
                    for (int v = 0; v < 5; ++v) {
                        const double volume = 100.0 * unit();
                        ASSERT_EQ(caratsOf(part, volume), caratsOf(stone, volume));
                    }
                }
            }
        }
    }
}
