// A polished stone known from its scan alone.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <map>
#include <random>

#include "core/appraise/facet_body.h"
#include "core/appraise/measured_proportions.h"
#include "core/appraise/reference_bands.h"
#include "core/base/error.h"
#include "core/cut/library.h"
#include "core/solid/convex_solid.h"

using namespace macle;

namespace {

// The design at a size, its triangles halved at their longest edge until none is longer than
// `edge_mm`, every point moved by `noise_mm` (standard deviation), turned and shifted.
TriangleMesh scanOf(const Design& design, double size_mm, double edge_mm, double noise_mm,
                    unsigned seed) {
    Placement placement;
    placement.size_mm = size_mm;
    TriangleMesh mesh = triangulated(placed(makeSolid(design.parts.front()), placement));
    using Edge = std::pair<std::uint32_t, std::uint32_t>;
    for (bool split = true; split;) {
        split = false;
        std::map<Edge, std::uint32_t> middles;
        const auto longest = [&](const std::array<std::uint32_t, 3>& t) {
            std::size_t best = 0;
            double most = -1.0;
            for (std::size_t k = 0; k < 3; ++k) {
                const double length = (mesh.vertices[t[k]] - mesh.vertices[t[(k + 1) % 3]]).norm();
                if (length > most) {
                    most = length;
                    best = k;
                }
            }
            return std::pair(best, most);
        };
        for (const auto& t : mesh.triangles) {
            const auto [k, length] = longest(t);
            if (length <= edge_mm) continue;
            const Edge edge = std::minmax(t[k], t[(k + 1) % 3]);
            if (middles.contains(edge)) continue;
            middles[edge] = static_cast<std::uint32_t>(mesh.vertices.size());
            mesh.vertices.push_back(0.5 * (mesh.vertices[edge.first] + mesh.vertices[edge.second]));
            split = true;
        }
        std::vector<std::array<std::uint32_t, 3>> next;
        for (const auto& t : mesh.triangles) {
            // Fans round the middles of its edges, so that neighbours stay joined.
            std::vector<std::uint32_t> ring;
            for (std::size_t k = 0; k < 3; ++k) {
                ring.push_back(t[k]);
                const auto middle = middles.find(std::minmax(t[k], t[(k + 1) % 3]));
                if (middle != middles.end()) ring.push_back(middle->second);
            }
            std::size_t start = 0;
            for (std::size_t k = 0; k < ring.size(); ++k)
                if (ring.size() == 4 && std::find(t.begin(), t.end(), ring[k]) == t.end())
                    start = k;
            if (ring.size() == 5)
                for (std::size_t k = 0; k < 5; ++k)
                    if (std::find(t.begin(), t.end(), ring[k]) == t.end() &&
                        std::find(t.begin(), t.end(), ring[(k + 2) % 5]) == t.end())
                        start = k;
            if (ring.size() == 6) {
                const std::size_t first = std::find(t.begin(), t.end(), ring[0]) != t.end() ? 1 : 0;
                for (std::size_t k = first; k < first + 6; k += 2)
                    next.push_back({ring[k % 6], ring[(k + 1) % 6], ring[(k + 2) % 6]});
                next.push_back({ring[first], ring[(first + 2) % 6], ring[(first + 4) % 6]});
                continue;
            }
            for (std::size_t k = 1; k + 1 < ring.size(); ++k)
                next.push_back({ring[start], ring[(start + k) % ring.size()],
                                ring[(start + k + 1) % ring.size()]});
        }
        mesh.triangles = std::move(next);
    }
    std::mt19937 random(seed);
    std::normal_distribution<double> noise(0.0, noise_mm);
    const Eigen::Quaterniond turn =
        Eigen::Quaterniond(noise(random) + 0.3, 0.7, -0.2, 0.4).normalized();
    for (Eigen::Vector3d& v : mesh.vertices) {
        v += Eigen::Vector3d(noise(random), noise(random), noise(random));
        v = turn * v + Eigen::Vector3d(3.0, -8.0, 1.5);
    }
    return mesh;
}

}  // namespace

