#include "app/terminal/arguments.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "app/terminal/terminal.h"
#include "core/base/error.h"

namespace macle::app {
namespace {

using ::testing::HasSubstr;

const std::vector<OptionSpec> kOptions = {
    {"size", "MM", ""}, {"seconds", "S", ""}, {"poses", "N", ""}, {"list", "", ""}};

Arguments read(const std::vector<std::string>& words) {
    return {"test", words, kOptions};
}

// The message and remedy of the Error{BadUsage} that `run` throws.
template <class F>
std::string complaint(F run) {
    try {
        run();
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), ErrorCode::BadUsage);
        return error.message() + " " + error.remedy();
    }
    ADD_FAILURE() << "no complaint";
    return {};
}

TEST(Arguments, TakeValuesInBothSpellings) {
    const Arguments a = read({"in.stl", "--size", "6.5", "--poses=100", "--list"});
    EXPECT_EQ(a.soleInput("a file"), "in.stl");
    EXPECT_EQ(a.number("size", 0, 10), 6.5);
    EXPECT_EQ(a.integer("poses", 0, 1000), 100);
    EXPECT_TRUE(a.has("list"));
    EXPECT_FALSE(a.number("seconds", 0, 10).has_value());
}

TEST(Arguments, TakeNegativeNumbersAsValuesAndDashedNamesAfterTwoDashes) {
    EXPECT_EQ(read({"--size", "-3"}).number("size", -10, 10), -3.0);
    EXPECT_EQ(read({"--", "-odd.stl"}).soleInput("a file"), "-odd.stl");
}

TEST(Arguments, NameTheNearestOption) {
    EXPECT_THAT(complaint([] { read({"--sise", "3"}); }), HasSubstr("Did you mean --size?"));
    EXPECT_THAT(complaint([] { read({"--jsn"}); }), HasSubstr("--json"));
    EXPECT_THAT(complaint([] { read({"-size", "3"}); }), HasSubstr("--size"));
    EXPECT_THAT(complaint([] { read({"--entirely-else"}); }), HasSubstr("--help"));
}

TEST(Arguments, RefuseWhatMakesNoSense) {
    EXPECT_THAT(complaint([] { read({"--size"}); }), HasSubstr("needs a value"));
    EXPECT_THAT(complaint([] { read({"--list=yes"}); }), HasSubstr("takes no value"));
    EXPECT_THAT(complaint([] { read({"--size", "1", "--size", "2"}); }), HasSubstr("twice"));
    EXPECT_THAT(complaint([] { read({"a", "b"}).soleInput("a file"); }), HasSubstr("\"b\""));
    EXPECT_THAT(complaint([] { read({}).soleInput("a file"); }), HasSubstr("needs a file"));
    EXPECT_THAT(complaint([] { read({"a"}).expectNoInput(); }), HasSubstr("takes no input"));
    for (const char* bad : {"six", "6,5", "6.5mm", "nan", "inf", "1e999", "0x10", ""})
        complaint([&] { read({std::string("--size=") + bad}).number("size", 0, 10); });
    EXPECT_THAT(complaint([] {
                    read({"--size", "11"}).number("size", 0, 10);
                }),
                HasSubstr("0 to 10"));
    for (const char* bad : {"1.5", "99999999999999999999", "-1"})
        complaint([&] { read({std::string("--poses=") + bad}).integer("poses", 0, 10); });
}

bool asksTerminal(std::vector<std::string> words) {
    std::vector<char*> argv;
    for (std::string& word : words)
        argv.push_back(word.data());
    argv.push_back(nullptr);
    return isTerminalRequest(int(words.size()), argv.data());
}

TEST(TerminalRequest, IsAnyVerbOrOptionButNotAFile) {
    EXPECT_FALSE(asksTerminal({"macle"}));
    EXPECT_FALSE(asksTerminal({"macle", MACLE_PROGRAM}));  // a file that exists
    EXPECT_TRUE(asksTerminal({"macle", "weigh"}));
    EXPECT_TRUE(asksTerminal({"macle", "weigh", "stone.stl"}));
    EXPECT_TRUE(asksTerminal({"macle", "help"}));
    EXPECT_TRUE(asksTerminal({"macle", "--help"}));
    EXPECT_TRUE(asksTerminal({"macle", "--version"}));
    EXPECT_TRUE(asksTerminal({"macle", "wiegh"}));
}

}  // namespace
}  // namespace macle::app
