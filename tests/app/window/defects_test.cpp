// Defects in the window: margins, clusters edited one by one, dragging, and sections through any
// plane.
#include <QAction>
#include <QApplication>
#include <QComboBox>
#include <QDialogButtonBox>
#include <QLabel>
#include <QPushButton>
#include <QSlider>
#include <QTest>
#include <QTreeWidget>

#include "app/window/cluster_dialog.h"
#include "app/window/defect_dialog.h"
#include "app/window/number_box.h"
#include "core/stone/mesh_file.h"
#include "core/stone/sample.h"
#include "desk.h"

namespace macle::app::test {
namespace {

using Eigen::Vector3d;

class DefectsWindow : public Desk {
  protected:
    template <class Dialog>
    Dialog* waitForDialog() {
        Dialog* dialog = nullptr;
        EXPECT_TRUE(waitFor([&] {
            dialog = window().findChild<Dialog*>();
            return dialog != nullptr && dialog->isVisible();
        }));
        return dialog;
    }
    void openOctahedron() {
        writeMeshFile(octahedronStone(8.0, 3).rough.mesh, file("octahedron.ply").toStdString());
        window().openPath(file("octahedron.ply").toStdString());
        ASSERT_TRUE(waitFor([this] { return window().document().isOpen(); }));
        waitForRest();
    }
    void addDefects(std::vector<Defect> defects) {
        for (std::size_t i = 0; i < defects.size(); ++i)
            if (defects[i].name.empty()) defects[i].name = "spot " + std::to_string(i + 1);
        writeDefects(defects, file("list.json").toStdString());
        window().addDefectsFrom(file("list.json").toStdString());
        waitForRest();
        action("viewTable")->trigger();
        QTest::qWait(50);
    }
    static Defect ball(const Vector3d& centre, double radius) {
        Defect defect;
        defect.kind = DefectKind::Crystal;
        defect.shape = Ellipsoid{centre, Vector3d::Constant(radius)};
        return defect;
    }
    const Stone& stone() { return *window().document().stone(); }
    Vector3d centreOf(std::size_t defect) {
        return std::get<Ellipsoid>(stone().defects.at(defect).shape).centre_mm;
    }
    void choose(int row) {
        auto* list = find<QTreeWidget>("defects");
        list->setCurrentItem(list->topLevelItem(row));
        list->topLevelItem(row)->setSelected(true);
        QTest::qWait(20);
    }
    void altClick(const Vector3d& place) {
        QTest::mouseClick(&view(), Qt::LeftButton, Qt::AltModifier,
                          view().onScreen(place).toPoint());
        QTest::qWait(20);
    }
    QPoint screen(const Vector3d& place) { return view().onScreen(place).toPoint(); }
};

TEST_F(DefectsWindow, TheMarginIsTypedKeptAndUndone) {
    openOctahedron();
    addDefects({ball({0.3, 0.2, 0.4}, 0.2)});
    choose(0);
    action("changeDefect")->trigger();
    auto* dialog = waitForDialog<DefectDialog>();
    ASSERT_NE(dialog, nullptr);
    auto* margin = find<NumberBox>("defectMargin");
    EXPECT_EQ(margin->suffix(), " mm");
    EXPECT_EQ(margin->accessibleName(), "Margin around the defect");
    type("defectMargin", "99");
    EXPECT_LE(margin->value(), kLargestMargin_mm) << "no farther than is read back from a file";
    type("defectMargin", "0,15");
    expectPicture(dialog->grab().toImage(), "defect_light");
    QTest::mouseClick(find<QPushButton>("defectOk"), Qt::LeftButton);
    waitForRest();
    EXPECT_EQ(stone().defects[0].margin_mm, 0.15);
    EXPECT_TRUE(
        find<QTreeWidget>("defects")->topLevelItem(0)->toolTip(0).contains("margin of 0.150"));
    // Another change of the defect leaves it.
    choose(0);
    action("changeDefect")->trigger();
    ASSERT_NE(waitForDialog<DefectDialog>(), nullptr);
    type("defectSeverity", "5");
    QTest::mouseClick(find<QPushButton>("defectOk"), Qt::LeftButton);
    waitForRest();
    EXPECT_EQ(stone().defects[0].margin_mm, 0.15);
    action("undo")->trigger();
    action("undo")->trigger();
    waitForRest();
    EXPECT_EQ(stone().defects[0].margin_mm, 0.0);
}

TEST_F(DefectsWindow, ClustersAreEditedOneByOneAndKeptInTheFile) {
    openOctahedron();
    addDefects({ball({1, 0, 0}, 0.1), ball({1.4, 0, 0}, 0.1), ball({-1, 0, 0}, 0.1),
                ball({-1.4, 0, 0}, 0.1), ball({0, 2, 0}, 0.1)});
    action("cluster")->trigger();
    auto* dialog = waitForDialog<ClusterDialog>();
    ASSERT_NE(dialog, nullptr);
    auto* tree = find<QTreeWidget>("clusters");
    type("clusterDistance", "0.5");
    QTest::mouseClick(find<QPushButton>("clusterGather"), Qt::LeftButton);
    ASSERT_EQ(tree->topLevelItemCount(), 3);
    ASSERT_EQ(tree->topLevelItem(0)->childCount(), 2);
    EXPECT_FALSE(find<QPushButton>("clusterMove")->isEnabled());
    // One defect to another cluster.
    tree->topLevelItem(0)->child(1)->setSelected(true);
    find<QComboBox>("clusterTarget")->setCurrentText("cluster 2");
    QTest::mouseClick(find<QPushButton>("clusterMove"), Qt::LeftButton);
    EXPECT_EQ(tree->topLevelItem(1)->childCount(), 3);
    // One out of any.
    tree->topLevelItem(1)->child(2)->setSelected(true);
    find<QComboBox>("clusterTarget")->setCurrentText("no cluster");
    QTest::mouseClick(find<QPushButton>("clusterMove"), Qt::LeftButton);
    ASSERT_EQ(tree->topLevelItemCount(), 4);
    EXPECT_EQ(tree->topLevelItem(3)->text(0), "In no cluster");
    // Two clusters made one, and named.
    tree->topLevelItem(0)->setSelected(true);
    tree->topLevelItem(2)->setSelected(true);
    QTest::mouseClick(find<QPushButton>("clusterMerge"), Qt::LeftButton);
    ASSERT_EQ(tree->topLevelItemCount(), 3);
    tree->topLevelItem(0)->setSelected(true);
    tree->topLevelItem(0)->setText(0, "cluster 2");
    QTest::qWait(20);
    EXPECT_TRUE(text("clusterTrouble").contains("another cluster"));
    tree->topLevelItem(0)->setSelected(true);
    tree->topLevelItem(0)->setText(0, "near the corner");
    QTest::qWait(20);
    EXPECT_TRUE(text("clusterTrouble").isEmpty());
    expectPicture(dialog->grab().toImage(), "clusters_light");
    EXPECT_TRUE(stone().clusters.empty()) << "nothing is changed before OK";
    QTest::mouseClick(find<QPushButton>("clusterOk"), Qt::LeftButton);
    waitForRest();
    ASSERT_EQ(stone().clusters.size(), 2u);
    EXPECT_EQ(stone().clusters[0].name, "near the corner");
    EXPECT_EQ(stone().clusters[0].members, (std::vector<int>{0, 4}));
    EXPECT_EQ(stone().clusters[1].members, (std::vector<int>{1, 2}));
    EXPECT_EQ(stone().defects[3].cluster, -1);
    EXPECT_EQ(history().undoText(), "Change clusters");
    ASSERT_TRUE(window().saveTo(file("clusters.macle").toStdString()));
    const StoneFile kept = openStoneFile(file("clusters.macle").toStdString());
    EXPECT_EQ(kept.stone.clusters[0].name, "near the corner");
    EXPECT_EQ(kept.stone.clusters[1].members, (std::vector<int>{1, 2}));
    action("undo")->trigger();
    waitForRest();
    EXPECT_TRUE(stone().clusters.empty());
    EXPECT_EQ(stone().defects[0].cluster, -1);
}

TEST_F(DefectsWindow, ADefectIsDraggedInTheSectionPlaneWithOneUndoStep) {
    openOctahedron();
    addDefects({ball({0, 0, 0.2}, 0.3)});
    EXPECT_TRUE(text("fit").startsWith("Nothing fits") || text("fit").contains("spot 1"))
        << text("fit").toStdString();
    const QString fitBefore = text("fit");
    action("section")->trigger();
    QTest::qWait(50);
    const int steps = history().count();
    // The section runs through the middle, z = 0; the view looks along z.
    const QPoint from = screen({0, 0, 0}), to = screen({1.5, -1.0, 0});
    drag(from, to - from, Qt::LeftButton, Qt::NoModifier, false);
    EXPECT_TRUE(text("hint").startsWith("spot 1 at ")) << text("hint").toStdString();
    ASSERT_TRUE(waitFor([&] { return !window().workshop().busy(); }));
    EXPECT_NE(text("fit"), fitBefore) << "the readouts follow while the button is held";
    EXPECT_EQ(centreOf(0), Vector3d(0, 0, 0.2)) << "nothing is changed yet";
    view().grab().save("full_defect_drag.png");
    QTest::mouseRelease(&view(), Qt::LeftButton, Qt::NoModifier, to);
    waitForRest();
    EXPECT_NEAR(centreOf(0).x(), 1.5, 0.05);
    EXPECT_NEAR(centreOf(0).y(), -1.0, 0.05);
    EXPECT_NEAR(centreOf(0).z(), 0.2, 1e-9) << "it stays in its plane";
    EXPECT_EQ(history().count(), steps + 1);
    EXPECT_EQ(history().undoText(), "Move spot 1");
    // Esc while dragging leaves it where it was.
    const Vector3d before = centreOf(0);
    drag(screen({1.5, -1.0, 0}), {60, 40}, Qt::LeftButton, Qt::NoModifier, false);
    QTest::keyClick(&window(), Qt::Key_Escape);
    QTest::mouseRelease(&view(), Qt::LeftButton, Qt::NoModifier, screen({1.5, -1.0, 0}));
    waitForRest();
    EXPECT_EQ(centreOf(0), before);
    EXPECT_EQ(history().count(), steps + 1);
    action("undo")->trigger();
    waitForRest();
    EXPECT_EQ(centreOf(0), Vector3d(0, 0, 0.2));
    EXPECT_EQ(text("fit"), fitBefore);
}

TEST_F(DefectsWindow, WithoutASectionOnlyTheChosenDefectIsDraggedAndAScannedOneNever) {
    openOctahedron();
    Defect sheet;
    sheet.name = "crack";
    sheet.kind = DefectKind::Crack;
    sheet.shape = Sheet{{{1.6, 1.2, 1.5}, {2.4, 1.2, 1.5}, {2.4, 2.0, 1.5}, {1.6, 2.0, 1.5}}};
    Defect scan;
    scan.name = "scanned";
    scan.shape = octahedronStone(0.5).rough.mesh;
    addDefects({sheet, scan});
    const auto corner = [&] { return std::get<Sheet>(stone().defects[0].shape).corners_mm[0]; };
    const Vector3d before = corner();
    const Placement placed = layout().main().placement;
    drag(screen({2, 1.6, 1.5}), {30, 0}, Qt::LeftButton);
    waitForRest();
    EXPECT_EQ(corner(), before) << "it is not the chosen one";
    action("undo")->trigger();  // the drag has turned the cut, and views stand along its axes
    waitForRest();
    choose(0);
    action("viewTable")->trigger();
    QTest::qWait(50);
    drag(screen({2, 1.6, 1.5}), screen({1.5, 1.6, 1.5}) - screen({2, 1.6, 1.5}), Qt::LeftButton);
    waitForRest();
    EXPECT_NEAR((corner() - before).norm(), 0.5, 0.05);
    EXPECT_NEAR(corner().z(), 1.5, 1e-6);
    EXPECT_EQ(layout().main().placement.translation_mm, placed.translation_mm);
    choose(1);
    const int steps = history().count();
    drag(screen(Vector3d::Zero()), {10, 0}, Qt::RightButton);
    EXPECT_EQ(history().count(), steps);
}

TEST_F(DefectsWindow, ASectionRunsThroughAnyPlaneTypedOrThroughThreePoints) {
    openOctahedron();
    addDefects({ball({0.6, 0.3, 0.3}, 0.3)});
    action("section")->trigger();
    QTest::qWait(50);
    EXPECT_FALSE(find<QWidget>("sectionOffset")->isVisible());
    auto* across = find<QComboBox>("sectionAcross");
    across->setCurrentText("any plane");
    QTest::qWait(50);
    ASSERT_TRUE(find<QWidget>("sectionOffset")->isVisible());
    // It begins with the section that was shown.
    EXPECT_NEAR(find<NumberBox>("sectionNormalZ")->value(), 1.0, 1e-4);
    type("sectionNormalX", "1");
    type("sectionNormalY", "1");
    type("sectionOffset", "0.7");
    ASSERT_TRUE(waitFor([this] { return view().resting(); }));
    QTest::qWait(120);
    expectPicture(window().grab().toImage(), "section_any_light");
    // A point of that plane is picked on it.
    action("addByHand")->trigger();
    auto* dialog = waitForDialog<DefectDialog>();
    ASSERT_NE(dialog, nullptr);
    dialog->move(1100, 40);
    const Vector3d place = std::get<Ellipsoid>(dialog->defect().shape).centre_mm;
    EXPECT_NEAR(place.dot(Vector3d::Ones().normalized()), 0.7, 1e-3);
    dialog->reject();
    QTest::qWait(20);
    // No normal, no plane; the slider moves along the normal.
    for (const char* field : {"sectionNormalX", "sectionNormalY", "sectionNormalZ"})
        type(field, "0");
    EXPECT_EQ(text("sectionTrouble"), "A normal needs a length.");
    type("sectionNormalX", "1");
    EXPECT_TRUE(text("sectionTrouble").isEmpty());
    find<QSlider>("sectionDepth")->setValue(-100);
    EXPECT_NEAR(find<NumberBox>("sectionOffset")->value(), 0.5 * 8.0 / std::sqrt(2.0), 1e-3);
    // Through three points of the skin: they lie on the face x + y + z = 8 / sqrt 2.
    across->setCurrentText("facing the view");
    find<QSlider>("sectionDepth")->setValue(-200);
    across->setCurrentText("any plane");
    QTest::mouseClick(find<QPushButton>("sectionPick"), Qt::LeftButton);
    const double r = 8.0 / std::sqrt(2.0);
    altClick({0.2 * r, 0.2 * r, 0.6 * r});
    altClick({0.5 * r, 0.2 * r, 0.3 * r});
    EXPECT_TRUE(find<QPushButton>("sectionPick")->isChecked());
    altClick({0.2 * r, 0.5 * r, 0.3 * r});
    EXPECT_FALSE(find<QPushButton>("sectionPick")->isChecked());
    const Vector3d normal(find<NumberBox>("sectionNormalX")->value(),
                          find<NumberBox>("sectionNormalY")->value(),
                          find<NumberBox>("sectionNormalZ")->value());
    EXPECT_GT(std::abs(normal.dot(Vector3d::Ones().normalized())), 0.999) << normal.transpose();
    EXPECT_NEAR(std::abs(find<NumberBox>("sectionOffset")->value()), r / std::sqrt(3.0), 0.05);
    // Three on a line say nothing.
    across->setCurrentText("facing the view");
    across->setCurrentText("any plane");
    QTest::mouseClick(find<QPushButton>("sectionPick"), Qt::LeftButton);
    for (int i = 0; i < 3; ++i)
        altClick({0.3 * r, 0.3 * r, 0.4 * r});
    EXPECT_TRUE(text("sectionTrouble").contains("one line"))
        << text("sectionTrouble").toStdString();
    // Esc leaves the picking.
    QTest::mouseClick(find<QPushButton>("sectionPick"), Qt::LeftButton);
    QTest::keyClick(&window(), Qt::Key_Escape);
    EXPECT_FALSE(find<QPushButton>("sectionPick")->isChecked());
}

TEST_F(DefectsWindow, WeightsFollowTheScaleWhenItIsTrusted) {
    openSampleStone();
    action("thirdDecimal")->trigger();
    const auto number = [this](const char* label) {
        return text(label).split(QChar(QChar::Nbsp)).front().toDouble();
    };
    const double weight = number("weight"), loss = number("loss");
    const QString recovery = text("recovery");
    const double scan = scanWeight_ct(stone());
    EXPECT_FALSE(find<QWidget>("weightBasis")->isVisible());
    action("report")->trigger();
    QTest::qWait(50);
    type("scaleWeight", "18.5");
    find<QComboBox>("trusted")->setCurrentIndex(1);
    QTest::mouseClick(find<QPushButton>("reportOk"), Qt::LeftButton);
    waitForRest();
    EXPECT_TRUE(text("weightBasis").startsWith("Weights scaled to the scale weight 18.500 ct"))
        << text("weightBasis").toStdString();
    EXPECT_TRUE(find<QWidget>("weightBasis")->toolTip().contains("too long"));
    EXPECT_NEAR(number("weight"), weight * 18.5 / scan, 1.1e-3);
    EXPECT_NEAR(number("loss"), loss * 18.5 / scan, 1.1e-3);
    EXPECT_EQ(text("recovery"), recovery);
    expectPicture(window().grab().toImage(), "scale_trusted_light");
    // Trusting the scale, its weight, the name: three steps at most; undone, all is as before.
    while (history().canUndo())
        action("undo")->trigger();
    waitForRest();
    EXPECT_FALSE(find<QWidget>("weightBasis")->isVisible());
    EXPECT_NEAR(number("weight"), weight, 1e-9);
}

}  // namespace
}  // namespace macle::app::test
