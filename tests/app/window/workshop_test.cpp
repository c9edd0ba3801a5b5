#include "app/window/workshop.h"

#include <gtest/gtest.h>

#include "core/base/units.h"
#include "core/cut/library.h"
#include "core/stone/sample.h"
#include "desk.h"

namespace macle::app::test {
namespace {

class BusyWorkshop : public testing::Test {
  protected:
    BusyWorkshop() {
        QObject::connect(&workshop_, &Workshop::figuresReady,
                         [this](const std::shared_ptr<const Figures>& f) { told_.push_back(f); });
        layout_.main().placement.size_mm = 3.0;
    }
    bool waitForFigures() {
        return waitFor([this] { return !workshop_.busy() && !told_.empty(); });
    }
    Workshop workshop_;
    std::shared_ptr<const Stone> stone_ = std::make_shared<const Stone>(octahedronStone(8.0, 2));
    Layout layout_;
    std::vector<std::shared_ptr<const Figures>> told_;
};

TEST_F(BusyWorkshop, TellsTheFiguresOfCore) {
    workshop_.request(stone_, 1, layout_, 0, true);
    ASSERT_TRUE(waitForFigures());
    const Figures& f = *told_.back();
    EXPECT_TRUE(f.trouble.empty()) << f.trouble;
    const Design design = makeDesign("round", {});
    const double expected = carats(designVolume(design) * 27.0, stone_->material.density_g_cm3);
    EXPECT_NEAR(f.appraisal.finished_ct, expected, 1e-9 * expected);
    const Gauge gauge(*workshop_.prepared()->obstacles, design, {});
    EXPECT_EQ(
        f.largest.size_mm,
        gauge.largest(layout_.main().placement.rotation, layout_.main().placement.translation_mm)
            .size_mm);
    EXPECT_FALSE(f.limits.empty());
}

TEST_F(BusyWorkshop, SkipsStatesThatAreOutdatedAndAlwaysTellsTheLast) {
    long long last = 0;
    for (int i = 0; i < 200; ++i) {
        layout_.main().placement.translation_mm.x() = 0.001 * i;
        last = workshop_.request(stone_, 1, layout_, 0, false);
    }
    ASSERT_TRUE(waitForFigures());
    EXPECT_EQ(told_.back()->number, last);
    EXPECT_EQ(told_.back()->placement.translation_mm.x(),
              layout_.main().placement.translation_mm.x());
    EXPECT_LT(told_.size(), 200U);
    for (std::size_t i = 1; i < told_.size(); ++i)
        EXPECT_GT(told_[i]->number, told_[i - 1]->number);
}

TEST_F(BusyWorkshop, KeepsTheCutterWhenOnlyDefectsChange) {
    workshop_.request(stone_, 1, layout_, 0, false);
    ASSERT_TRUE(waitForFigures());
    const auto before = workshop_.prepared();
    auto spotted = std::make_shared<Stone>(*stone_);
    Defect spot;
    spot.name = "spot";
    spot.shape = Ellipsoid{Eigen::Vector3d(0.3, 0, 0), Eigen::Vector3d::Constant(0.1),
                           Eigen::Quaterniond::Identity()};
    spotted->defects.push_back(spot);
    told_.clear();
    workshop_.request(spotted, 1, layout_, 0, false);
    ASSERT_TRUE(waitForFigures());
    const auto after = workshop_.prepared();
    EXPECT_EQ(before->cutter, after->cutter);
    EXPECT_NE(before->obstacles, after->obstacles);
    EXPECT_EQ(told_.back()->limits.front().source, "spot");
}

TEST_F(BusyWorkshop, SaysWhyThereAreNoFiguresAndGoesOn) {
    layout_.main().placement.translation_mm = {500.0, 0.0, 0.0};
    workshop_.request(stone_, 1, layout_, 0, true);
    ASSERT_TRUE(waitForFigures());
    EXPECT_FALSE(told_.back()->trouble.empty() && told_.back()->appraisal.inside);
    layout_.main().placement.translation_mm.setZero();
    told_.clear();
    workshop_.request(stone_, 1, layout_, 0, true);
    ASSERT_TRUE(waitForFigures());
    EXPECT_TRUE(told_.back()->trouble.empty());
}

TEST(Workshop, EndsAtOnceWithWorkWaiting) {
    const auto stone = std::make_shared<const Stone>(octahedronStone(8.0, 5));
    for (int i = 0; i < 10; ++i) {
        Workshop workshop;
        workshop.request(stone, 1, {}, 0, true);
    }
}

}  // namespace
}  // namespace macle::app::test
