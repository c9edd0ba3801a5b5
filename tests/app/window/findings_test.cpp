// What searches find out beside the best placement: others to step through, free proportions, a
// proven bound, and what defects cost.
#include <QAction>
#include <QCheckBox>
#include <QComboBox>
#include <QDialog>
#include <QLabel>
#include <QListWidget>
#include <QPushButton>
#include <QTest>
#include <QTimer>
#include <QTreeWidget>

#include "app/window/number_box.h"
#include "desk.h"

namespace macle::app::test {
namespace {

class Findings : public Desk {
  protected:
    void SetUp() override {
        Desk::SetUp();
        window().resize(1440, 900);
        openSampleStone();
        find<QComboBox>("searchBudgetUnit")->setCurrentIndex(1);
        find<NumberBox>("searchBudget")->setValue(3);
    }
    void findTheBest() {
        action("findBest")->trigger();
        waitForRest();
    }
    QWidget* strip() { return find<QWidget>("placements"); }
    QListWidget* list() { return find<QListWidget>("placementsList"); }
    // The dialog a job has brought up.
    QDialog* dialog(const char* name) {
        QDialog* shown = nullptr;
        EXPECT_TRUE(waitFor([&] {
            shown = window().findChild<QDialog*>(name);
            return shown != nullptr && shown->isVisible();
        }));
        return shown;
    }
    void photograph(QWidget* widget, const std::string& name) {
        ASSERT_TRUE(waitFor([this] { return view().resting(); }));
        QTest::qWait(120);
        expectPicture(widget->grab().toImage(), name);
    }
};

TEST_F(Findings, PlacementsFoundCanBeSteppedThrough) {
    EXPECT_FALSE(strip()->isVisible());
    findTheBest();
    ASSERT_TRUE(strip()->isVisible());
    ASSERT_GE(list()->count(), 3);
    EXPECT_EQ(list()->currentRow(), 0);
    EXPECT_FALSE(list()->item(0)->icon().isNull());
    const Placement best = layout().main().placement;
    list()->setCurrentRow(1);
    waitForRest();
    EXPECT_LE(layout().main().placement.size_mm, best.size_mm);
    EXPECT_GT((layout().main().placement.translation_mm - best.translation_mm).norm() +
                  layout().main().placement.rotation.angularDistance(best.rotation),
              1e-3);
    EXPECT_TRUE(text("fit").startsWith("At its largest here")) << text("fit").toStdString();
    EXPECT_EQ(history().undoText(), "Placement 2");
    history().undo();
    waitForRest();
    EXPECT_EQ(layout().main().placement.size_mm, best.size_mm);
    EXPECT_EQ(list()->currentRow(), 0);
    photograph(&window(), "found_light");
    window().setThemeChoice(ThemeChoice::Dark);
    photograph(&window(), "found_dark");
}

TEST_F(Findings, BelongToOneCutOnly) {
    findTheBest();
    ASSERT_TRUE(strip()->isVisible());
    type("proportion_table_percent", "60");
    waitForRest();
    EXPECT_FALSE(strip()->isVisible());
    history().undo();
    waitForRest();
    EXPECT_TRUE(strip()->isVisible());
    QTest::mouseClick(find<QPushButton>("placementsAway"), Qt::LeftButton);
    EXPECT_FALSE(strip()->isVisible());
}

TEST_F(Findings, ABoundIsShownUntilTheCutChanges) {
    findTheBest();
    EXPECT_FALSE(find<QLabel>("proof")->isVisible());
    action("prove")->trigger();
    EXPECT_TRUE(window().jobRunning());
    waitForRest();
    ASSERT_TRUE(find<QLabel>("proof")->isVisible());
    EXPECT_TRUE(text("proof").startsWith("Proven: no placement of this cut exceeds"))
        << text("proof").toStdString();
    EXPECT_FALSE(find<QLabel>("proof")->toolTip().isEmpty());
    type("proportion_table_percent", "60");
    waitForRest();
    EXPECT_FALSE(find<QLabel>("proof")->isVisible());
}

TEST_F(Findings, ALayoutFromTheClarityCurveLetsItsDefectsStay) {
    action("clarity")->trigger();
    QDialog* shown = dialog("choiceDialog");
    ASSERT_NE(shown, nullptr);
    auto* choices = shown->findChild<QTreeWidget*>("choices");
    ASSERT_GE(choices->topLevelItemCount(), 2);
    EXPECT_FALSE(shown->findChild<QPushButton*>("takeChoice")->isEnabled());
    photograph(shown, "clarity_light");
    choices->setCurrentItem(choices->topLevelItem(choices->topLevelItemCount() - 1));
    QTest::mouseClick(shown->findChild<QPushButton*>("takeChoice"), Qt::LeftButton);
    waitForRest();
    EXPECT_TRUE(text("fit").startsWith("At its largest here")) << text("fit").toStdString();
    int staying = 0;
    for (const Defect& defect : window().document().stone()->defects)
        staying += defect.policy == DefectPolicy::MayStay ? 1 : 0;
    EXPECT_GT(staying, 0);
    history().undo();
    history().undo();
    waitForRest();
    for (const Defect& defect : window().document().stone()->defects)
        EXPECT_EQ(defect.policy, DefectPolicy::MustBeCutAway);
}

TEST_F(Findings, DefectsThatHoldTheCutArePriced) {
    findTheBest();
    action("price")->trigger();
    QDialog* shown = dialog("choiceDialog");
    ASSERT_NE(shown, nullptr);
    EXPECT_GE(shown->findChild<QTreeWidget*>("choices")->topLevelItemCount(), 1);
    shown->close();
}

TEST_F(Findings, FreeProportionsAreChosenAndSearchedInOneStep) {
    const auto before = layout().main().proportions;
    const int steps = history().count();
    QTimer::singleShot(0, &window(), [this] {
        auto* shown = window().findChild<QDialog*>("freeDialog");
        if (shown == nullptr) return;
        auto* search = shown->findChild<QPushButton*>("freeSearch");
        EXPECT_FALSE(search->isEnabled());
        shown->findChild<QCheckBox*>("free_crown_deg")->setChecked(true);
        auto* low = shown->findChild<NumberBox*>("low_crown_deg");
        auto* high = shown->findChild<NumberBox*>("high_crown_deg");
        low->setValue(36.0);
        high->setValue(33.0);
        EXPECT_FALSE(search->isEnabled());
        EXPECT_FALSE(shown->findChild<QLabel*>("freeTrouble")->text().isEmpty());
        low->setValue(33.0);
        high->setValue(36.0);
        EXPECT_TRUE(search->isEnabled());
        expectPicture(shown->grab().toImage(), "free_light");
        QTest::mouseClick(search, Qt::LeftButton);
    });
    action("findFree")->trigger();
    waitForRest();
    EXPECT_EQ(history().count(), steps + 1);
    EXPECT_EQ(history().undoText(), "Best fit with free proportions");
    EXPECT_GE(layout().main().proportions.at("crown_deg"), 33.0);
    EXPECT_LE(layout().main().proportions.at("crown_deg"), 36.0);
    EXPECT_EQ(layout().main().proportions.at("pavilion_deg"), before.at("pavilion_deg"));
    EXPECT_TRUE(text("fit").startsWith("At its largest here")) << text("fit").toStdString();
}

}  // namespace
}  // namespace macle::app::test