TEST(ScannedBody, ARoundIsReadWithinTheScannersOwnUncertainty) {
    // Optical scanners: 0.1 to 0.2 deg for the crown, 0.1 deg for the pavilion, 0.3 to 0.5 %: from
    // memory.
    const Design design = makeDesign(
        "round",
        {{"table_percent", 57}, {"crown_deg", 34.2}, {"pavilion_deg", 41}, {"culet_percent", 0}});
    const TriangleMesh scan = scanOf(design, 6.5, 0.15, 0.003, 4);
    const ScannedBody found = scannedBody(scan, 0.01);
    EXPECT_LT(found.flatness_mm, 0.005);
    const MeasuredProportions m = measureProportions(found.body);
    EXPECT_NEAR(m.width_mm, 6.5, 0.02);
    EXPECT_NEAR(m.length_to_width, 1.0, 0.005);
    ASSERT_TRUE(m.table_percent && m.crown_deg && m.pavilion_deg && m.star_percent &&
                m.lower_half_percent && m.girdle_percent);
    EXPECT_NEAR(*m.table_percent, 57.0, 0.5);
    EXPECT_NEAR(m.crown_deg->mean, 34.2, 0.1);
    EXPECT_LT(m.crown_deg->spread(), 0.4);
    EXPECT_NEAR(m.pavilion_deg->mean, 41.0, 0.1);
    EXPECT_LT(m.pavilion_deg->spread(), 0.4);
    EXPECT_NEAR(*m.crown_height_percent, 0.43 / 2 * std::tan(34.2 * M_PI / 180) * 100, 0.5);
    EXPECT_NEAR(*m.pavilion_depth_percent, 0.5 * std::tan(41 * M_PI / 180) * 100, 0.5);
    EXPECT_NEAR(m.girdle_percent->most, 3.0, 0.6);
    EXPECT_NEAR(m.star_percent->mean, 50.0, 3.0);
    EXPECT_NEAR(m.lower_half_percent->mean, 77.0, 3.0);
    EXPECT_LT(*m.table_offset_percent, 0.6);
    EXPECT_LT(*m.culet_offset_percent, 0.6);
    EXPECT_LT(*m.out_of_round_percent, 0.9);
    EXPECT_LT(*m.azimuth_deviation_deg, 0.5);
}

TEST(ScannedBody, WithoutNoiseNothingIsLost) {
    const Design design = makeDesign("emerald", {});
    const ScannedBody found = scannedBody(scanOf(design, 7.0, 0.3, 0.0, 1), 0.005);
    const auto back = measuredFor(findCut("emerald"), found.body);
    for (const char* key :
         {"table_percent", "crown_deg", "crown_step_deg", "pavilion_deg", "pavilion_step_deg",
          "girdle_percent", "length_percent", "corner_percent"})
        EXPECT_NEAR(back.at(key), design.proportions.at(key), 1e-6) << key;
}

TEST(ScannedBody, AMainGroundTooFlatIsTold) {
    Design design = makeDesign("round", {});
    // A pavilion main ground 0.8 deg too flat about its girdle edge.
    design = edited(design, FacetEdit{.what = FacetEdit::What::Tilt,
                                      .facet = "pavilion main 3",
                                      .tilt_deg = -0.8,
                                      .hold_percent = -1.5});
    const MeasuredProportions m =
        measureProportions(scannedBody(scanOf(design, 6.5, 0.2, 0.0, 2), 0.005).body);
    ASSERT_TRUE(m.pavilion_deg);
    EXPECT_NEAR(m.pavilion_deg->spread(), 0.8, 0.02);
    EXPECT_NEAR(m.pavilion_deg->most, 40.75, 0.02);
}

TEST(ScannedBody, ABallIsRefused) {
    TriangleMesh ball;
    constexpr int kRings = 64;
    for (int i = 0; i <= kRings; ++i)
        for (int j = 0; j < 2 * kRings; ++j) {
            const double a = M_PI * i / kRings;
            const double b = M_PI * j / kRings;
            ball.vertices.emplace_back(std::sin(a) * std::cos(b), std::sin(a) * std::sin(b),
                                       std::cos(a));
        }
    const auto at = [](int i, int j) {
        return static_cast<std::uint32_t>(i * 2 * kRings + j % (2 * kRings));
    };
    for (int i = 0; i < kRings; ++i)
        for (int j = 0; j < 2 * kRings; ++j) {
            ball.triangles.push_back({at(i, j), at(i + 1, j), at(i + 1, j + 1)});
            ball.triangles.push_back({at(i, j), at(i + 1, j + 1), at(i, j + 1)});
        }
    EXPECT_THROW(scannedBody(ball, 0.0002), Error);
    EXPECT_THROW(scannedBody(ball, 0.0), Error);
}

TEST(ReferenceBands, APublishedDesignLiesInTheNarrowestBands) {
    // Scandinavian proportions of 1970 lie in the narrowest published band.
    const auto readings = againstBands(
        measureProportions(facetBody(makeDesign("round", {{"table_percent", 57.5},
                                                          {"crown_deg", 34.5},
                                                          {"pavilion_deg", 40.75},
                                                          {"girdle_percent", 3},
                                                          {"star_percent", 50},
                                                          {"lower_half_percent", 77}}))));
    ASSERT_GE(readings.size(), 10u);
    EXPECT_EQ(worstBand(readings), 1);
    const auto deep = againstBands(measureProportions(
        facetBody(makeDesign("round", {{"crown_deg", 39.0}, {"table_percent", 57}}))));
    for (const BandReading& r : deep)
        if (r.what == "Crown angle") {
            EXPECT_EQ(r.band, 3);
            EXPECT_NEAR(r.value, 39.0, 1e-9);
        }
    EXPECT_TRUE(againstBands(measureProportions(facetBody(makeDesign("emerald", {})))).empty());
    EXPECT_TRUE(againstBands(measureProportions(facetBody(makeDesign("rose", {})))).empty());
}
