#include "core/light/trace.h"

#include <gtest/gtest.h>

#include <cmath>

#include "core/base/error.h"
#include "core/cut/library.h"
#include "core/light/fresnel.h"
#include "tests/core/light/light_shapes.h"

namespace macle {
namespace {

using Eigen::Vector3d;

const Material& diamond() {
    static const Material material = loadMaterial("diamond");
    return material;
}

double degreesToVertical(const Vector3d& direction) {
    return std::acos(direction.z()) * 180.0 / M_PI;
}

TraceOptions exact() {
    TraceOptions options;
    options.leastPower = 1e-18;
    return options;
}

// A plane plate: the closed sum of all reflections, each polarisation by itself.
TEST(Trace, APlateThrowsBackAbsorbsAndPassesWhatTheGeometricSeriesSays) {
    const LightBody body(test::box(500, 500, 1), 1.0, diamond());
    for (const double outside_deg : {0.0, 10.0, 35.0, 60.0, 80.0}) {
        for (const double absorption : {0.0, 0.05, 0.4}) {
            TraceOptions options = exact();
            options.absorption_per_mm = absorption;
            const double a = outside_deg * M_PI / 180.0;
            const LightRay ray{{-3.0 * std::tan(a), 0.0, 4.0}, {std::sin(a), 0.0, -std::cos(a)}};
            const RayAccount account = traceRays(body, {ray}, options, 1).front();
            const double n = body.index(options.wavelength_nm);
            const double path = 2.0 / std::sqrt(1.0 - std::pow(std::sin(a) / n, 2));
            const double once = std::exp(-absorption * path);
            double passed = 0.0, back = 0.0;
            const Reflectances r = reflectanceOutside(n, outside_deg);
            for (const double R : {r.s, r.p}) {
                passed += 0.5 * (1 - R) * (1 - R) * once / (1 - R * R * once * once);
                back += 0.5 * (1 - R) * (1 - R) * R * once * once / (1 - R * R * once * once);
            }
            double below = 0.0, above = 0.0;
            for (const LeavingLight& light : account.leaving)
                (light.direction.z() < 0 ? below : above) += light.power;
            EXPECT_NEAR(account.glare, r.mean(), 1e-13);
            EXPECT_NEAR(below, passed, 1e-13);
            EXPECT_NEAR(above, back, 1e-13);
            EXPECT_NEAR(account.absorbed, 1.0 - r.mean() - passed - back, 1e-12);
            ASSERT_FALSE(account.leaving.empty());
            EXPECT_NEAR(account.leaving.front().path_mm, path, 1e-12);
            EXPECT_NEAR(account.leaving.front().direction.dot(ray.direction), 1.0, 1e-12);
        }
    }
}

// The vertical ray of the ideal profile: it meets the pavilion at its angle, then the other side at
// 180 less three times that, and rises at 180 less four times (Tolkowsky, Diamond Design, 1919,
// derived anew; the angles in air by Snell's law).
TEST(Trace, TheVerticalRayLeavesTheTableWhereTwoReflectionsSendIt) {
    const struct {
        double pavilion_deg, leaves_deg;
    } kRows[] = {{40.75, 44.97}, {40.5, 48.33}, {41.0, 41.78}, {42.0, 30.17}, {43.0, 19.66}};
    for (const auto& row : kRows) {
        const LightBody body(test::trough(row.pavilion_deg), 1.0, diamond());
        const auto account =
            traceRays(body, {{{0.3, 0.1, 2.0}, {0.0, 0.0, -1.0}}}, exact(), 1).front();
        ASSERT_FALSE(account.leaving.empty());
        const LeavingLight& first = account.leaving.front();
        EXPECT_EQ(body.facet(0, first.facet).name, "table");
        EXPECT_EQ(first.hits, 3);
        EXPECT_NEAR(degreesToVertical(first.direction), row.leaves_deg, 0.006);
    }
}

TEST(Trace, TheWayInsideMeetsThePavilionAtTheAnglesOfTheProfile) {
    const double b = 40.75 * M_PI / 180.0;
    const LightBody body(test::trough(40.75), 1.0, diamond());
    const auto way = wayInside(body, {{0.3, 0.1, 2.0}, {0.0, 0.0, -1.0}}, exact());
    ASSERT_GE(way.size(), 3u);
    const char* names[] = {"pavilion right", "pavilion left", "table"};
    const double angles[] = {40.75, 57.75, 17.0};
    const Vector3d normals[] = {
        {std::sin(b), 0, -std::cos(b)}, {-std::sin(b), 0, -std::cos(b)}, {0, 0, 1}};
    for (std::size_t i = 0; i < 3; ++i) {
        EXPECT_EQ(body.facet(0, way[i].facet).name, names[i]);
        const Vector3d d = (way[i].to_mm - way[i].from_mm).normalized();
        EXPECT_NEAR(std::acos(d.dot(normals[i])) * 180.0 / M_PI, angles[i], 1e-9);
    }
}

// Below 24.44 degrees it goes out at the first side, above 51.85 at the second; below 38.89 the
// table throws it back (derived from the same angles and the critical angle at D).
TEST(Trace, TheVerticalRayEscapesBelowOnlyBeyondTheCriticalAngles) {
    const auto firstOut = [](double pavilion_deg) {
        const LightBody body(test::trough(pavilion_deg), 1.0, diamond());
        const auto account =
            traceRays(body, {{{0.1, 0.1, 2.0}, {0.0, 0.0, -1.0}}}, exact(), 1).front();
        return std::pair(body.facet(0, account.leaving.front().facet).name,
                         account.leaving.front().hits);
    };
    EXPECT_EQ(firstOut(24.3), std::pair(std::string("pavilion right"), 1));
    EXPECT_NE(firstOut(24.6).second, 1);
    EXPECT_EQ(firstOut(51.95), std::pair(std::string("pavilion left"), 2));
    EXPECT_NE(firstOut(51.75), std::pair(std::string("pavilion left"), 2));
    EXPECT_EQ(firstOut(38.95), std::pair(std::string("table"), 3));
    EXPECT_NE(firstOut(38.8), std::pair(std::string("table"), 3));
    // At 45 degrees light comes straight back.
    const LightBody body(test::trough(45.0), 1.0, diamond());
    const auto account = traceRays(body, {{{0.3, 0.1, 2.0}, {0, 0, -1}}}, exact(), 1).front();
    EXPECT_NEAR(account.leaving.front().direction.z(), 1.0, 1e-12);
}

// The girdle is seen inside the table when the table is wider than 4 sin^2(pavilion) - 1 of the
// diameter: derived; the values agree with common practice, no source.
TEST(Trace, TheGirdleShowsThroughTheTableFromTheFishEyesOnset) {
    const struct {
        double pavilion_deg, table_percent;
    } kRows[] = {{37.0, 44.9}, {38.0, 51.6},  {38.66, 56.1}, {39.0, 58.4},
                 {40.0, 65.3}, {40.75, 70.4}, {41.0, 72.2}};
    for (const auto& row : kRows) {
        const LightBody body(test::trough(row.pavilion_deg), 1.0, diamond());
        const auto showsGirdle = [&](double x) {
            const auto way = wayInside(body, {{x, 0.1, 2.0}, {0.0, 0.0, -1.0}}, exact());
            return body.facet(0, way[1].facet).name != "pavilion left";
        };
        double hidden = 0.05, shown = 0.999;
        ASSERT_FALSE(showsGirdle(hidden));
        ASSERT_TRUE(showsGirdle(shown));
        for (int i = 0; i < 40; ++i) {
            const double x = 0.5 * (hidden + shown);
            (showsGirdle(x) ? shown : hidden) = x;
        }
        EXPECT_NEAR(100.0 * shown,
                    100.0 * (4.0 * std::pow(std::sin(row.pavilion_deg * M_PI / 180), 2) - 1.0),
                    1e-6);
        EXPECT_NEAR(100.0 * shown, row.table_percent, 0.06);
    }
}

TEST(Trace, ABodyInsideTakesItsShareOnce) {
    const LightBody body(test::box(5, 5, 1), 1.0, diamond());
    const double R = reflectanceOutside(body.index(kYellowSodium_nm), 0.0).mean();
    TraceOptions options = exact();
    options.bodies.emplace_back(Ellipsoid{{0, 0, 0}, {0.2, 0.2, 0.1}}, 0.25);
    const std::vector<LightRay> rays{{{0.1, 0.1, 3.0}, {0, 0, -1}}, {{0.3, 0.1, 3.0}, {0, 0, -1}}};
    const auto accounts = traceRays(body, rays, options, 1);
    // The series of a plate whose every passage keeps three quarters.
    EXPECT_NEAR(accounts[0].leaving.front().power, (1 - R) * (1 - R) * 0.75, 1e-13);
    EXPECT_NEAR(accounts[0].blocked, (1 - R) * 0.25 / (1 - R * 0.75), 1e-12);
    EXPECT_EQ(accounts[1].blocked, 0.0);
    options.bodies = {BodyInside(Ellipsoid{{0, 0, 0}, {0.2, 0.2, 0.1}})};
    EXPECT_NEAR(traceRays(body, rays, options, 1)[0].blocked, 1.0 - R, 1e-13);
}

TEST(Trace, RefusesWhatIsNoRayOrNoOption) {
    const LightBody body(test::box(1, 1, 1), 1.0, diamond());
    EXPECT_THROW(traceRays(body, {{{0, 0, 0}, {0, 0, -1}}}, {}), Error);
    EXPECT_THROW(traceRays(body, {{{0, 0, 3}, {0, 0, -2}}}, {}), Error);
    EXPECT_THROW(traceRays(body, {{{0, 0, NAN}, {0, 0, -1}}}, {}), Error);
    TraceOptions options;
    options.wavelength_nm = 20.0;
    EXPECT_THROW(traceRays(body, {}, options), Error);
    options = {};
    options.absorption_per_mm = -1.0;
    EXPECT_THROW(traceRays(body, {}, options), Error);
    EXPECT_THROW(LightBody(test::box(1, 1, 1), 0.0, diamond()), Error);
    EXPECT_THROW(BodyInside(Ellipsoid{{0, 0, 0}, {0.2, 0.0, 0.1}}), Error);
    EXPECT_FALSE(traceRays(body, {{{5, 0, 3}, {0, 0, -1}}}, {}).front().met);
}

}  // namespace
}  // namespace macle
