// Largest here, settle, find the best, and the way back.
#include <QAction>
#include <QComboBox>
#include <QLabel>
#include <QPushButton>
#include <QTest>

#include "app/window/number_box.h"
#include "core/cut/library.h"
#include "desk.h"

namespace macle::app::test {
namespace {

class Fitting : public Desk {
  protected:
    void SetUp() override {
        Desk::SetUp();
        openSampleStone();
    }
    double largestNow() {
        const auto prepared = window().workshop().prepared();
        const Design design = makeDesign(layout().main().cut, layout().main().proportions);
        const Gauge gauge(*prepared->obstacles, design, layout().main().rules);
        return gauge
            .largest(layout().main().placement.rotation, layout().main().placement.translation_mm)
            .size_mm;
    }
    void searchThousandPoses(int thousands) {
        find<QComboBox>("searchBudgetUnit")->setCurrentIndex(1);
        find<NumberBox>("searchBudget")->setValue(thousands);
    }
};

TEST_F(Fitting, LargestHereTakesTheSizeOfTheGauge) {
    type("size", "2.5");
    waitForRest();
    EXPECT_TRUE(text("fit").startsWith("Room to grow")) << text("fit").toStdString();
    action("largestHere")->trigger();
    waitForRest();
    EXPECT_DOUBLE_EQ(layout().main().placement.size_mm, largestNow());
    EXPECT_TRUE(text("fit").startsWith("At its largest here")) << text("fit").toStdString();
    EXPECT_FALSE(find<QWidget>("pokes")->isVisible());
    EXPECT_EQ(history().undoText(), "Largest here");
}

TEST_F(Fitting, LargestHereOutsideTheStoneSaysWhyAndChangesNothing) {
    type("centreX", "400");
    waitForRest();
    const int steps = history().count();
    const double size = layout().main().placement.size_mm;
    action("largestHere")->trigger();
    EXPECT_TRUE(find<QLabel>("editTrouble")->isVisible());
    EXPECT_EQ(layout().main().placement.size_mm, size);
    EXPECT_EQ(history().count(), steps);
    history().undo();
    waitForRest();
    action("largestHere")->trigger();
    EXPECT_FALSE(find<QLabel>("editTrouble")->isVisible());
}

TEST_F(Fitting, SettleNeverMakesTheCutSmaller) {
    action("largestHere")->trigger();
    const double before = layout().main().placement.size_mm;
    action("settle")->trigger();
    waitForRest();
    EXPECT_GE(layout().main().placement.size_mm, before * (1.0 - 1e-9));
    EXPECT_NEAR(layout().main().placement.size_mm, largestNow(), 1e-6);
}

TEST_F(Fitting, FindTheBestBeatsTheMiddleAndIsOneStep) {
    const double before = layout().main().placement.size_mm;
    searchThousandPoses(1);
    action("findBest")->trigger();
    EXPECT_TRUE(window().jobRunning());
    EXPECT_TRUE(find<QWidget>("jobBar")->isVisible());
    EXPECT_FALSE(action("undo")->isEnabled());
    EXPECT_TRUE(text("hint").contains("Esc"));
    EXPECT_FALSE(find<QWidget>("cutPanel")->isEnabled());
    waitForRest();
    EXPECT_FALSE(find<QWidget>("jobBar")->isVisible());
    EXPECT_FALSE(text("hint").contains("Esc"));
    EXPECT_GT(layout().main().placement.size_mm, before);
    EXPECT_EQ(history().count(), 1);
    EXPECT_EQ(history().undoText(), "Best fit found");
    EXPECT_TRUE(action("undo")->isEnabled());
    const double best = layout().main().placement.size_mm;
    // Counted in poses, the search is repeatable.
    history().undo();
    action("findBest")->trigger();
    waitForRest();
    EXPECT_EQ(layout().main().placement.size_mm, best);
}

TEST_F(Fitting, ACancelledSearchLeavesEverythingAndAKeptOneKeepsTheBest) {
    const Placement before = layout().main().placement;
    find<QComboBox>("searchBudgetUnit")->setCurrentIndex(0);
    find<NumberBox>("searchBudget")->setValue(3000);
    action("findBest")->trigger();
    auto* keep = find<QPushButton>("keepBest");
    ASSERT_TRUE(waitFor([&] { return keep->isEnabled(); }));
    QTest::mouseClick(find<QPushButton>("cancelJob"), Qt::LeftButton);
    ASSERT_TRUE(waitFor([this] { return !window().jobRunning(); }, 5000));
    waitForRest();
    EXPECT_EQ(layout().main().placement.size_mm, before.size_mm);
    EXPECT_EQ(history().count(), 0);
    action("findBest")->trigger();
    ASSERT_TRUE(waitFor([&] { return keep->isEnabled(); }));
    QTest::mouseClick(keep, Qt::LeftButton);
    ASSERT_TRUE(waitFor([this] { return !window().jobRunning(); }, 5000));
    waitForRest();
    EXPECT_GE(layout().main().placement.size_mm, before.size_mm);
    EXPECT_EQ(history().count(), 1);
}

TEST_F(Fitting, TheBestSoFarIsDrawnWhileTheSearchRuns) {
    find<QComboBox>("searchBudgetUnit")->setCurrentIndex(0);
    find<NumberBox>("searchBudget")->setValue(3000);
    action("findBest")->trigger();
    ASSERT_TRUE(waitFor([&] { return text("jobText").contains("so far"); }));
    const int paints = view().paints();
    const Sight from = view().sight();
    ASSERT_TRUE(waitFor([&] { return view().paints() > paints + 2; }));
    EXPECT_GT((view().sight().ahead - from.ahead).norm(), 1e-3);
    QTest::keyClick(&window(), Qt::Key_Escape);
    waitForRest();
}

TEST_F(Fitting, UndoAllAndRedoAllShowTheSameFiguresAgain) {
    const auto shown = [this] {
        waitForRest();
        return QStringList{text("weight"), text("recovery"), text("loss"), text("clarity"),
                           text("fit")};
    };
    action("thirdDecimal")->trigger();
    std::vector<QStringList> along = {shown()};
    type("size", "3.2");
    along.push_back(shown());
    type("proportion_table_percent", "60");
    along.push_back(shown());
    type("tilt", "35");
    along.push_back(shown());
    type("allowance", "0.05");
    along.push_back(shown());
    action("largestHere")->trigger();
    along.push_back(shown());
    ASSERT_EQ(history().count(), static_cast<int>(along.size()) - 1);
    for (int i = static_cast<int>(along.size()) - 2; i >= 0; --i) {
        action("undo")->trigger();
        EXPECT_EQ(shown(), along[static_cast<std::size_t>(i)]) << i;
    }
    for (std::size_t i = 1; i < along.size(); ++i) {
        action("redo")->trigger();
        EXPECT_EQ(shown(), along[i]) << i;
    }
}

TEST_F(Fitting, AnAllowanceMakesTheLargestSmaller) {
    action("largestHere")->trigger();
    const double bare = layout().main().placement.size_mm;
    type("allowance", "0.1");
    action("largestHere")->trigger();
    EXPECT_LT(layout().main().placement.size_mm, bare - 0.1);
}

}  // namespace
}  // namespace macle::app::test
