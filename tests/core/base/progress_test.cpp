#include "core/base/progress.h"

#include <gtest/gtest.h>

#include <thread>
#include <vector>

#include "core/base/error.h"

namespace macle {
namespace {

TEST(Progress, NeverGoesBack) {
    std::vector<double> seen;
    Progress progress([&](double f) { seen.push_back(f); });
    for (const double f : {0.2, 0.1, 0.5, 0.5, 2.0, 0.3})
        progress.advanceTo(f);
    EXPECT_EQ(seen, (std::vector<double>{0.2, 0.5, 1.0}));
    EXPECT_EQ(progress.fraction(), 1.0);
}

TEST(Progress, CancelStaysSetAcrossThreads) {
    Progress progress;
    EXPECT_NO_THROW(progress.throwIfCancelled());
    std::thread([&] { progress.cancel(); }).join();
    EXPECT_TRUE(progress.cancelled());
    try {
        progress.throwIfCancelled();
        FAIL() << "did not throw";
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), ErrorCode::Cancelled);
        EXPECT_FALSE(error.remedy().empty());
    }
}

TEST(Invariants, AreCheckedInReleaseToo) {
    EXPECT_NO_THROW(require(true, "fine"));
    try {
        require(false, "the volume is positive");
        FAIL() << "did not throw";
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), ErrorCode::Internal);
        EXPECT_NE(error.message().find("the volume is positive"), std::string::npos);
    }
}

}  // namespace
}  // namespace macle
