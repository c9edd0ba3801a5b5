// What every verb has in common: help, exit status, messages.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/app/terminal/process.h"

namespace macle::test {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

const std::vector<std::string> kVerbs = {"weigh",  "shape",    "fit",     "finish",
                                         "divide", "appraise", "compare", "picture",
                                         "sheet",  "marks",    "demo"};

TEST(Usage, HelpNamesEveryVerbAndEachVerbExplainsItself) {
    for (const std::vector<std::string>& words :
         {std::vector<std::string>{"help"}, std::vector<std::string>{"--help"}}) {
        const Outcome help = macle(words);
        EXPECT_EQ(help.status, 0);
        for (const std::string& verb : kVerbs)
            EXPECT_THAT(help.out, HasSubstr("\n  " + verb));
    }
    for (const std::string& verb : kVerbs) {
        const Outcome own = macle({verb, "--help"});
        EXPECT_EQ(own.status, 0) << verb;
        EXPECT_THAT(own.out, HasSubstr("macle " + verb));
        EXPECT_THAT(own.out, HasSubstr("--json"));
        EXPECT_EQ(macle({"help", verb}).out, own.out);
    }
    EXPECT_THAT(macle({"--version"}).out, HasSubstr("macle 0."));
}

TEST(Usage, WhatIsNotUnderstoodEndsWithTwoAndAHint) {
    const Outcome verb = macle({"wiegh", "stone.stl"});
    EXPECT_EQ(verb.status, 2);
    EXPECT_THAT(verb.error, HasSubstr("macle weigh"));
    EXPECT_THAT(verb.out, IsEmpty());
    const Outcome option = macle({"weigh", "stone.stl", "--jsno"});
    EXPECT_EQ(option.status, 2);
    EXPECT_THAT(option.error, HasSubstr("--json"));
    EXPECT_EQ(macle({"--hepl"}).status, 2);
    EXPECT_EQ(macle({"help", "nothing"}).status, 2);
    const Outcome cut = macle({"shape", "ruond", "--size", "5"});
    EXPECT_EQ(cut.status, 2);
    EXPECT_THAT(cut.error, HasSubstr("\"round\""));
    for (const std::string& each : kVerbs) {
        if (each == "demo") continue;
        EXPECT_EQ(macle({each}).status, 2) << each << " without input";
        EXPECT_EQ(macle({each, "a", "b"}).status, 2) << each << " with two inputs";
    }
}

TEST(Usage, AFileThatIsNotThereIsAFailedJobAndSaysItsName) {
    const std::vector<std::vector<std::string>> jobs = {
        {"weigh", "no_such.stl"},
        {"fit", "no_such.stl", "--cut", "round"},
        {"finish", "no_such.stl", "--cut", "round", "--size", "3", "--placement", "x.json"},
        {"sheet", "no_such.stl", "--cut", "round", "--out", "x.pdf"}};
    for (const auto& words : jobs) {
        const Outcome outcome = macle(words);
        EXPECT_EQ(outcome.status, 1) << words[0];
        EXPECT_THAT(outcome.error, HasSubstr("no_such.stl")) << words[0];
        EXPECT_THAT(outcome.out, IsEmpty()) << words[0];
    }
}

TEST(Usage, AFileThatIsNotThereGivenAloneIsNotTakenForAVerb) {
    const Outcome outcome = macle({"stones/no_such.macle"});
    EXPECT_EQ(outcome.status, 2);
    EXPECT_THAT(outcome.error, HasSubstr("no file"));
}

TEST(Usage, MessagesStayOffStandardOutputAndProgressOffAPipe) {
    const Folder folder;
    const std::string stone = octahedronFile(folder, 4.0);
    const std::vector<std::string> words = {"fit",     stone, "--cut", "round",
                                            "--poses", "500", "--json"};
    const Outcome quiet = macle(words);
    EXPECT_THAT(quiet.error, IsEmpty());
    quiet.json();
    std::vector<std::string> loud = words;
    loud.push_back("--progress");
    const Outcome shown = macle(loud);
    EXPECT_THAT(shown.error, HasSubstr("best so far"));
    shown.json();
}

TEST(Usage, AnOutputThatCannotBeWrittenIsAFailedJob) {
    const Folder folder;
    const Outcome nowhere =
        macle({"shape", "round", "--size", "5", "--out", folder / "nowhere/x.stl"});
    EXPECT_EQ(nowhere.status, 1);
    EXPECT_THAT(nowhere.error, HasSubstr("nowhere"));
    if (!std::filesystem::exists("/dev/full")) GTEST_SKIP() << "no /dev/full here";
    const Outcome full = macle(Call{{"shape", "round", "--size", "5"}, {}, {}, "/dev/full"});
    EXPECT_EQ(full.status, 1);
    EXPECT_THAT(full.error, HasSubstr("standard output"));
}

}  // namespace
}  // namespace macle::test
