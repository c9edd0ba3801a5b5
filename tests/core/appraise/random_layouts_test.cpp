// Random divisions of random roughs, a stone as large as it can be in every piece: no two stones
// are nearer than the kerf between them, by an independent measure, and every carat is accounted
// for. 300 layouts, or as many as MACLE_RANDOM_LAYOUTS says.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <iostream>
#include <numeric>
#include <random>

#include "core/appraise/whole_layout.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/units.h"
#include "core/cut/library.h"
#include "core/fit/search.h"
#include "core/solid/separation.h"
#include "tests/core/solid/exact_distance.h"
#include "tests/core/solid/test_bodies.h"

using namespace macle;
using namespace macle::bodies;

namespace {

class Dice {
  public:
    explicit Dice(std::uint64_t seed) : random_(seed) {}
    double unit() { return static_cast<double>(random_() >> 11) * 0x1.0p-53; }
    double between(double low, double high) { return low + (high - low) * unit(); }
    int below(int count) { return static_cast<int>(random_() % static_cast<unsigned>(count)); }
    Vector3d vector() { return {between(-1, 1), between(-1, 1), between(-1, 1)}; }
    Vector3d direction() {
        for (;;)
            if (const Vector3d v = vector(); v.norm() > 0.1 && v.norm() < 1.0)
                return v.normalized();
    }
    Eigen::Quaterniond rotation() {
        return Eigen::Quaterniond(Eigen::AngleAxisd(between(0, 6.28), direction()));
    }

  private:
    std::mt19937_64 random_;
};

TriangleMesh anyRough(Dice& dice) {
    TriangleMesh mesh;
    switch (dice.below(4)) {
        case 0:
            mesh = octahedronMesh(dice.between(2.0, 4.0));
            break;
        case 1:
            mesh = boxMesh({-dice.between(1, 4), -2, -2}, {dice.between(1, 4), 2, 2});
            break;
        default:
            mesh = pebble(2 + dice.below(2));
    }
    const Eigen::Quaterniond turn = dice.rotation();
    for (Vector3d& v : mesh.vertices)
        v = turn * v + Vector3d(5.0, -3.0, 1.0);
    return mesh;
}

std::vector<Saw> anySaws(Dice& dice) {
    std::vector<Saw> saws;
    for (int i = 0, count = 1 + dice.below(3); i < count; ++i) {
        Saw saw;
        saw.piece = dice.below(static_cast<int>(saws.size()) + 1);
        saw.normal = dice.direction();
        saw.offset_mm = saw.normal.dot(Vector3d(5.0, -3.0, 1.0)) + dice.between(-1.2, 1.2);
        saw.kerf_mm = dice.below(4) == 0 ? 0.0 : dice.between(0.0, 0.3);
        if (dice.below(2) == 0)
            saw.v = VKerf{saw.normal.unitOrthogonal(), dice.between(0.0, saw.kerf_mm)};
        saws.push_back(saw);
    }
    return saws;
}

// Somewhere in the piece, as large as it can be there; nothing where no such place is met.
std::optional<Placement> anyPlacement(Dice& dice, const Gauge& gauge, const TriangleMesh& piece) {
    const Box box = bounds(piece);
    for (int attempt = 0; attempt < 30; ++attempt) {
        Placement placement;
        placement.rotation = dice.rotation();
        placement.translation_mm = box.centre() + 0.5 * dice.vector().cwiseProduct(box.extent());
        const GaugeAnswer room = gauge.largest(placement.rotation, placement.translation_mm);
        if (room.source < 0 || !(room.size_mm > 0.1)) continue;
        placement.size_mm = room.size_mm;
        return dice.below(2) == 0 ? settle(gauge, placement) : placement;
    }
    return std::nullopt;
}

std::vector<Vector3d> allCorners(const PlannedStone& planned) {
    std::vector<Vector3d> corners;
    for (const auto& part : placedCorners(designOf(planned), planned.placement))
        corners.insert(corners.end(), part.begin(), part.end());
    return corners;
}

}  // namespace

