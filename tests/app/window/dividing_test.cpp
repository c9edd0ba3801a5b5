// Dividing the rough in the window: layouts, stones, saws by numbers and by hand, and the steps of
// the work.
#include <QAction>
#include <QComboBox>
#include <QLabel>
#include <QListWidget>
#include <QPushButton>
#include <QSlider>
#include <QTableWidget>
#include <QTest>

#include "app/window/compare_window.h"
#include "app/window/dividing_panel.h"
#include "app/window/layouts_strip.h"
#include "app/window/number_box.h"
#include "app/window/work_dialog.h"
#include "desk.h"

namespace macle::app::test {
namespace {

class Dividing : public Desk {
  protected:
    void SetUp() override {
        Desk::SetUp();
        openSampleStone();
        placeByNumbers();
    }
    std::shared_ptr<const Prepared> prepared() { return window().workshop().prepared(); }
    QString cell(const char* table, int row, int column) {
        auto* found = find<QTableWidget>(table);
        const auto* item = found ? found->item(row, column) : nullptr;
        return item ? item->text() : QString();
    }
};

TEST_F(Dividing, ASawMakesAPieceFromWhichAStoneIsCut) {
    action("dividing")->trigger();
    waitForRest();
    EXPECT_EQ(find<QTableWidget>("layoutStones")->rowCount(), 1);
    EXPECT_EQ(find<QTableWidget>("layoutSaws")->rowCount(), 0);
    EXPECT_FALSE(action("removeSawCommand")->isEnabled());

    action("addSawCommand")->trigger();
    waitForRest();
    ASSERT_EQ(layout().saws.size(), 1u);
    EXPECT_EQ(prepared()->saws, layout().saws);
    EXPECT_EQ(find<QTableWidget>("layoutSaws")->rowCount(), 1);
    EXPECT_EQ(view().scene().saws().size(), 1u);
    EXPECT_TRUE(find<QWidget>("sawNumbers")->isVisible());

    action("addStoneCommand")->trigger();
    waitForRest();
    ASSERT_EQ(layout().stones.size(), 2u);
    EXPECT_EQ(layout().stones[1].piece, 1);
    EXPECT_EQ(window().document().currentStone(), 1);
    EXPECT_EQ(prepared()->piece, 1);
    // Counted in poses, the search ends alike on every machine.
    find<QComboBox>("searchBudgetUnit")->setCurrentIndex(1);
    find<NumberBox>("searchBudget")->setValue(10);
    action("findBest")->trigger();
    ASSERT_TRUE(waitFor([&] { return atRest(); }));
    EXPECT_GT(layout().stones[1].placement.size_mm, 1.0);
    const WholeLayout whole = weighWhole(prepared()->divided, layout());
    EXPECT_TRUE(whole.open.empty());
    EXPECT_NEAR(whole.rough_ct,
                whole.finished_ct + whole.kerf_ct + whole.outside_ct + whole.leftOver_ct,
                1e-9 * whole.rough_ct);
    // Panel and core tell the same.
    EXPECT_EQ(cell("layoutStones", 0, 2),
              QString("%1\u00a0ct").arg(whole.stones[0].weight.finished_ct, 0, 'f', 2));
    EXPECT_EQ(cell("layoutStones", 1, 2),
              QString("%1\u00a0ct").arg(whole.stones[1].weight.finished_ct, 0, 'f', 2));
    EXPECT_TRUE(text("dividingSums").contains(QString("%1").arg(whole.kerf_ct, 0, 'f', 3)));
    expectPicture(window().grab().toImage(), "dividing_light");
    action("themeDark")->trigger();
    waitForRest();
    QTest::qWait(200);
    expectPicture(window().grab().toImage(), "dividing_dark");

    // Undone step by step, down to the rough as a whole.
    while (!layout().saws.empty() && history().canUndo()) {
        action("undo")->trigger();
        waitForRest();
    }
    EXPECT_TRUE(layout().saws.empty());
    EXPECT_EQ(layout().stones.size(), 1u);
    EXPECT_EQ(prepared()->piece, 0);
    EXPECT_TRUE(view().scene().saws().empty());
}

TEST_F(Dividing, ASawIsMovedByNumbersByHandAndSnapped) {
    action("dividing")->trigger();
    action("addSawCommand")->trigger();
    waitForRest();
    const Saw first = layout().saws[0];
    type("sawOffset", QString::number(first.offset_mm + 0.5, 'f', 3).toUtf8().constData());
    waitForRest();
    EXPECT_NEAR(layout().saws[0].offset_mm, first.offset_mm + 0.5, 5.1e-4);
    type("sawKerf", "0.2");
    waitForRest();
    EXPECT_EQ(layout().saws[0].kerf_mm, 0.2);
    find<QAbstractButton>("sawNarrowing")->click();
    waitForRest();
    ASSERT_TRUE(layout().saws[0].v.has_value());
    EXPECT_NEAR(layout().saws[0].v->beam.dot(layout().saws[0].normal), 0.0, 1e-12);
    type("sawExit", "0.05");
    waitForRest();
    EXPECT_EQ(layout().saws[0].v->exit_mm, 0.05);

    // With the axes known a mechanical saw follows cube and dodecahedron planes.
    auto* runs = find<QComboBox>("sawRuns");
    EXPECT_EQ(runs->count(), 1);
    EXPECT_FALSE(find<QPushButton>("sawSnap")->isEnabled());
    window().document().changeAxes("Crystal axes", CrystalAxes{});
    waitForRest();
    ASSERT_EQ(runs->count(), 10);
    find<QPushButton>("sawSnap")->click();
    waitForRest();
    const auto nearest =
        nearestSawable(*window().document().stone()->axes, layout().saws[0].normal);
    EXPECT_NEAR(nearest.off_deg, 0.0, 1e-9);
    EXPECT_GT(runs->currentIndex(), 0);

    // Dragged along its normal, seen from the side.
    action("viewSide")->trigger();
    QTest::qWait(30);
    const Saw before = layout().saws[0];
    const auto& outline = view().scene().saws()[0].middle;
    ASSERT_FALSE(outline.empty());
    Eigen::Vector3d farthest = outline[0].from;
    const Eigen::Vector3d middle = layout().main().placement.translation_mm;
    for (const auto& segment : outline)
        if ((segment.from - middle).norm() > (farthest - middle).norm()) farthest = segment.from;
    const QPointF from = view().onScreen(farthest);
    const QPointF to = view().onScreen(farthest + 0.6 * before.normal);
    drag(from.toPoint(), to.toPoint() - from.toPoint(), Qt::LeftButton);
    waitForRest();
    EXPECT_NEAR(layout().saws[0].offset_mm, before.offset_mm + 0.6, 0.08);
    EXPECT_EQ(layout().saws[0].normal, before.normal);
    action("undo")->trigger();
    waitForRest();
    EXPECT_EQ(layout().saws[0], before);
}

TEST_F(Dividing, ASawBesideThePieceIsToldAndLosesNothing) {
    action("dividing")->trigger();
    action("addSawCommand")->trigger();
    waitForRest();
    type("sawOffset", "500");
    waitForRest();
    EXPECT_TRUE(text("dividingOpen").contains("leaves nothing"))
        << text("dividingOpen").toStdString();
    action("undo")->trigger();
    waitForRest();
    EXPECT_TRUE(text("dividingOpen").isEmpty());
    EXPECT_EQ(layout().saws.size(), 1u);
}

TEST_F(Dividing, WeightsOfALayoutThatHasChangedMeanwhileArePassedOver) {
    const auto whole =
        std::make_shared<const WholeLayout>(weighWhole(prepared()->divided, layout()));
    Layout changed = layout();
    changed.saws.push_back({});
    changed.stones.push_back(changed.main());
    auto* panel = find<DividingPanel>("dividing");
    panel->display(*window().document().stone(), changed, 0, -1);
    panel->displayWeights(whole);
    EXPECT_EQ(cell("layoutStones", 1, 2), "…");
    panel->display(*window().document().stone(), layout(), 0, -1);
    panel->displayWeights(whole);
    EXPECT_NE(cell("layoutStones", 0, 2), "…");
}

TEST_F(Dividing, ASearchForLayoutsThatIsStoppedKeepsItsBestOrNothing) {
    LayoutWish wish;
    wish.cuts = {"round"};
    find<NumberBox>("searchBudget")->setValue(600);
    for (const char* button : {"cancelJob", "keepBest"}) {
        window().findLayouts(wish);
        ASSERT_TRUE(waitFor([&] { return text("jobText").contains("so far"); }));
        QTest::mouseClick(find<QPushButton>(button), Qt::LeftButton);
        ASSERT_TRUE(waitFor([&] { return atRest(); }));
        EXPECT_EQ(window().document().layouts().size(), button[0] == 'c' ? 1u : 2u);
    }
    EXPECT_EQ(layout().stones.size(), 2u);
    EXPECT_EQ(layout().saws.size(), 1u);
}

TEST_F(Dividing, AComparisonThatIsStoppedSaysSo) {
    action("copyLayout")->trigger();
    waitForRest();
    action("sideBySide")->trigger();
    ASSERT_TRUE(waitFor([&] {
        auto* shown = window().findChild<CompareWindow*>();
        return shown != nullptr && shown->isVisible();
    }));
    QTest::mouseClick(find<QPushButton>("cancelJob"), Qt::LeftButton);
    ASSERT_TRUE(waitFor([&] { return !window().jobRunning(); }));
    QStringList words;
    for (auto* label : window().findChild<CompareWindow*>()->findChildren<QLabel*>())
        words << label->text();
    EXPECT_TRUE(words.join(' ').contains("Stopped before")) << words.join(" | ").toStdString();
}

TEST_F(Dividing, LayoutsAreAddedNamedSteppedThroughAndRemoved) {
    EXPECT_FALSE(find<LayoutsStrip>("layouts")->isVisible()) << "one layout needs no strip";
    action("copyLayout")->trigger();
    waitForRest();
    auto* list = find<QListWidget>("layoutsList");
    ASSERT_EQ(list->count(), 2);
    EXPECT_TRUE(list->isVisible());
    EXPECT_EQ(window().document().currentLayout(), 1);
    EXPECT_EQ(layout().name, "Layout 2");
    type("size", "4.0");
    waitForRest();
    ASSERT_TRUE(waitFor([&] { return !list->item(1)->text().contains("being weighed"); }));
    EXPECT_NE(list->item(0)->text(), list->item(1)->text());
    EXPECT_TRUE(list->item(1)->text().contains("1 stone")) << list->item(1)->text().toStdString();
    EXPECT_TRUE(list->item(1)->text().contains("draft"));
    window().document().renameLayout(1, "Small one");
    EXPECT_TRUE(list->item(1)->text().startsWith("Small one"));
    EXPECT_THROW(window().document().renameLayout(1, "Layout 1"), Error);
    list->setCurrentRow(0);
    waitForRest();
    EXPECT_EQ(window().document().currentLayout(), 0);
    EXPECT_NE(layout().main().placement.size_mm, 4.0);
    action("removeLayout")->trigger();
    waitForRest();
    EXPECT_EQ(window().document().layouts().size(), 1u);
    EXPECT_EQ(layout().name, "Small one");
    action("undo")->trigger();
    waitForRest();
    EXPECT_EQ(window().document().layouts().size(), 2u);
    EXPECT_FALSE(window().document().layouts()[0].name == "Small one");
}

TEST_F(Dividing, TheWorkIsShownStepByStep) {
    action("addSawCommand")->trigger();
    waitForRest();
    action("workingOrder")->trigger();
    WorkDialog* dialog = nullptr;
    ASSERT_TRUE(waitFor([&] {
        dialog = window().findChild<WorkDialog*>();
        return dialog != nullptr && dialog->isVisible();
    }));
    auto* steps = find<QTableWidget>("workSteps");
    ASSERT_GT(steps->rowCount(), 5);
    auto* slider = find<QSlider>("workSlider");
    EXPECT_EQ(slider->value(), -1);
    slider->setValue(slider->maximum() / 2);
    EXPECT_EQ(dialog->step(), slider->maximum() / 2);
    EXPECT_EQ(steps->currentRow(), dialog->step());
    ASSERT_TRUE(waitFor([&] { return dialog->view()->resting() && dialog->view()->paints() > 2; }));
    QTest::qWait(100);
    expectPicture(dialog->grab().toImage(), "work_light");
    action("themeDark")->trigger();
    QTest::qWait(300);
    expectPicture(dialog->grab().toImage(), "work_dark");
    slider->setValue(slider->maximum());
    QTest::qWait(50);
    EXPECT_EQ(steps->currentRow(), steps->rowCount() - 1);
    dialog->close();
}

}  // namespace
}  // namespace macle::app::test
