#include "app/window/angles.h"

#include <gtest/gtest.h>

#include <random>

namespace macle::app {
namespace {

TEST(PoseAngles, ComeBackFromTheRotationTheyName) {
    std::mt19937 generator(7);
    std::uniform_real_distribution<double> tilt(0.01, 179.99);
    std::uniform_real_distribution<double> turn(0.0, 360.0);
    for (int i = 0; i < 2000; ++i) {
        const PoseAngles given{tilt(generator), turn(generator), turn(generator)};
        const PoseAngles found = anglesOf(rotationOf(given));
        EXPECT_NEAR(found.tilt_deg, given.tilt_deg, 1e-6);
        EXPECT_NEAR(std::remainder(found.azimuth_deg - given.azimuth_deg, 360.0), 0.0, 1e-6);
        EXPECT_NEAR(std::remainder(found.spin_deg - given.spin_deg, 360.0), 0.0, 1e-6);
    }
}

TEST(PoseAngles, NameEveryRotationAlsoAtThePoles) {
    std::mt19937 generator(11);
    std::normal_distribution<double> normal;
    for (int i = 0; i < 2000; ++i) {
        const Eigen::Quaterniond any = Eigen::Quaterniond(normal(generator), normal(generator),
                                                          normal(generator), normal(generator))
                                           .normalized();
        EXPECT_LT(turnBetween_deg(rotationOf(anglesOf(any)), any), 1e-9);
    }
    for (const Eigen::Vector3d& axis :
         {Eigen::Vector3d(0, 0, 1), Eigen::Vector3d(1, 0, 0), Eigen::Vector3d(0, 1, 0)})
        for (const double angle : {0.0, 90.0, 180.0, 270.0}) {
            const Eigen::Quaterniond turn(Eigen::AngleAxisd(angle / 180.0 * M_PI, axis));
            EXPECT_LT(turnBetween_deg(rotationOf(anglesOf(turn)), turn), 1e-6)
                << axis.transpose() << " by " << angle;
        }
}

TEST(PoseAngles, TiltIsTheAngleOfTheTableToTheStonesAxisAndAzimuthItsLean) {
    const Eigen::Quaterniond q = rotationOf({30.0, 90.0, 12.0});
    const Eigen::Vector3d table = q * Eigen::Vector3d::UnitZ();
    EXPECT_NEAR(table.x(), 0.0, 1e-12);
    EXPECT_NEAR(table.y(), 0.5, 1e-12);
    EXPECT_NEAR(table.z(), std::sqrt(0.75), 1e-12);
    // Upright, the spin alone is the turn and the azimuth says nothing.
    EXPECT_LT(turnBetween_deg(rotationOf({0.0, 77.0, 12.0}), rotationOf({0.0, 0.0, 12.0})), 1e-9);
}

}  // namespace
}  // namespace macle::app
