// Proportions -> solid -> proportions read off the solid again.
#include "core/appraise/measured_proportions.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <random>

#include "core/base/error.h"
#include "core/cut/library.h"

using namespace macle;

namespace {

int settings(int usual) {
    const char* given = std::getenv("MACLE_CUT_SETTINGS");
    return given != nullptr ? std::max(1, std::atoi(given)) : usual;
}

constexpr double kRoundTrip = 1e-6;  // percent or degrees

}  // namespace

TEST(MeasuredProportions, EveryProportionOfEveryCutNamesAWayOfMeasuringIt) {
    const auto ways = waysOfMeasuring();
    for (const CutInfo& cut : cutLibrary())
        for (const ProportionInfo& p : cut.proportions)
            EXPECT_THAT(ways, testing::Contains(p.measure)) << cut.name << " " << p.key;
}

TEST(MeasuredProportions, ComeBackFromTheSolidOfEveryCut) {
    std::mt19937 random(99);
    std::uniform_real_distribution<double> unit(0.0, 1.0);
    const int wanted = settings(30);
    for (const CutInfo& cut : cutLibrary()) {
        if (!cut.file.ends_with(".json") || cut.file.find('/') != std::string::npos) continue;
        int made = 0;
        bool failed = false;
        double worst = 0.0;
        for (int tries = 0; made < wanted && tries < 60 * wanted; ++tries) {
            std::map<std::string, double> proportions;
            for (const ProportionInfo& p : cut.proportions) {
                double low = p.low;
                // The corner arc of a cushion shows only where its girdle flats do.
                if (cut.name == "cushion" && p.key == "girdle_percent") low = 5.0;
                if (p.key == "culet_percent" && made % 2 == 0)
                    proportions[p.key] = 0.0;
                else
                    proportions[p.key] =
                        tries == 0 ? p.standard : low + (p.high - low) * unit(random);
            }
            Design design;
            try {
                design = makeDesign(cut.name, proportions);
            } catch (const Error& error) {
                EXPECT_EQ(error.code(), ErrorCode::BadUsage);
                continue;
            }
            ++made;
            const double size_mm = 0.5 + 10.0 * unit(random);
            const auto found = measuredFor(cut, facetBody(design, size_mm));
            for (const auto& [key, value] : proportions) {
                ASSERT_TRUE(found.contains(key)) << cut.name << " " << key;
                EXPECT_NEAR(found.at(key), value, kRoundTrip) << cut.name << " " << key;
                failed = failed || !(std::abs(found.at(key) - value) <= kRoundTrip);
                worst = std::max(worst, std::abs(found.at(key) - value));
            }
            if (failed) {
                for (const auto& [key, value] : proportions)
                    std::cerr << cut.name << " " << key << " " << value << "\n";
                break;
            }
        }
        EXPECT_EQ(made, wanted) << cut.name;
        std::cout << cut.name << ": " << made << " settings, worst " << worst << "\n";
    }
}
