#include "core/divide/division.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <numeric>
#include <random>

#include "core/base/error.h"
#include "tests/core/solid/test_bodies.h"

using namespace macle;
using namespace macle::bodies;
using ::testing::HasSubstr;

namespace {

double uniform(std::mt19937_64& random, double low, double high) {
    return low + (high - low) * static_cast<double>(random() >> 11) * 0x1.0p-53;
}

Vector3d anyDirection(std::mt19937_64& random) {
    for (;;) {
        const Vector3d v(uniform(random, -1, 1), uniform(random, -1, 1), uniform(random, -1, 1));
        if (v.norm() > 0.1 && v.norm() < 1.0) return v.normalized();
    }
}

double total(const Division& division) {
    double sum = std::accumulate(division.kerf_mm3.begin(), division.kerf_mm3.end(), 0.0);
    for (const Piece& piece : division.pieces)
        sum += piece.volume_mm3;
    return sum;
}

std::string refusal(const Rough& rough, const std::vector<Saw>& saws) {
    const RoughCutter cutter(rough);
    try {
        divide(rough, cutter, saws);
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), ErrorCode::BadUsage);
        return error.message();
    }
    return "";
}

}  // namespace

TEST(Division, AnOctahedronSawnThroughItsSquareLosesTheSlab) {
    // Edge 5 mm, kerf 0.1 mm through the square: about section times kerf = 2.5 mm3; exactly
    // 4/3 (r^3 - (r - k/2)^3) with r half the axis.
    const double r = 5.0 / std::sqrt(2.0);
    const Rough octahedron = rough(octahedronMesh(r));
    const RoughCutter cutter(octahedron);
    Saw saw;
    saw.kerf_mm = 0.1;
    const Division division = divide(octahedron, cutter, {saw});
    ASSERT_EQ(division.pieces.size(), 2u);
    const double exact = 4.0 / 3.0 * (std::pow(r, 3) - std::pow(r - 0.05, 3));
    EXPECT_NEAR(division.kerf_mm3[0], exact, 1e-10);
    EXPECT_NEAR(division.kerf_mm3[0], 2.5, 0.04);
    EXPECT_NEAR(division.pieces[0].volume_mm3, division.pieces[1].volume_mm3, 1e-10);
    EXPECT_NEAR(total(division), octahedron.volume_mm3, 1e-9 * octahedron.volume_mm3);
    EXPECT_EQ(division.pieces[0].saw, -1);
    EXPECT_EQ(division.pieces[1].saw, 0);
    for (const Vector3d& v : division.pieces[1].mesh.vertices)
        EXPECT_GE(v.z(), 0.05 - 1e-9);
}

TEST(Division, AVTakesItsMeanWidth) {
    const Rough block = rough(boxMesh({-2.0, -1.0, -1.0}, {2.0, 1.0, 1.0}));
    const RoughCutter cutter(block);
    Saw saw;
    saw.kerf_mm = 0.2;
    saw.v = VKerf{Vector3d::UnitX(), 0.1};
    const Division division = divide(block, cutter, {saw});
    EXPECT_NEAR(division.kerf_mm3[0], 4.0 * 2.0 * 0.15, 1e-10);
    EXPECT_NEAR(total(division), 16.0, 1e-9);
    // A point where it leaves nothing: a wedge.
    saw.v->exit_mm = 0.0;
    EXPECT_NEAR(divide(block, cutter, {saw}).kerf_mm3[0], 4.0 * 2.0 * 0.1, 1e-10);
}

TEST(Division, SawsFormATreeAndPiecesKeepTheirPlaceInTheList) {
    const Rough block = rough(boxMesh({0.0, 0.0, 0.0}, {4.0, 2.0, 2.0}));
    const RoughCutter cutter(block);
    Saw across;
    across.normal = Vector3d::UnitX();
    across.offset_mm = 3.0;
    Saw along;  // of what lies above the first
    along.piece = 1;
    along.normal = Vector3d::UnitY();
    along.offset_mm = 0.5;
    Saw first;  // of what lies below it
    first.normal = Vector3d::UnitZ();
    first.offset_mm = 1.5;
    const Division division = divide(block, cutter, {across, along, first});
    ASSERT_EQ(division.pieces.size(), 4u);
    const double expected[] = {3.0 * 2.0 * 1.5, 1.0 * 0.5 * 2.0, 1.0 * 1.5 * 2.0, 3.0 * 2.0 * 0.5};
    const int made[] = {-1, 0, 1, 2};
    for (std::size_t i = 0; i < 4; ++i) {
        EXPECT_NEAR(division.pieces[i].volume_mm3, expected[i], 1e-10) << i;
        EXPECT_EQ(division.pieces[i].saw, made[i]) << i;
        EXPECT_EQ(division.pieces[i].lumps, 1) << i;
    }
}

