// What the picture tests share: stones, the cut, and measuring in a picture.
#pragma once

#include <gtest/gtest.h>

#include <functional>
#include <vector>

#include "core/solid/convex_solid.h"
#include "core/stone/stone.h"
#include "render/palette.h"
#include "render/picture.h"

namespace macle::render::test {

// Ends the test when this machine cannot draw, saying why.
#define MACLE_NEEDS_PICTURES()                                                          \
    do {                                                                                \
        const PictureSupport support = pictureSupport();                                \
        if (!support.available) GTEST_SKIP() << "no pictures here: " << support.reason; \
    } while (false)

// A ball of 5 mm radius with waves of some tenths of a millimetre.
Stone bumpyBall();
Defect ball(const Eigen::Vector3d& centre_mm, double radius_mm, int severity);

std::vector<ConvexSolid> roundSolids();
Placement placedAt(const Eigen::Vector3d& translation_mm, double size_mm,
                   const Eigen::Vector3d& axis = Eigen::Vector3d::UnitX(), double turn_deg = 0.0);
ConvexSolid boxSolid(const Eigen::Vector3d& low, const Eigen::Vector3d& high);

using Pixel = Eigen::Vector2d;  // from the upper left, pixel centres at halves

// Where a point appears, from the camera's own figures (parallel projection).
Pixel project(const Scene& scene, const Picture& picture, const Eigen::Vector3d& point_mm);
double pixelsPerMm(const Scene& scene, const Picture& picture);

Rgb colourAt(const Picture& picture, int x, int y);
Rgb colourAt(const Picture& picture, const Pixel& at);
double distance(const Rgb& a, const Rgb& b);                // largest difference of a component
double brightness(const Rgb& colour);                       // luma of ITU-R BT.709
double meanDifference(const Picture& a, const Picture& b);  // of the bytes, 0 .. 255

// Pixels for which `wanted` holds: how many, and their middle.
struct Blob {
    long long count = 0;
    Pixel middle = Pixel::Zero();
};
Blob blob(const Picture& picture, const std::function<bool(const Rgb&)>& wanted);

}  // namespace macle::render::test
