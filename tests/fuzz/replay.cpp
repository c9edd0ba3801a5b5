// Feeds every file of tests/fuzz/corpus to its target, with any compiler: what a fuzzer found once
// is tried again in every run of the tests.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

#include "tests/fuzz/targets.h"

namespace macle::fuzz {
namespace {

namespace fs = std::filesystem;

class Replay : public testing::TestWithParam<Target> {};

TEST_P(Replay, EveryKnownCaseEndsWell) {
    const fs::path folder = fs::path(MACLE_FUZZ_CORPUS) / GetParam().name;
    int cases = 0;
    for (const auto& entry : fs::directory_iterator(folder)) {
        std::ifstream in(entry.path(), std::ios::binary);
        const std::string bytes((std::istreambuf_iterator<char>(in)), {});
        SCOPED_TRACE(entry.path().string());
        GetParam().run(reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
        ++cases;
    }
    EXPECT_GT(cases, 3) << folder;
}

INSTANTIATE_TEST_SUITE_P(Corpus, Replay, testing::ValuesIn(kTargets),
                         [](const auto& test) { return std::string(test.param.name); });

}  // namespace
}  // namespace macle::fuzz
