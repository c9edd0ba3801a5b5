#include "core/solid/separation.h"

#include <gtest/gtest.h>

#include <random>

#include "core/base/error.h"
#include "core/cut/library.h"
#include "tests/core/solid/exact_distance.h"
#include "tests/core/solid/test_bodies.h"

using namespace macle;
using namespace macle::bodies;

namespace {

using Points = std::vector<Vector3d>;

class Dice {
  public:
    double unit() { return static_cast<double>(random_() >> 11) * 0x1.0p-53; }
    Vector3d vector() { return {2 * unit() - 1, 2 * unit() - 1, 2 * unit() - 1}; }
    Eigen::Quaterniond rotation() {
        return Eigen::Quaterniond(2 * unit() - 1, 2 * unit() - 1, 2 * unit() - 1, 2 * unit() - 1.1)
            .normalized();
    }

  private:
    std::mt19937_64 random_{11};
};

Points cube(const Vector3d& middle, double half) {
    Points points;
    for (int k = 0; k < 8; ++k)
        points.push_back(middle + half * Vector3d(k & 1 ? 1 : -1, k & 2 ? 1 : -1, k & 4 ? 1 : -1));
    return points;
}

void expectProven(const Points& a, const Points& b, const Separation& s) {
    if (s.distance_mm == 0.0) return;
    EXPECT_NEAR(s.normal.norm(), 1.0, 1e-12);
    EXPECT_NEAR(-reachOf(b, -s.normal) - reachOf(a, s.normal), s.distance_mm,
                1e-13 * (1.0 + std::abs(reachOf(a, s.normal))));
    EXPECT_NEAR((s.second_mm - s.first_mm).norm(), s.distance_mm, 1e-9);
}

}  // namespace

TEST(Separation, OfCubesInClosedForm) {
    // Face to face, edge to edge, corner to corner.
    const Points one = cube(Vector3d::Zero(), 1.0);
    const Separation face = separationOf(one, cube({3.5, 0.3, -0.2}, 1.0));
    EXPECT_NEAR(face.distance_mm, 1.5, 1e-14);
    EXPECT_NEAR(face.normal.x(), 1.0, 1e-12);
    EXPECT_NEAR(face.offset_mm, 1.75, 1e-12);
    EXPECT_NEAR(separationOf(one, cube({3.0, 4.0, 0.5}, 1.0)).distance_mm, std::sqrt(5.0), 1e-13);
    EXPECT_NEAR(separationOf(one, cube({3.0, 4.0, 5.0}, 1.0)).distance_mm, std::sqrt(14.0), 1e-13);
    EXPECT_EQ(separationOf(one, cube({1.0, 0.5, 0.0}, 1.0)).distance_mm, 0.0);
    EXPECT_LE(separationOf(one, cube({2.0, 0.0, 0.0}, 1.0)).distance_mm, 1e-15);
    EXPECT_EQ(separationOf(one, one).distance_mm, 0.0);
    EXPECT_THROW(separationOf(one, Points{}), Error);
    EXPECT_THROW(separationOf(one, Points{{0.0, std::nan(""), 0.0}}), Error);
}

TEST(Separation, AgreesWithAnExactQuadraticProgramme) {
    Dice dice;
    int apart = 0;
    for (int n = 0; n < 400; ++n) {
        Points a, b;
        const double flat = n % 4 == 0 ? 1e-3 : 1.0;  // also slabs and near-degenerate bodies
        const Vector3d by = 2.2 * dice.vector();
        for (int i = 0, count = 1 + n % 30; i < count; ++i)
            a.push_back(dice.vector().cwiseProduct(Vector3d(1.0, 1.0, flat)));
        for (int i = 0, count = 1 + n % 23; i < count; ++i)
            b.push_back(dice.vector().cwiseProduct(Vector3d(1.0, 1.0, flat)) + by);
        const Separation s = separationOf(a, b);
        EXPECT_NEAR(s.distance_mm, judge::distance_mm(a, b), 1e-12) << n;
        expectProven(a, b, s);
        apart += s.distance_mm > 0.0;
    }
    EXPECT_GT(apart, 200);
}

TEST(Separation, OfPlacedCuts) {
    Dice dice;
    const std::vector<std::string> cuts = {"round", "heart", "princess", "emerald"};
    for (int n = 0; n < 60; ++n) {
        const Design first = makeDesign(cuts[static_cast<std::size_t>(n) % cuts.size()], {});
        const Design second = makeDesign(cuts[static_cast<std::size_t>(n / 3) % cuts.size()], {});
        Placement a, b;
        a.size_mm = 3.0 + dice.unit();
        b.size_mm = 1.0 + 3.0 * dice.unit();
        a.rotation = dice.rotation();
        b.rotation = dice.rotation();
        b.translation_mm = 6.0 * dice.vector();
        const Separation s = separationOf(first, a, second, b);
        double least = 1e9;
        for (const Points& part : placedCorners(first, a))
            for (const Points& other : placedCorners(second, b))
                least = std::min(least, judge::distance_mm(part, other));
        EXPECT_NEAR(s.distance_mm, least, 1e-12) << n;
    }
}
