// Files that must be refused, through the real program: one message, exit status 1, no result.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cctype>
#include <fstream>
#include <sstream>

#include "tests/app/terminal/process.h"
#include "tests/app/terminal/schema_check.h"

namespace macle::test {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;

std::string lower(std::string text) {
    std::transform(text.begin(), text.end(), text.begin(),
                   [](unsigned char c) { return char(std::tolower(c)); });
    return text;
}

TEST(HostileFiles, AreEachRefusedWithTheirReason) {
    const std::filesystem::path folder = std::filesystem::path(MACLE_TEST_DATA) / "bad";
    std::ifstream list(folder / "expected.tsv");
    if (!list) GTEST_SKIP() << "no corpus at " << folder;
    int files = 0;
    for (std::string line; std::getline(list, line);) {
        if (line.empty() || line.front() == '#') continue;
        const std::size_t tab = line.find('\t');
        ASSERT_NE(tab, std::string::npos) << line;
        const std::string name = line.substr(0, tab), fragment = line.substr(tab + 1);
        const Outcome outcome = macle({"weigh", (folder / name).string(), "--json"});
        EXPECT_EQ(outcome.status, 1) << name << ": " << outcome.error;
        EXPECT_THAT(lower(outcome.error), HasSubstr(lower(fragment))) << name;
        EXPECT_THAT(outcome.out, IsEmpty()) << name;
        ++files;
    }
    EXPECT_GT(files, 0);
}

// What can be mended without moving the surface is mended, and said: file, finding, count, action.
TEST(DamagedFiles, AreMendedAndReported) {
    const std::filesystem::path folder = std::filesystem::path(MACLE_TEST_DATA) / "bad";
    std::ifstream list(folder / "mended.tsv");
    if (!list) GTEST_SKIP() << "no corpus at " << folder;
    int files = 0;
    for (std::string line; std::getline(list, line);) {
        if (line.empty() || line.front() == '#') continue;
        std::istringstream cells(line);
        std::string name, what, count, action;
        std::getline(cells, name, '\t');
        std::getline(cells, what, '\t');
        std::getline(cells, count, '\t');
        std::getline(cells, action, '\t');
        const Outcome outcome = macle({"weigh", (folder / name).string(), "--json"});
        ASSERT_EQ(outcome.status, 0) << name << ": " << outcome.error;
        const auto json = outcome.json();
        EXPECT_EQ(misfit(json, "weigh"), "") << name;
        bool reported = false;
        for (const auto& finding : json["report"])
            reported = reported || (finding["what"] == what && finding["action"] == action &&
                                    std::to_string(finding["count"].get<long long>()) == count);
        EXPECT_TRUE(reported) << name << ": " << json["report"].dump(1);
        ++files;
    }
    EXPECT_GT(files, 0);
}

}  // namespace
}  // namespace macle::test