TEST(Division, PiecesAndKerfsAddUpWhateverTheSaws) {
    const Rough stone = rough(pebble(4));
    const RoughCutter cutter(stone);
    std::mt19937_64 random(7);
    int divided = 0;
    for (int n = 0; n < 60; ++n) {
        std::vector<Saw> saws;
        const int count = 1 + static_cast<int>(random() % 4);
        for (int i = 0; i < count; ++i) {
            Saw saw;
            saw.piece = static_cast<int>(random() % (saws.size() + 1));
            saw.normal = anyDirection(random);
            saw.offset_mm = uniform(random, -2.0, 2.0);
            saw.kerf_mm = uniform(random, 0.0, 0.2);
            if (random() % 2 == 0)
                saw.v = VKerf{saw.normal.unitOrthogonal(), uniform(random, 0.0, saw.kerf_mm)};
            saws.push_back(saw);
        }
        Division division;
        try {
            division = divide(stone, cutter, saws);
        } catch (const Error& error) {
            ASSERT_EQ(error.code(), ErrorCode::BadUsage) << error.message();
            continue;  // a saw that misses its piece
        }
        ++divided;
        EXPECT_NEAR(total(division), stone.volume_mm3, 1e-9 * stone.volume_mm3);
        for (const Piece& piece : division.pieces) {
            EXPECT_TRUE(closed(piece.mesh));
            EXPECT_NEAR(signedVolume_mm3(piece.mesh), piece.volume_mm3, 1e-9 * stone.volume_mm3);
            for (const Vector3d& v : piece.mesh.vertices)
                for (const HalfSpace& side : piece.sides)
                    ASSERT_LE(side.normal.dot(v), side.offset_mm + 1e-7);
        }
        // Of the first saw's two sides nothing is nearer than its narrowest width.
        if (division.pieces.size() == 2) {
            const double narrow = saws[0].v ? saws[0].v->exit_mm : saws[0].kerf_mm;
            double low = -1e9, high = 1e9;
            for (const Vector3d& v : division.pieces[0].mesh.vertices)
                low = std::max(low, saws[0].normal.dot(v));
            for (const Vector3d& v : division.pieces[1].mesh.vertices)
                high = std::min(high, saws[0].normal.dot(v));
            EXPECT_GE(high - low, narrow - 1e-7);
        }
    }
    EXPECT_GT(divided, 25);
}

TEST(Division, AHollowRoughFallsIntoLumpsAndEachPieceIsARoughAgain) {
    // Two blocks joined by a bridge: sawing the bridge off from below leaves two lumps above.
    const TriangleMesh stone = pebble(3);
    const Rough whole = rough(together(stone, moved(stone, {9.0, 0.0, 0.0})));
    const RoughCutter cutter(whole);
    Saw saw;
    const Division division = divide(whole, cutter, {saw});
    EXPECT_EQ(division.pieces[0].lumps, 2);
    EXPECT_EQ(division.pieces[1].lumps, 2);
    const Rough again = roughOf(division.pieces[1]);
    const RoughCutter second(again);
    Saw more;
    more.offset_mm = 1.0;
    const Division finer = divide(again, second, {more});
    EXPECT_NEAR(total(finer), again.volume_mm3, 1e-9 * again.volume_mm3);
}

TEST(Division, WhatCannotBeSawnIsSaidWithTheNumberOfTheSaw) {
    const Rough stone = rough(octahedronMesh(2.0));
    Saw saw;
    saw.offset_mm = 5.0;
    EXPECT_THAT(refusal(stone, {saw}), HasSubstr("Saw 1 leaves nothing above"));
    saw.offset_mm = -5.0;
    EXPECT_THAT(refusal(stone, {saw}), HasSubstr("Saw 1 leaves nothing below"));
    saw.offset_mm = 0.0;
    Saw missing = saw;
    missing.piece = 2;
    EXPECT_THAT(refusal(stone, {saw, missing}), HasSubstr("Saw 2 divides piece 3"));
    EXPECT_THAT(refusal(stone, std::vector<Saw>(kMostSaws + 1, saw)), HasSubstr("more than"));
}