TEST(RandomLayouts, KeepTheKerfAndAddUp) {
    const char* asked = std::getenv("MACLE_RANDOM_LAYOUTS");
    const int wanted = asked ? static_cast<int>(parseInteger(asked).value_or(0)) : 300;
    ASSERT_GT(wanted, 0);
    const std::vector<std::string> cuts = {"round", "princess", "emerald", "oval"};
    Dice dice(20);
    int layouts = 0, pairs = 0, vs = 0;
    double leastBeyond_mm = 1e9, worstSum = 0.0;
    for (int n = 0; layouts < wanted; ++n) {
        ASSERT_LT(n, 20 * wanted);
        Stone stone;
        stone.material = loadMaterial("diamond");
        stone.rough = rough(anyRough(dice));
        if (dice.below(2) == 0) {
            stone.scale_ct = scanWeight_ct(stone) * dice.between(0.97, 1.03);
            stone.trusted = TrustedWeight::Scale;
        }
        const RoughCutter cutter(stone.rough);
        Layout layout;
        layout.saws = anySaws(dice);
        layout.stones.clear();
        std::shared_ptr<const DividedStone> divided;
        try {
            divided = std::make_shared<const DividedStone>(divideStone(stone, cutter, layout.saws));
        } catch (const Error& error) {
            ASSERT_EQ(error.code(), ErrorCode::BadUsage) << error.message();
            continue;  // a saw that misses its piece
        }
        const Obstacles whole(stone);
        for (std::size_t p = 0; p < divided->pieces.size(); ++p) {
            PlannedStone planned;
            planned.piece = static_cast<int>(p);
            planned.cut = cuts[static_cast<std::size_t>(dice.below(4))];
            const Design design = designOf(planned);
            const Piece& piece = divided->division.pieces[p];
            std::optional<Placement> placement;
            if (dice.below(2) == 0) {  // in the piece itself
                const Obstacles obstacles(*divided->pieces[p].stone);
                placement = anyPlacement(dice, Gauge(obstacles, design, {}), piece.mesh);
            } else {  // in the rough within its walls
                std::vector<Wall> walls;
                for (const HalfSpace& side : piece.sides)
                    walls.push_back({side.normal, side.offset_mm});
                placement = anyPlacement(dice, Gauge(whole, design, {}, walls), piece.mesh);
            }
            if (!placement) continue;
            planned.placement = *placement;
            layout.stones.push_back(planned);
        }
        if (layout.stones.empty()) continue;
        ++layouts;
        const WholeLayout w = weighWhole(divided, layout);
        EXPECT_TRUE(w.open.empty()) << n << ": " << (w.open.empty() ? "" : w.open[0]);
        // The rough by itself, against stones, kerfs and what is left of each piece.
        const double rough_ct = caratsOf(stone, signedVolume_mm3(stone.rough.mesh));
        double sum_ct = std::accumulate(w.kerfs_ct.begin(), w.kerfs_ct.end(), 0.0);
        for (const WholeStone& one : w.stones)
            sum_ct += one.weight.finished_ct;
        for (const WholePiece& piece : w.pieces)
            sum_ct += piece.loss_ct;
        worstSum = std::max(worstSum, std::abs(sum_ct / rough_ct - 1.0));
        ASSERT_NEAR(sum_ct, rough_ct, 1e-9 * rough_ct) << n;
        for (const StonePair& pair : w.pairs) {
            const Saw& saw = layout.saws[static_cast<std::size_t>(pair.saw)];
            const double kerf_mm = saw.v ? saw.v->exit_mm : saw.kerf_mm;
            const double apart_mm = judge::distance_mm(
                allCorners(layout.stones[static_cast<std::size_t>(pair.first)]),
                allCorners(layout.stones[static_cast<std::size_t>(pair.second)]));
            ASSERT_GE(apart_mm, kerf_mm - 1e-9) << n;
            // A slab is proven, which costs some digits where two stones all but touch.
            EXPECT_NEAR(pair.distance_mm, apart_mm, 1e-8) << n;
            EXPECT_LE(pair.distance_mm, apart_mm + 1e-12) << n;
            EXPECT_EQ(pair.kerf_mm, kerf_mm);
            EXPECT_TRUE(pair.apart);
            leastBeyond_mm = std::min(leastBeyond_mm, apart_mm - kerf_mm);
            ++pairs;
            vs += saw.v.has_value();
        }
    }
    std::cout << layouts << " layouts, " << pairs << " pairs of stones, " << vs
              << " of them beside a V; least distance beyond the kerf " << leastBeyond_mm
              << " mm, worst sum " << worstSum << " of the rough\n";
    EXPECT_GT(pairs, layouts / 2);
    EXPECT_GT(vs, pairs / 5);
}
