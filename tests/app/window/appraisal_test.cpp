// The panel of the whole appraisal.
#include <QAction>
#include <QCheckBox>
#include <QComboBox>
#include <QDockWidget>
#include <QLabel>
#include <QSettings>
#include <QTest>
#include <QTreeWidget>
#include <fstream>

#include "app/window/appraisal_panel.h"
#include "core/base/resources.h"
#include "core/stone/colour.h"
#include "desk.h"

namespace macle::app::test {
namespace {

class AppraisalWindow : public Desk {
  protected:
    void SetUp() override {
        QSettings().remove("appraisal");
        Desk::SetUp();
        openSampleStone();
        placeByNumbers();
        action("appraisal")->trigger();
        waitForAppraisal();
    }
    void TearDown() override {
        Desk::TearDown();
        QSettings().remove("appraisal");
    }
    void waitForAppraisal() {
        waitForRest();
        ASSERT_TRUE(waitFor([this] {
            return !window().appraising() && find<QTreeWidget>("figures")->topLevelItemCount() > 0;
        }));
        QTest::qWait(30);
    }
    QTreeWidgetItem* figure(const char* title) {
        auto* tree = find<QTreeWidget>("figures");
        for (int i = 0; i < tree->topLevelItemCount(); ++i)
            if (tree->topLevelItem(i)->text(0) == title) return tree->topLevelItem(i);
        ADD_FAILURE() << title;
        return tree->topLevelItem(0);
    }
};

TEST_F(AppraisalWindow, ShowsEveryFigureWithItsReasonsOrWhyItIsMissing) {
    for (const char* title : {"Weight", "Proportions", "Clarity", "Value", "Work", "Light",
                              "Face-up colour", "Grain", "Doubt"})
        EXPECT_FALSE(figure(title)->text(1).isEmpty()) << title;
    EXPECT_TRUE(figure("Weight")->text(1).startsWith("4.4"))
        << figure("Weight")->text(1).toStdString();
    EXPECT_GT(figure("Light")->childCount(), 3);
    EXPECT_TRUE(figure("Light")->text(1).contains("weighted return"));
    EXPECT_EQ(figure("Value")->text(1), "No price table is given.");
    EXPECT_FALSE(find<QLabel>("facePicture")->pixmap().isNull());
    // Nothing was edited since, so nothing is marked.
    EXPECT_TRUE(figure("Weight")->text(2).isEmpty());
}

TEST_F(AppraisalWindow, WhatTheLastEditChangedIsMarkedBesideWhatItWas) {
    const QString weight = figure("Weight")->text(1);
    const QString proportions = figure("Proportions")->text(1);
    type("proportion_pavilion_deg", "42");
    waitForAppraisal();
    EXPECT_EQ(figure("Weight")->text(2), weight);
    EXPECT_NE(figure("Weight")->text(1), weight);
    EXPECT_TRUE(figure("Weight")->font(1).bold() ||
                figure("Weight")->font(1).weight() >= QFont::DemiBold);
    EXPECT_TRUE(figure("Doubt")->text(2).isEmpty());
    // The next edit is measured against this one.
    const QString then = figure("Weight")->text(1);
    type("size", "6");
    waitForAppraisal();
    EXPECT_EQ(figure("Weight")->text(2), then);
    action("undo")->trigger();
    waitForAppraisal();
    EXPECT_EQ(figure("Weight")->text(1), then);
}

TEST_F(AppraisalWindow, PricesGiveAValueAndABadTableIsRefusedWithItsLine) {
    ColourRecord colour;
    colour.body.letter = "G";
    window().document().changeColour(colour);
    window().takePrices(resourcePath("prices/invented_demo.csv"));
    waitForAppraisal();
    EXPECT_FALSE(figure("Value")->text(1).contains("No price table"))
        << figure("Value")->text(1).toStdString();
    EXPECT_TRUE(find<QLabel>("appraisalFiles")->text().contains("invented_demo.csv"));
    const QString path = file("bad.csv");
    std::ofstream(path.toStdString()) << "this,is\nno,price table\n";
    window().takePrices(path.toStdString());
    EXPECT_TRUE(takeError().contains("bad.csv"));
    EXPECT_TRUE(find<QLabel>("appraisalFiles")->text().contains("invented_demo.csv"));
}

TEST_F(AppraisalWindow, ARecordedHueGivesAFaceUpColour) {
    EXPECT_TRUE(figure("Face-up colour")->text(1).contains("No hue"));
    ColourRecord colour;
    colour.body.hue = "brownish pink";
    window().document().changeColour(colour);
    waitForAppraisal();
    EXPECT_TRUE(figure("Face-up colour")->text(1).startsWith("Pink"))
        << figure("Face-up colour")->text(1).toStdString();
    EXPECT_TRUE(find<QLabel>("faceColour")->text().contains("chroma"));
}

TEST_F(AppraisalWindow, LooksAsItDid) {
    ColourRecord colour;
    colour.body.hue = "pink";
    window().document().changeColour(colour);
    type("proportion_pavilion_deg", "41.2");
    waitForAppraisal();
    auto* dock = find<QDockWidget>("appraisalDock");
    dock->setFloating(true);
    dock->resize(560, 620);
    figure("Light")->setExpanded(true);
    QTest::qWait(120);
    expectPicture(dock->widget()->grab().toImage(), "appraisal_light");
    window().setThemeChoice(ThemeChoice::Dark);
    dock->setFloating(false);
    QTest::qWait(120);
    ASSERT_TRUE(waitFor([this] { return view().resting() && atRest(); }));
    window().resize(1700, 960);
    waitForAppraisal();
    ASSERT_TRUE(waitFor([this] { return view().resting() && atRest(); }));
    QTest::qWait(150);
    expectPicture(window().grab().toImage(), "appraisal_window_dark");
}

}  // namespace
}  // namespace macle::app::test
