// Irregular closed meshes of real bodies, standing in for roughs; skipped where they are absent.
#include <gtest/gtest.h>

#include "tests/app/terminal/process.h"
#include "tests/app/terminal/schema_check.h"

namespace macle::test {
namespace {

class RealStone : public ::testing::TestWithParam<std::pair<const char*, double>> {};

TEST_P(RealStone, GoesThroughWeighFitAndSheet) {
    const auto [name, volume_mm3] = GetParam();
    const std::string stone = std::string(MACLE_SHARED) + "/real_stones/" + name + ".obj";
    if (!std::filesystem::exists(stone)) GTEST_SKIP() << "no " << stone;
    const Folder folder;
    const auto weighed = macle({"weigh", stone, "--json"});
    ASSERT_EQ(weighed.status, 0) << weighed.error;
    EXPECT_NEAR(weighed.json()["volume_mm3"].get<double>(), volume_mm3, volume_mm3 * 1e-5);
    const std::string layout = folder / "layout.json";
    const Outcome fitted =
        macle({"fit", stone, "--cut", "round", "--poses", "1000", "--json", "--out", layout});
    ASSERT_EQ(fitted.status, 0) << fitted.error;
    const auto fit = fitted.json();
    EXPECT_EQ(misfit(fit, "fit"), "");
    EXPECT_GT(fit["recovery_percent"].get<double>(), 5.0);
    const auto finish = macle({"finish", stone, "--placement", layout, "--json"}).json();
    EXPECT_NEAR(finish["weight_ct"].get<double>(), fit["weight_ct"].get<double>(), 1e-6);
    const Outcome sheet =
        macle({"sheet", stone, "--placement", layout, "--out", folder / "sheet.pdf", "--json"});
    ASSERT_EQ(sheet.status, 0) << sheet.error;
    EXPECT_EQ(misfit(sheet.json(), "sheet"), "");
    EXPECT_GT(std::filesystem::file_size(folder / "sheet.pdf"), 10000u);
}

INSTANTIATE_TEST_SUITE_P(Meshes, RealStone,
                         ::testing::Values(std::pair{"eros", 71.1256},
                                           std::pair{"castalia", 0.66782}));

}  // namespace
}  // namespace macle::test
