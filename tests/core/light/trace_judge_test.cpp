// The tracer against the independent one of this folder, on every cut of the library.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <random>

#include "core/cut/library.h"
#include "core/light/trace.h"
#include "tests/core/light/reference_tracer.h"

namespace macle {
namespace {

using Eigen::Vector3d;

Vector3d onSphere(std::mt19937_64& random) {
    std::normal_distribution<double> normal;
    return Vector3d(normal(random), normal(random), normal(random)).normalized();
}

std::vector<LightRay> randomRays(int count, double size_mm, std::uint64_t seed) {
    std::mt19937_64 random(seed);
    std::uniform_real_distribution<double> uniform(-0.5, 0.5);
    std::vector<LightRay> rays;
    for (int i = 0; i < count; ++i) {
        const Vector3d origin = 3.0 * size_mm * onSphere(random);
        const Vector3d aim =
            size_mm * Vector3d(uniform(random), uniform(random), 0.5 * uniform(random));
        rays.push_back({origin, (aim - origin).normalized()});
    }
    return rays;
}

class EveryCut : public ::testing::TestWithParam<std::string> {};

TEST_P(EveryCut, RayByRayLikeTheIndependentTracer) {
    const Design design = makeDesign(GetParam(), {});
    const double size_mm = 6.5;
    const LightBody body(design, size_mm, loadMaterial("diamond"));
    TraceOptions options;
    options.wavelength_nm = 486.13;
    options.absorption_per_mm = 0.03;
    options.leastPower = 1e-7;
    options.mostHits = 120;
    const char* asked = std::getenv("MACLE_LIGHT_RAYS");  // more, by hand
    const int count = asked ? std::max(1, std::atoi(asked)) : 250;
    const auto rays = randomRays(count, size_mm, 20261);
    const auto accounts = traceRays(body, rays, options);
    int met = 0;
    for (int r = 0; r < count; ++r) {
        const RayAccount& ours = accounts[static_cast<std::size_t>(r)];
        const auto judge = test::followByFields(
            design, size_mm, body.index(options.wavelength_nm), options.absorption_per_mm,
            rays[static_cast<std::size_t>(r)].origin_mm,
            rays[static_cast<std::size_t>(r)].direction, options.leastPower, options.mostHits);
        ASSERT_EQ(ours.met, judge.met) << r;
        if (!ours.met) continue;
        ++met;
        EXPECT_NEAR(ours.glare, judge.glare, 1e-12) << r;
        EXPECT_NEAR(ours.absorbed, judge.absorbed, 1e-10) << r;
        EXPECT_NEAR(ours.remainder, judge.remainder, 1e-10) << r;
        EXPECT_NEAR(ours.sum(), 1.0, 1e-12) << r;
        ASSERT_EQ(ours.leaving.size(), judge.leaving.size()) << r;
        // A union's branches may come in another order.
        for (const LeavingLight& light : ours.leaving) {
            const bool found = std::any_of(
                judge.leaving.begin(), judge.leaving.end(), [&](const test::ReferenceLight& other) {
                    return other.hits == light.hits &&
                           std::abs(other.power - light.power) < 1e-10 &&
                           std::abs(other.path_mm - light.path_mm) < 1e-8 &&
                           (other.direction - light.direction).norm() < 1e-7;
                });
            EXPECT_TRUE(found) << r << " hits " << light.hits << " power " << light.power;
        }
    }
    EXPECT_GT(met, count / 4);
}

TEST_P(EveryCut, TheSameAtAnyThreadCountAndNoPowerIsLost) {
    const LightBody body(makeDesign(GetParam(), {}), 6.5, loadMaterial("diamond"));
    TraceOptions options;
    options.absorption_per_mm = 0.02;
    options.leastPower = 1e-4;
    const auto rays = randomRays(3000, 6.5, 7);
    const auto one = traceRays(body, rays, options, 1), three = traceRays(body, rays, options, 3);
    double worst = 0.0, remainder = 0.0;
    for (std::size_t r = 0; r < rays.size(); ++r) {
        ASSERT_EQ(one[r].leaving.size(), three[r].leaving.size());
        for (std::size_t i = 0; i < one[r].leaving.size(); ++i) {
            EXPECT_EQ(one[r].leaving[i].power, three[r].leaving[i].power);
            EXPECT_EQ(one[r].leaving[i].direction, three[r].leaving[i].direction);
        }
        if (!one[r].met) continue;
        worst = std::max(worst, std::abs(one[r].sum() - 1.0));
        remainder = std::max(remainder, one[r].remainder);
    }
    EXPECT_LT(worst, 1e-12);
    // A ray is given up below the least power, or after very many total reflections.
    EXPECT_LT(remainder, 0.9);
    RecordProperty("worst_sum_error", std::to_string(worst));
}

std::vector<std::string> names() {
    std::vector<std::string> names;
    for (const CutInfo& cut : cutLibrary())
        names.push_back(cut.name);
    return names;
}

INSTANTIATE_TEST_SUITE_P(Library, EveryCut, ::testing::ValuesIn(names()),
                         [](const auto& of) { return of.param; });

}  // namespace
}  // namespace macle
