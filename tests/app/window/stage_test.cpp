// Direct manipulation on the stage, by mouse and by keys.
#include <QAction>
#include <QApplication>
#include <QComboBox>
#include <QSlider>
#include <QTest>
#include <QWheelEvent>

#include "app/window/angles.h"
#include "desk.h"

namespace macle::app::test {
namespace {

class OnTheStage : public Desk {
  protected:
    void SetUp() override {
        Desk::SetUp();
        openSampleStone();
        QTest::qWait(50);
    }
    QPoint onTheCut() {
        return view().onScreen(layout().main().placement.translation_mm).toPoint();
    }
    QPoint besideTheCut() { return {12, 12}; }
    void wheel(int steps, Qt::KeyboardModifiers modifiers) {
        const QPointF at = onTheCut();
        QWheelEvent event(at, view().mapToGlobal(at), {}, {0, 120 * steps}, Qt::NoButton, modifiers,
                          Qt::NoScrollPhase, false);
        QApplication::sendEvent(&view(), &event);
    }
};

TEST_F(OnTheStage, DraggingTheCutTurnsItInOneNamedStep) {
    const Placement before = layout().main().placement;
    drag(onTheCut(), {90, 30}, Qt::LeftButton);
    waitForRest();
    EXPECT_GT(turnBetween_deg(before.rotation, layout().main().placement.rotation), 5.0);
    EXPECT_EQ(layout().main().placement.translation_mm, before.translation_mm);
    EXPECT_EQ(history().count(), 1);
    EXPECT_EQ(history().undoText(), "Turn cut");
    history().undo();
    EXPECT_EQ(layout().main().placement.rotation.coeffs(), before.rotation.coeffs());
}

TEST_F(OnTheStage, ShiftMovesTheCutWithThePointer) {
    const Placement before = layout().main().placement;
    const QPoint start = onTheCut();
    drag(start, {40, -25}, Qt::LeftButton, Qt::ShiftModifier);
    waitForRest();
    EXPECT_EQ(layout().main().placement.rotation.coeffs(), before.rotation.coeffs());
    const QPoint end = onTheCut();
    EXPECT_NEAR((end - start).x(), 40, 2);
    EXPECT_NEAR((end - start).y(), -25, 2);
    EXPECT_EQ(history().undoText(), "Move cut");
}

TEST_F(OnTheStage, ControlSpinsTheCutAndControlWheelSizesIt) {
    const Placement before = layout().main().placement;
    drag(onTheCut(), {60, 0}, Qt::LeftButton, Qt::ControlModifier);
    EXPECT_NEAR((layout().main().placement.rotation * Eigen::Vector3d::UnitZ() -
                 before.rotation * Eigen::Vector3d::UnitZ())
                    .norm(),
                0.0, 1e-9);
    EXPECT_GT(turnBetween_deg(before.rotation, layout().main().placement.rotation), 1.0);
    wheel(3, Qt::ControlModifier);
    EXPECT_GT(layout().main().placement.size_mm, before.size_mm * 1.02);
    EXPECT_EQ(history().undoText(), "Size cut");
    EXPECT_EQ(history().count(), 2);
    waitForRest();
    EXPECT_TRUE(text("fit").startsWith("Too large here")) << text("fit").toStdString();
}

TEST_F(OnTheStage, TheFiguresFollowWhileTheButtonIsStillDown) {
    const QString recovery = text("fit");
    drag(onTheCut(), {120, 60}, Qt::LeftButton, Qt::NoModifier, false);
    ASSERT_TRUE(waitFor([&] { return text("fit") != recovery; }));
    QTest::mouseRelease(&view(), Qt::LeftButton, Qt::NoModifier, onTheCut());
    waitForRest();
}

TEST_F(OnTheStage, MovingTheViewLeavesTheCutAlone) {
    const Placement before = layout().main().placement;
    const Sight from = view().sight();
    drag(besideTheCut(), {80, 40}, Qt::LeftButton);
    EXPECT_GT((view().sight().ahead - from.ahead).norm(), 0.1);
    drag(onTheCut(), {80, 40}, Qt::RightButton);
    drag(onTheCut(), {30, 10}, Qt::MiddleButton);
    wheel(2, Qt::NoModifier);
    EXPECT_EQ(history().count(), 0);
    EXPECT_EQ(layout().main().placement.rotation.coeffs(), before.rotation.coeffs());
    EXPECT_EQ(layout().main().placement.translation_mm, before.translation_mm);
}

TEST_F(OnTheStage, KeysNudgeTheCutAndQuickNudgesAreOneStep) {
    const Placement before = layout().main().placement;
    const Sight s = view().sight();
    view().setFocus();
    for (int i = 0; i < 5; ++i)
        QTest::keyClick(&view(), Qt::Key_Right);
    Eigen::Vector3d shift = layout().main().placement.translation_mm - before.translation_mm;
    EXPECT_NEAR(shift.dot(s.right), 0.05, 1e-9);
    EXPECT_EQ(history().count(), 1);
    QTest::keyClick(&view(), Qt::Key_Up, Qt::ShiftModifier);
    shift = layout().main().placement.translation_mm - before.translation_mm;
    EXPECT_NEAR(shift.dot(s.up), 0.1, 1e-9);
    QTest::keyClick(&view(), Qt::Key_Left, Qt::ControlModifier);
    EXPECT_NEAR(turnBetween_deg(before.rotation, layout().main().placement.rotation), 0.5, 1e-6);
    QTest::keyClick(&view(), Qt::Key_PageDown, Qt::ControlModifier);
    EXPECT_NEAR(layout().main().placement.size_mm, before.size_mm - 0.01, 1e-9);
    while (history().canUndo())
        history().undo();
    EXPECT_EQ(layout().main().placement.translation_mm, before.translation_mm);
}

TEST_F(OnTheStage, TheViewDirectionsLookAlongTheAxesOfTheCut) {
    drag(onTheCut(), {70, 45}, Qt::LeftButton);
    const Eigen::Quaterniond r = layout().main().placement.rotation;
    action("viewTable")->trigger();
    EXPECT_NEAR(view().sight().ahead.dot(r * Eigen::Vector3d::UnitZ()), -1.0, 1e-6);
    action("viewCulet")->trigger();
    EXPECT_NEAR(view().sight().ahead.dot(r * Eigen::Vector3d::UnitZ()), 1.0, 1e-6);
    action("viewSide")->trigger();
    EXPECT_NEAR(view().sight().ahead.dot(r * Eigen::Vector3d::UnitZ()), 0.0, 1e-6);
}

TEST_F(OnTheStage, TheHintTellsWhatTheMouseWouldDo) {
    const QString standing = text("hint");
    QMouseEvent over(QEvent::MouseMove, onTheCut(), view().mapToGlobal(onTheCut()), Qt::NoButton,
                     Qt::NoButton, Qt::NoModifier);
    QApplication::sendEvent(&view(), &over);
    EXPECT_NE(text("hint"), standing);
    EXPECT_TRUE(text("hint").contains("Shift"));
    EXPECT_EQ(view().cursor().shape(), Qt::OpenHandCursor);
    QMouseEvent beside(QEvent::MouseMove, besideTheCut(), view().mapToGlobal(besideTheCut()),
                       Qt::NoButton, Qt::NoButton, Qt::NoModifier);
    QApplication::sendEvent(&view(), &beside);
    EXPECT_EQ(text("hint"), standing);
}

TEST_F(OnTheStage, HidingAndSectioningChangeThePictureAndComeBack) {
    const auto shot = [this] {
        EXPECT_TRUE(waitFor([this] { return view().resting(); }));
        QTest::qWait(30);
        return view().grabFramebuffer();
    };
    const QImage whole = shot();
    action("showRough")->trigger();
    EXPECT_GT(meanDifference(whole, shot()), 0.5);
    action("showRough")->trigger();
    EXPECT_LT(meanDifference(whole, shot()), 0.2);
    action("section")->trigger();
    const QImage middle = shot();
    EXPECT_GT(meanDifference(whole, middle), 0.5);
    find<QSlider>("sectionDepth")->setValue(80);
    EXPECT_GT(meanDifference(middle, shot()), 0.2);
    action("section")->trigger();
    EXPECT_LT(meanDifference(whole, shot()), 0.2);
}

}  // namespace
}  // namespace macle::app::test
