// Approving a layout: the dialog, the state that is always shown, undo, the file and the sheet.
#include <QAction>
#include <QLineEdit>
#include <QPushButton>
#include <QTableWidget>
#include <QTest>

#include "app/print/sheet_state.h"
#include "app/window/approve_dialog.h"
#include "desk.h"

namespace macle::app::test {
namespace {

class Approving : public Desk {
  protected:
    void SetUp() override {
        Desk::SetUp();
        openSampleStone();
    }
    ApproveDialog* ask() {
        action("approve")->trigger();
        ApproveDialog* dialog = nullptr;
        EXPECT_TRUE(waitFor([&] {
            dialog = window().findChild<ApproveDialog*>();
            return dialog != nullptr && dialog->isVisible();
        }));
        return dialog;
    }
    void approveAs(const char* by, const char* remark) {
        ASSERT_NE(ask(), nullptr);
        auto* name = find<QLineEdit>("approveBy");
        name->clear();
        QTest::keyClicks(name, by);
        QTest::keyClicks(find<QLineEdit>("approveRemark"), remark);
        QTest::mouseClick(find<QPushButton>("approveOk"), Qt::LeftButton);
        QTest::qWait(20);
    }
    QString state() { return text("layoutState"); }
};

TEST_F(Approving, FreezesTheLayoutAndTheStateFollowsEveryEdit) {
    EXPECT_EQ(state(), "Draft, not approved");
    const QString weight = text("weight");
    auto* dialog = ask();
    ASSERT_NE(dialog, nullptr);
    EXPECT_FALSE(find<QPushButton>("approveOk")->isEnabled()) << "nobody is named";
    EXPECT_TRUE(text("approveWeight").startsWith(weight.left(4)))
        << text("approveWeight").toStdString();
    EXPECT_EQ(text("approveHash").size(), 64);
    expectPicture(dialog->grab().toImage(), "approve_light");
    dialog->reject();
    QTest::qWait(20);
    EXPECT_EQ(state(), "Draft, not approved");

    const int steps = history().count();
    approveAs("A. Planner", "as discussed");
    EXPECT_TRUE(state().startsWith("Approved by A. Planner, ")) << state().toStdString();
    EXPECT_EQ(find<QWidget>("layoutState")->accessibleName(), "State of the layout: " + state());
    EXPECT_EQ(history().count(), steps) << "an approval is no edit";
    EXPECT_TRUE(window().isWindowModified());
    EXPECT_TRUE(find<QWidget>("layoutState")->toolTip().contains("as discussed"));

    const double approvedSize = layout().main().placement.size_mm;
    type("size", "5.5");
    waitForRest();
    EXPECT_TRUE(state().startsWith("Draft: changed since the approval by A. Planner"));
    action("undo")->trigger();
    waitForRest();
    EXPECT_TRUE(state().startsWith("Approved by A. Planner")) << "undone, it is what was approved";
    action("redo")->trigger();
    waitForRest();
    EXPECT_TRUE(state().startsWith("Draft"));

    approveAs("B. Planner", "");
    EXPECT_TRUE(state().startsWith("Approved by B. Planner"));
    action("undo")->trigger();
    waitForRest();
    EXPECT_TRUE(state().startsWith("Replaced: the approval by B. Planner"))
        << state().toStdString();
    EXPECT_EQ(layout().main().placement.size_mm, approvedSize);
}

TEST_F(Approving, TheRecordIsKeptInTheFileAndAnApprovedLayoutIsTakenBack) {
    approveAs("A. Planner", "first");
    type("size", "5.5");
    waitForRest();
    ASSERT_TRUE(window().saveTo(file("stone.macle").toStdString()));
    newWindow();
    window().openPath(file("stone.macle").toStdString());
    ASSERT_TRUE(waitFor([this] { return window().document().isOpen(); }));
    waitForRest();
    EXPECT_TRUE(state().startsWith("Draft: changed since the approval by A. Planner"));
    auto* dialog = ask();
    ASSERT_NE(dialog, nullptr);
    auto* record = find<QTableWidget>("approvals");
    ASSERT_EQ(record->rowCount(), 1);
    EXPECT_EQ(record->item(0, 0)->text(), "replaced");
    EXPECT_EQ(record->item(0, 2)->text(), "A. Planner");
    EXPECT_EQ(find<QLineEdit>("approveBy")->text(), "A. Planner") << "remembered";
    expectPicture(dialog->grab().toImage(), "approve_again_light");
    QTest::mouseClick(find<QPushButton>("takeBack0"), Qt::LeftButton);
    waitForRest();
    EXPECT_TRUE(state().startsWith("Approved by A. Planner"));
    EXPECT_EQ(history().undoText(), "Bring back the layout approved by A. Planner");
    // What the sheet is given.
    const Document& document = window().document();
    const SheetState sheet = sheetState(*document.stone(), document.layout(), document.approvals());
    EXPECT_EQ(sheet.state, "approved");
    EXPECT_EQ(sheet.by, "A. Planner");
    EXPECT_EQ(sheet.record, document.approvals()[0].sha256);
    action("undo")->trigger();
    waitForRest();
    EXPECT_EQ(sheetState(*document.stone(), document.layout(), document.approvals()).state,
              "draft");
}

TEST_F(Approving, WhatIsApprovedAsItIsIsNotApprovedTwice) {
    approveAs("A. Planner", "");
    ASSERT_NE(ask(), nullptr);
    EXPECT_FALSE(find<QPushButton>("approveOk")->isEnabled());
    EXPECT_FALSE(find<QPushButton>("takeBack0")->isEnabled());
}

TEST_F(Approving, TheWarningsOfALayoutThatPokesOutAreShown) {
    type("size", "13");
    waitForRest();
    auto* dialog = ask();
    ASSERT_NE(dialog, nullptr);
    EXPECT_TRUE(text("approveAttention").contains("pokes out"));
    dialog->reject();
}

}  // namespace
}  // namespace macle::app::test
