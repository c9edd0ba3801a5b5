#include "core/cut/expression.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "core/base/error.h"

using namespace macle;
using ::testing::HasSubstr;

namespace {

const NamedNumbers kNames{{"table_percent", 56.0}, {"g", 0.015}};

std::string fault(const std::string& text) {
    try {
        evaluate(text, kNames);
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), error.message().find("finite") == std::string::npos
                                    ? ErrorCode::BadInput
                                    : ErrorCode::NoSolution);
        EXPECT_THAT(error.message(), HasSubstr(text.substr(0, 30)));
        return error.message();
    }
    ADD_FAILURE() << text << " was taken";
    return "";
}

}  // namespace

TEST(Expression, FollowsTheRulesOfArithmetic) {
    EXPECT_EQ(evaluate("1 + 2 * 3", kNames), 7.0);
    EXPECT_EQ(evaluate("(1 + 2) * 3", kNames), 9.0);
    EXPECT_EQ(evaluate("8 / 2 / 2", kNames), 2.0);
    EXPECT_EQ(evaluate("8 - 2 - 2", kNames), 4.0);
    EXPECT_EQ(evaluate("-2 * -3", kNames), 6.0);
    EXPECT_EQ(evaluate("--2", kNames), 2.0);
    EXPECT_EQ(evaluate("-(g)", kNames), -0.015);
    EXPECT_EQ(evaluate(" table_percent/100 ", kNames), 0.56);
    EXPECT_EQ(evaluate("(-1.5)", kNames), -1.5);
}

TEST(Expression, TurnsWithDegrees) {
    EXPECT_NEAR(evaluate("sin(30)", kNames), 0.5, 1e-15);
    EXPECT_NEAR(evaluate("cos(60)", kNames), 0.5, 1e-15);
    EXPECT_NEAR(evaluate("tan(45)", kNames), 1.0, 1e-15);
    EXPECT_NEAR(evaluate("asin(0.5) + acos(0.5)", kNames), 90.0, 1e-13);
    EXPECT_NEAR(evaluate("atan(1)", kNames), 45.0, 1e-13);
    EXPECT_NEAR(evaluate("atan2(1, -1)", kNames), 135.0, 1e-13);
    EXPECT_EQ(evaluate("sqrt(2.25)", kNames), 1.5);
    EXPECT_EQ(evaluate("min(1, 2) + max(1, 2) * 10 + abs(-3) * 100", kNames), 321.0);
}

TEST(Expression, SaysWhatIsWrong) {
    EXPECT_THAT(fault("1 + tabel"), HasSubstr("\"tabel\" is not known"));
    EXPECT_THAT(fault("(1 + 2"), HasSubstr("\")\" is missing"));
    EXPECT_THAT(fault("1 + 2)"), HasSubstr("left over"));
    EXPECT_THAT(fault("1 +"), HasSubstr("missing at the end"));
    EXPECT_THAT(fault("1 ++ 2"), HasSubstr("missing before"));
    EXPECT_THAT(fault("1 / 0"), HasSubstr("not a finite number"));
    EXPECT_THAT(fault("sqrt(-1)"), HasSubstr("not a finite number"));
    EXPECT_THAT(fault("sinh(1)"), HasSubstr("no function sinh"));
    EXPECT_THAT(fault("min(1)"), HasSubstr("no function min of 1"));
    EXPECT_THAT(fault("1..2"), HasSubstr("missing before"));
    EXPECT_THAT(fault("1,5"), HasSubstr("left over"));
    fault("");
    fault("2 3");
}

TEST(Expression, ADeepNestIsRefusedNotFollowed) {
    EXPECT_THAT(fault(std::string(100000, '(')), HasSubstr("too deep"));
    EXPECT_EQ(evaluate(std::string(99999, '-') + "1", kNames), -1.0);
}
