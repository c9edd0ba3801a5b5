#include "core/base/numbers.h"

#include <gtest/gtest.h>

#include <clocale>
#include <limits>

#include "core/base/units.h"

namespace macle {
namespace {

TEST(Numbers, ReadsOnlyWholeFiniteNumbers) {
    EXPECT_EQ(parseNumber("1.5"), 1.5);
    EXPECT_EQ(parseNumber("+2e-3"), 2e-3);
    EXPECT_EQ(parseNumber("-0.25"), -0.25);
    for (const char* bad :
         {"", "+", "1,5", "1.5 ", " 1", "nan", "inf", "1e999", "0x10", "1.5mm", "++1"})
        EXPECT_FALSE(parseNumber(bad)) << bad;
    EXPECT_EQ(parseInteger("42"), 42);
    EXPECT_FALSE(parseInteger("42.0"));
}

TEST(Numbers, WriteFixedWithoutMinusZero) {
    EXPECT_EQ(formatFixed(1.005, 2), "1.00");  // the double just below 1.005
    EXPECT_EQ(formatFixed(-0.001, 2), "0.00");
    EXPECT_EQ(formatFixed(-1.25, 1), "-1.2");
    EXPECT_EQ(formatFixed(12345.678, 0), "12346");
    EXPECT_EQ(formatFixed(std::numeric_limits<double>::quiet_NaN(), 2), "-");
}

TEST(Numbers, ExactTextReadsBackToTheSameDouble) {
    for (const double value : {0.1, 1.0 / 3.0, 6.02e23, -5e-324, 71.1256})
        EXPECT_EQ(parseNumber(formatExact(value)), value);
}

TEST(Numbers, IgnoreADecimalCommaLocale) {
    const std::string before = std::setlocale(LC_ALL, nullptr);
    bool found = false;
    for (const char* name : {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "nl_BE.UTF-8"})
        if (std::setlocale(LC_ALL, name)) found = true;
    if (!found) GTEST_SKIP() << "no decimal-comma locale is installed";
    EXPECT_EQ(parseNumber("1.5"), 1.5);
    EXPECT_EQ(formatFixed(1.5, 2), "1.50");
    std::setlocale(LC_ALL, before.c_str());
}

TEST(Units, ACaratIsAFifthOfAGram) {
    // metric carat, CGPM 1907; 1 mm3 at 3.515 g/cm3 = 0.017575 ct
    EXPECT_DOUBLE_EQ(carats(1.0, 3.515), 0.017575);
    EXPECT_NEAR(cubicMillimetres(1.0, 3.515), 56.90, 0.005);
    EXPECT_DOUBLE_EQ(cubicMillimetres(carats(12.5, 3.515), 3.515), 12.5);
    EXPECT_DOUBLE_EQ(degrees(radians(53.0)), 53.0);
}

}  // namespace
}  // namespace macle
