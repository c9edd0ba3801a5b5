// The weight of our solid against that of real rounds: the file diamonds.csv of the npm package
// @observablehq/sample-datasets 1.0.1 (ISC), 53,940 stones with weight, total depth, table and
// three lengths. It is read where it is found ($MACLE_ROUNDS, or beside this tree) and never
// copied. Crown and pavilion angles, girdle, star and lower half are not in it: a pavilion of 40.75
// degrees, a girdle of 3 % at the mains, star 50 % and lower half 77 % are assumed, and the crown
// angle is the one that gives the recorded depth with the recorded table.
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <iostream>

#include "core/appraise/doubt.h"
#include "core/base/csv.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/text_file.h"
#include "core/base/units.h"
#include "core/cut/round_brilliant.h"
#include "core/solid/convex_solid.h"

using namespace macle;

namespace {

constexpr double kDensity = 3.515;

struct RealRound {
    double carat = 0.0;
    double depth_percent = 0.0;
    double table_percent = 0.0;
    double diameter_mm = 0.0;
    double height_mm = 0.0;
};

std::filesystem::path roundsFile() {
    if (const char* given = std::getenv("MACLE_ROUNDS")) return given;
    return std::filesystem::path(MACLE_SHARED) / "diamonds.csv";
}

std::vector<RealRound> readRounds(const std::filesystem::path& file, std::size_t& all) {
    const CsvText csv = parseCsv(readTextFile(file, "list of stones", 1u << 26), file.string());
    const std::vector<std::string>& heading = csv.rows.at(0).cells;
    std::array<std::size_t, 6> columns{};
    const std::array<const char*, 6> names = {"carat", "depth", "table", "x", "y", "z"};
    for (std::size_t k = 0; k < names.size(); ++k)
        columns[k] = static_cast<std::size_t>(std::find(heading.begin(), heading.end(), names[k]) -
                                              heading.begin());
    std::vector<RealRound> rounds;
    all = csv.rows.size() - 1;
    for (std::size_t i = 1; i < csv.rows.size(); ++i) {
        std::array<double, 6> v{};
        for (std::size_t k = 0; k < names.size(); ++k)
            v[k] = parseNumber(csv.rows[i].cells.at(columns[k])).value();
        const double x = v[3], y = v[4], z = v[5];
        // No height, or not round: the diameters differ by more than 3 % of the smaller.
        if (!(x > 0.0 && y > 0.0 && z > 0.0) || std::abs(x - y) > 0.03 * std::min(x, y)) continue;
        rounds.push_back({v[0], v[1], v[2], 0.5 * (x + y), z});
    }
    return rounds;
}

std::optional<double> modelled_ct(const RealRound& real) {
    RoundProportions p;
    p.table_percent = real.table_percent;
    p.star_percent = 50.0;
    p.lower_half_percent = 77.0;
    p.pavilion_deg = 40.75;
    p.girdle_percent = 3.0;
    const double depth = 100.0 * real.height_mm / real.diameter_mm;
    const double pavilion = 50.0 * std::tan(radians(p.pavilion_deg));
    const double crown = depth - p.girdle_percent - pavilion;
    p.crown_deg = degrees(std::atan(crown / (50.0 - 0.5 * p.table_percent)));
    try {
        return carats(designVolume(roundBrilliant(p)) * std::pow(real.diameter_mm, 3), kDensity);
    } catch (const Error& error) {
        if (error.code() != ErrorCode::BadUsage) throw;
        return std::nullopt;  // such a table and depth make no round of these ranges
    }
}

}  // namespace

TEST(RealRounds, WeighAsOurSolidsDo) {
    const std::filesystem::path file = roundsFile();
    if (!std::filesystem::exists(file))
        GTEST_SKIP() << "no list of real rounds; set MACLE_ROUNDS to a diamonds.csv";
    std::size_t all = 0;
    const std::vector<RealRound> rounds = readRounds(file, all);
    EXPECT_EQ(all, 53940u);
    EXPECT_EQ(rounds.size(), 53783u);
    std::vector<double> ratios, factors;
    for (const RealRound& real : rounds)
        factors.push_back(real.carat / (real.diameter_mm * real.diameter_mm * real.height_mm));
    const char* given = std::getenv("MACLE_ROUNDS_EVERY");
    const std::size_t every = given ? std::max(1, std::atoi(given)) : 50;
    std::size_t unmade = 0;
    for (std::size_t i = 0; i < rounds.size(); i += every) {
        const auto weight_ct = modelled_ct(rounds[i]);
        if (weight_ct)
            ratios.push_back(*weight_ct / rounds[i].carat);
        else
            ++unmade;
    }
    const Percentiles factor = percentilesOf(factors);
    const Percentiles ratio = percentilesOf(ratios);
    std::cout << "rounds " << rounds.size() << ", W/(d2 H) median " << formatFixed(factor.p50, 6)
              << ", p5 " << formatFixed(factor.p5, 6) << ", p95 " << formatFixed(factor.p95, 6)
              << "\nmodelled " << ratios.size() << ", unmade " << unmade
              << ", modelled/recorded median " << formatFixed(ratio.p50, 4) << ", p5 "
              << formatFixed(ratio.p5, 4) << ", p95 " << formatFixed(ratio.p95, 4) << "\n";
    EXPECT_NEAR(factor.p50, 0.006117, 0.000001);  // published handbooks: 0.0061, 0.00612 (GOST)
    EXPECT_NEAR(factor.p5, 0.005954, 0.000001);
    EXPECT_NEAR(factor.p95, 0.006332, 0.000001);
    EXPECT_LT(unmade, ratios.size() / 20);
    EXPECT_NEAR(ratio.p50, 1.0, 0.02);
}
