#include "core/fit/starts.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <ctime>

#include "core/fit/obstacles.h"
#include "fit_bodies.h"

namespace macle {
namespace {

using namespace fit_bodies;

double processorSeconds() {
    return static_cast<double>(std::clock()) / CLOCKS_PER_SEC;
}

TEST(RoomyCentres, FindTheMiddleOfABall) {
    Stone stone = octahedronStone(10.0, 5);
    for (Vector3d& v : stone.rough.mesh.vertices)
        v = 4.0 * v.normalized() + Vector3d(1, 2, 3);
    const Obstacles obstacles(stone);
    const auto centres = roomyCentres(obstacles.tree(), 1, {});
    ASSERT_EQ(centres.size(), 1u);
    EXPECT_LT((centres[0] - Vector3d(1, 2, 3)).norm(), 0.04);
}

// Two balls joined by a neck: the larger room first, and the smaller one too.
TEST(RoomyCentres, FindBothRoomsOfADumbbell) {
    Stone stone = octahedronStone(10.0, 5);
    for (Vector3d& v : stone.rough.mesh.vertices) {
        const Vector3d u = v.normalized();
        v = Vector3d(1.2 * u.x(), 1.2 * u.y(), 6.0 * u.z());
        const double swell = 1.0 + 1.5 * std::exp(-std::pow(v.z() - 3.5, 2)) +
                             0.9 * std::exp(-std::pow(v.z() + 3.5, 2));
        v.x() *= swell;
        v.y() *= swell;
    }
    const Obstacles obstacles(stone);
    const auto centres = roomyCentres(obstacles.tree(), 1, {});
    ASSERT_GE(centres.size(), 2u);
    EXPECT_GT(centres[0].z(), 2.0);
    EXPECT_TRUE(std::any_of(centres.begin(), centres.end(),
                            [](const Vector3d& c) { return c.z() < -2.0; }));
}

TEST(RoomyCentres, AskWhetherToStopAgainAndAgain) {
    const Stone stone = stoneOf(notchedBall(100, 5.0));
    const Obstacles obstacles(stone);
    double last = processorSeconds(), longest = 0.0;
    const auto centres = roomyCentres(obstacles.tree(), 1, [&] {
        const double now = processorSeconds();
        longest = std::max(longest, now - last);
        last = now;
        return false;
    });
    EXPECT_FALSE(centres.empty());
    EXPECT_LT(longest, 0.1);
}

TEST(RoomyCentres, StopAtOnceWhenCancelledAndWithOneCentreWhenHurried) {
    const Stone stone = stoneOf(notchedBall(40, 5.0));
    const Obstacles obstacles(stone);
    int asked = 0;
    EXPECT_TRUE(roomyCentres(obstacles.tree(), 1, [&] {
                    ++asked;
                    return true;
                }).empty());
    EXPECT_LT(asked, 3);
    asked = 0;
    const auto hurried = roomyCentres(obstacles.tree(), 1, {}, [&] {
        ++asked;
        return true;
    });
    ASSERT_EQ(hurried.size(), 1u);
    EXPECT_TRUE(obstacles.admissibleCentre(hurried[0]));
    EXPECT_LT(asked, 5);
}

TEST(RoomyCentres, AreTheSameEachTime) {
    const Stone stone = stoneOf(notchedBall(40, 5.0));
    const Obstacles obstacles(stone);
    EXPECT_EQ(roomyCentres(obstacles.tree(), 7, {}), roomyCentres(obstacles.tree(), 7, {}));
}

}  // namespace
}  // namespace macle
