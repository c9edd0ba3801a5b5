#include "app/window/document.h"

#include <gtest/gtest.h>

#include <QSignalSpy>
#include <QTemporaryDir>

#include "core/base/error.h"
#include "core/stone/sample.h"

namespace macle::app {
namespace {

class OpenDocument : public testing::Test {
  protected:
    void SetUp() override {
        document_.reset(std::make_shared<const Stone>(octahedronStone(8.0)), {}, "somewhere.macle");
    }
    Placement at(double x) {
        Placement p = document_.layout().main().placement;
        p.translation_mm.x() = x;
        return p;
    }
    Document document_;
};

TEST_F(OpenDocument, EveryEditIsNamedUndoableAndComesBack) {
    document_.placeCut("Move cut", at(1.0));
    document_.changeProportion("Change table", "table_percent", 58.0, 0);
    document_.changeScaleWeight(9.5);
    document_.renameStone("Ada");
    EXPECT_EQ(document_.history()->count(), 4);
    EXPECT_EQ(document_.history()->undoText(), "Rename stone");
    while (document_.history()->canUndo())
        document_.history()->undo();
    EXPECT_EQ(document_.layout().main().placement.translation_mm.x(), 0.0);
    EXPECT_FALSE(document_.stone()->scale_ct.has_value());
    while (document_.history()->canRedo())
        document_.history()->redo();
    EXPECT_EQ(document_.layout().main().placement.translation_mm.x(), 1.0);
    EXPECT_EQ(document_.layout().main().proportions.at("table_percent"), 58.0);
    EXPECT_EQ(document_.stone()->name, "Ada");
    EXPECT_EQ(document_.stone()->scale_ct, 9.5);
}

TEST_F(OpenDocument, OneGestureIsUndoneInOneStep) {
    const int gesture = document_.newGesture();
    for (int i = 1; i <= 20; ++i)
        document_.placeCut("Move cut", at(0.1 * i), gesture);
    document_.placeCut("Move cut", at(5.0), document_.newGesture());
    EXPECT_EQ(document_.history()->count(), 2);
    document_.history()->undo();
    EXPECT_DOUBLE_EQ(document_.layout().main().placement.translation_mm.x(), 2.0);
    document_.history()->undo();
    EXPECT_EQ(document_.layout().main().placement.translation_mm.x(), 0.0);
}

TEST_F(OpenDocument, AGestureThatComesBackLeavesNoStep) {
    const int gesture = document_.newGesture();
    document_.placeCut("Move cut", at(1.0), gesture);
    document_.placeCut("Move cut", at(0.0), gesture);
    EXPECT_EQ(document_.history()->count(), 0);
    document_.placeCut("Move cut", at(0.0));
    EXPECT_EQ(document_.history()->count(), 0);
}

TEST_F(OpenDocument, ARefusedEditLeavesEverythingAsItWas) {
    QSignalSpy changes(&document_, &Document::layoutChanged);
    EXPECT_THROW(document_.changeProportion("Change table", "table_percent", 400.0, 0), Error);
    EXPECT_THROW(document_.changeProportion("Change x", "no_such_proportion", 1.0, 0), Error);
    EXPECT_THROW(document_.changeCut("no such cut"), Error);
    EXPECT_EQ(changes.count(), 0);
    EXPECT_EQ(document_.history()->count(), 0);
    EXPECT_FALSE(document_.isModified());
}

TEST_F(OpenDocument, IsModifiedFromTheFirstEditToTheSaveAndAgainWhenUndone) {
    const QTemporaryDir folder;
    EXPECT_FALSE(document_.isModified());
    document_.placeCut("Move cut", at(1.0));
    EXPECT_TRUE(document_.isModified());
    document_.save(folder.filePath("a.macle").toStdString());
    EXPECT_FALSE(document_.isModified());
    document_.history()->undo();
    EXPECT_TRUE(document_.isModified());
    document_.history()->redo();
    EXPECT_FALSE(document_.isModified());
}

TEST_F(OpenDocument, AFailedSaveKeepsNameAndState) {
    document_.placeCut("Move cut", at(1.0));
    EXPECT_THROW(document_.save("/nonexistent/folder/a.macle"), Error);
    EXPECT_TRUE(document_.isModified());
    EXPECT_EQ(document_.path(), std::filesystem::path("somewhere.macle"));
}

TEST_F(OpenDocument, EarlierVersionsOfTheStoneStayWhatTheyWere) {
    const std::shared_ptr<const Stone> before = document_.stone();
    Defect spot;
    spot.name = "spot";
    spot.shape = Ellipsoid{Eigen::Vector3d::Zero(), Eigen::Vector3d::Constant(0.1),
                           Eigen::Quaterniond::Identity()};
    document_.changeDefects("Add 1 defect", {spot}, {});
    EXPECT_TRUE(before->defects.empty());
    ASSERT_EQ(document_.stone()->defects.size(), 1U);
    document_.history()->undo();
    EXPECT_TRUE(document_.stone()->defects.empty());
}

TEST(Document, AStoneTakenInFromAScanIsNotSavedYet) {
    Document document;
    EXPECT_FALSE(document.isModified());
    document.reset(std::make_shared<const Stone>(octahedronStone(8.0)), {}, {});
    EXPECT_TRUE(document.isModified());
    EXPECT_EQ(document.layouts().size(), 1U);
}

}  // namespace
}  // namespace macle::app
