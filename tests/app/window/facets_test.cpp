// Changing facets by hand in the window.
#include <QAction>
#include <QComboBox>
#include <QLabel>
#include <QLineEdit>
#include <QListWidget>
#include <QPushButton>
#include <QTest>
#include <QTreeWidget>
#include <fstream>

#include "app/window/facet_dialog.h"
#include "app/window/facet_map.h"
#include "app/window/number_box.h"
#include "core/cut/library.h"
#include "core/solid/convex_solid.h"
#include "desk.h"

namespace macle::app::test {
namespace {

class Facets : public Desk {
  protected:
    void SetUp() override {
        Desk::SetUp();
        openSampleStone();
        action("facets")->trigger();
        QTest::qWait(50);
        dialog_ = find<FacetDialog>("facetDialog");
    }
    void clickFacet(const char* name) {
        auto* map = find<FacetMap>("facetMap");
        const QPointF place = map->placeOf(name);
        ASSERT_EQ(map->facetAt(place), name);
        QTest::mouseClick(map, Qt::LeftButton, Qt::NoModifier, place.toPoint());
        ASSERT_EQ(dialog_->chosen(), name);
    }
    double angleOf(const char* name) {
        const Design design = designOf(layout().main());
        for (const Facet& facet : design.parts.front().facets)
            if (facet.name == name) return facetAngle_deg(facet);
        return -1.0;
    }
    void push(const char* button) { QTest::mouseClick(find<QPushButton>(button), Qt::LeftButton); }
    FacetDialog* dialog_ = nullptr;
};

TEST_F(Facets, ARowIsTiltedKeepingSymmetryAndTheWeightFollowsAtOnce) {
    const QString before = text("weight");
    clickFacet("pavilion main 1");
    EXPECT_NEAR(find<NumberBox>("facetAngle")->value(), angleOf("pavilion main 1"), 5e-4);
    type("facetAngle", "38.5");
    waitForRest();
    ASSERT_EQ(layout().main().edits.size(), 1u);
    EXPECT_TRUE(layout().main().edits[0].wholeRow);
    for (const char* one : {"pavilion main 1", "pavilion main 5", "pavilion main 8"})
        EXPECT_NEAR(angleOf(one), 38.5, 1e-9) << one;
    EXPECT_NE(text("weight"), before);
    EXPECT_EQ(text("facetChangeCount"), "1 facet change(s)");
    EXPECT_EQ(history().undoText(), "Tilt every pavilion main by -2.25 deg");
    // Steps of the same number make one change and are undone one by one or together.
    type("facetAngle", "38.75");
    EXPECT_EQ(layout().main().edits.size(), 1u);
    action("undo")->trigger();
    waitForRest();
    EXPECT_LT(layout().main().edits.size(), 2u);
    while (history().canUndo() && !layout().main().edits.empty())
        action("undo")->trigger();
    waitForRest();
    EXPECT_EQ(text("weight"), before);
    EXPECT_EQ(find<QListWidget>("facetChanges")->count(), 0);
    action("redo")->trigger();
    EXPECT_EQ(find<QListWidget>("facetChanges")->count(), 1);
}

TEST_F(Facets, OneFacetAloneBreaksTheSymmetryShiftsTurnsAndGoes) {
    clickFacet("crown main 3");
    find<QComboBox>("facetScope")->setCurrentIndex(1);
    const double before = angleOf("crown main 2");
    type("facetAngle", "33");
    type("facetAzimuth", "91.5");
    type("facetDistance", "41");
    waitForRest();
    EXPECT_NEAR(angleOf("crown main 3"), 33.0, 1e-9);
    EXPECT_EQ(angleOf("crown main 2"), before);
    const Design design = designOf(layout().main());
    for (const Facet& facet : design.parts.front().facets)
        if (facet.name == "crown main 3") {
            EXPECT_NEAR(facetAzimuth_deg(facet), 91.5, 1e-9);
            EXPECT_NEAR(facet.distance, 0.41, 1e-12);
        }
    ASSERT_EQ(layout().main().edits.size(), 3u);
    EXPECT_EQ(find<QPushButton>("facetRemove")->text(), "Remove crown main 3");
    push("facetRemove");
    EXPECT_EQ(angleOf("crown main 3"), -1.0);
    EXPECT_EQ(layout().main().edits.size(), 4u);
    // The first is taken out; the others stay.
    find<QListWidget>("facetChanges")->setCurrentRow(0);
    push("takeOut");
    EXPECT_EQ(layout().main().edits.size(), 3u);
    push("takeOutAll");
    EXPECT_TRUE(layout().main().edits.empty());
    EXPECT_EQ(angleOf("crown main 3"), before);
}

TEST_F(Facets, AddedFacetsCutInAndWhatCannotBeIsRefusedWithWords) {
    const double full = designVolume(designOf(layout().main()));
    find<QLineEdit>("newFacetName")->setText("culet guard");
    find<QComboBox>("newFacetSide")->setCurrentIndex(1);
    type("newFacetAngle", "20");
    type("newFacetDepth", "1");
    type("newFacetCopies", "8");
    push("newFacetAdd");
    waitForRest();
    ASSERT_EQ(layout().main().edits.size(), 1u);
    const Design design = designOf(layout().main());
    int made = 0;
    for (const Facet& facet : design.parts.front().facets)
        made += rowOf(facet.name) == "culet guard" ? 1 : 0;
    EXPECT_EQ(made, 8);
    EXPECT_LT(designVolume(design), full);

    // Every pavilion facet away leaves the solid open.
    const std::vector<FacetEdit> kept = layout().main().edits;
    const auto refuse = [&](const std::vector<FacetEdit>& edits) {
        Q_EMIT dialog_->changed("try", edits, {});
        return find<QLabel>("facetTrouble")->text();
    };
    std::vector<FacetEdit> open = {
        {.what = FacetEdit::What::Remove, .facet = "pavilion main", .wholeRow = true},
        {.what = FacetEdit::What::Remove, .facet = "lower half", .wholeRow = true}};
    EXPECT_FALSE(refuse(open).isEmpty());
    EXPECT_EQ(layout().main().edits, kept);
    find<QLineEdit>("newFacetName")->setText("  ");
    push("newFacetAdd");
    EXPECT_TRUE(find<QLabel>("facetTrouble")->text().contains("name"));
    EXPECT_EQ(layout().main().edits, kept);
}

TEST_F(Facets, AFacetThatIsCutOffIsTold) {
    clickFacet("star 1");
    type("facetDistance", "60");  // far outside the crown
    EXPECT_TRUE(find<QLabel>("vanishedFacets")->text().contains("star 8"))
        << find<QLabel>("vanishedFacets")->text().toStdString();
}

TEST_F(Facets, AChangedCutIsKeptAsANewOneAndAnotherCutBeginsWithoutChanges) {
    clickFacet("pavilion main 1");
    type("facetAngle", "41.5");
    const Design changed = designOf(layout().main());
    const QString path = file("steep_round.json");
    ASSERT_TRUE(window().keepCutAs(path.toStdString(), "Steep round"));
    const Design kept = makeDesign("steep_round", layout().main().proportions);
    ASSERT_EQ(kept.parts.front().facets.size(), changed.parts.front().facets.size());
    for (std::size_t i = 0; i < kept.parts.front().facets.size(); ++i) {
        EXPECT_EQ(kept.parts.front().facets[i].normal, changed.parts.front().facets[i].normal);
        EXPECT_EQ(kept.parts.front().facets[i].distance, changed.parts.front().facets[i].distance);
    }
    auto* choice = find<QComboBox>("cutChoice");
    const int at = choice->findData("steep_round");
    ASSERT_GE(at, 0);
    EXPECT_EQ(choice->itemText(at), "Steep round");
    choice->setCurrentIndex(at);
    Q_EMIT choice->activated(at);
    waitForRest();
    EXPECT_EQ(layout().main().cut, "steep_round");
    EXPECT_TRUE(layout().main().edits.empty());
    EXPECT_NEAR(angleOf("pavilion main 1"), 41.5, 1e-9);
    // The program's own names stay its own.
    EXPECT_FALSE(window().keepCutAs(file("round.json").toStdString(), "Round"));
    EXPECT_TRUE(takeError().contains("belongs to a cut of the program"));
}

TEST_F(Facets, WhatASearchFoundIsNotAboutChangedFacets) {
    find<QComboBox>("searchBudgetUnit")->setCurrentIndex(1);
    find<NumberBox>("searchBudget")->setValue(1);
    action("findBest")->trigger();
    waitForRest();
    auto* strip = find<QWidget>("placements");
    EXPECT_TRUE(strip->isVisible());
    clickFacet("pavilion main 1");
    type("facetAngle", "41.5");
    waitForRest();
    EXPECT_FALSE(strip->isVisible());
    action("undo")->trigger();
    waitForRest();
    EXPECT_TRUE(strip->isVisible());
}

TEST_F(Facets, AStoneBringsItsOwnFormOfAWorksCut) {
    action("thirdDecimal")->trigger();
    clickFacet("pavilion main 1");
    type("facetAngle", "38.5");
    ASSERT_TRUE(window().keepCutAs(file("bench_cut.json").toStdString(), "Bench cut"));
    // Not over a cut that layouts may use.
    EXPECT_FALSE(window().keepCutAs(file("bench_cut.json").toStdString(), "Bench cut again"));
    EXPECT_TRUE(takeError().contains("already"));
    auto* choice = find<QComboBox>("cutChoice");
    choice->setCurrentIndex(choice->findData("bench_cut"));
    Q_EMIT choice->activated(choice->currentIndex());
    waitForRest();
    const QString weight = text("weight");
    ASSERT_TRUE(window().saveTo(file("brings.macle").toStdString()));
    // The same window, the same name and proportions, and then another form of the cut.
    std::vector<FacetEdit> other = {{.what = FacetEdit::What::Shift,
                                     .facet = "pavilion main",
                                     .wholeRow = true,
                                     .shift_percent = -2.0}};
    learnCuts({editedCutFile("round", "bench_cut", "Bench cut of another works", {}, other)},
              "test");
    type("proportion_table_percent", "57");
    type("proportion_table_percent", "56");
    waitForRest();
    EXPECT_NE(text("weight"), weight);
    ASSERT_TRUE(window().saveTo(file("other.macle").toStdString()));
    window().openPath(file("brings.macle").toStdString());
    ASSERT_TRUE(waitFor([this] { return window().document().isOpen() && atRest(); }));
    waitForRest();
    EXPECT_EQ(layout().main().cut, "bench_cut");
    EXPECT_EQ(text("weight"), weight);
    EXPECT_EQ(choice->currentData().toString(), "bench_cut");
}

TEST_F(Facets, ChangesAreKeptInTheStoneFile) {
    clickFacet("star 2");
    type("facetAngle", "24");
    const std::vector<FacetEdit> edits = layout().main().edits;
    ASSERT_TRUE(window().saveTo(file("edited.macle").toStdString()));
    newWindow();
    window().openPath(file("edited.macle").toStdString());
    ASSERT_TRUE(waitFor([this] { return window().document().isOpen() && atRest(); }));
    EXPECT_EQ(layout().main().edits, edits);
    EXPECT_TRUE(history().undoText().startsWith("Tilt every star"));
}

TEST_F(Facets, LooksAsItDid) {
    clickFacet("crown main 2");
    type("facetAngle", "36");
    waitForRest();
    dialog_->resize(920, 700);
    QTest::qWait(80);
    expectPicture(dialog_->grab().toImage(), "facets_light");
    window().setThemeChoice(ThemeChoice::Dark);
    auto* choice = find<QComboBox>("cutChoice");
    const int heart = choice->findData("heart");
    choice->setCurrentIndex(heart);
    Q_EMIT choice->activated(heart);
    waitForRest();
    clickFacet("table");
    QTest::qWait(80);
    expectPicture(dialog_->grab().toImage(), "facets_heart_dark");
}

}  // namespace
}  // namespace macle::app::test
