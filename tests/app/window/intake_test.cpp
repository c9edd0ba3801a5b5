// The questions of the intake, defects from a volume and by hand, picking, crystal axes, colour.
#include <QAction>
#include <QApplication>
#include <QComboBox>
#include <QDialogButtonBox>
#include <QDropEvent>
#include <QLabel>
#include <QLineEdit>
#include <QMimeData>
#include <QPushButton>
#include <QRadioButton>
#include <QTableWidget>
#include <QTest>
#include <QTreeWidget>
#include <cmath>

#include "app/window/axes_dialog.h"
#include "app/window/defect_dialog.h"
#include "app/window/intake_dialog.h"
#include "app/window/number_box.h"
#include "app/window/report_dialog.h"
#include "app/window/volume_dialog.h"
#include "core/stone/mesh_file.h"
#include "core/stone/sample.h"
#include "core/stone/volume.h"
#include "desk.h"

namespace macle::app::test {
namespace {

using Eigen::Vector3d;

class IntakeWindow : public Desk {
  protected:
    static TriangleMesh scaled(TriangleMesh mesh, double factor) {
        for (Vector3d& v : mesh.vertices)
            v *= factor;
        return mesh;
    }
    template <class Dialog>
    Dialog* waitForDialog() {
        Dialog* dialog = nullptr;
        EXPECT_TRUE(waitFor([&] {
            dialog = window().findChild<Dialog*>();
            return dialog != nullptr && dialog->isVisible() && !window().jobRunning();
        }));
        return dialog;
    }
    void openOctahedron() {
        writeMeshFile(octahedronStone(8.0, 3).rough.mesh, file("octahedron.ply").toStdString());
        window().openPath(file("octahedron.ply").toStdString());
        ASSERT_TRUE(waitFor([this] { return window().document().isOpen(); }));
        waitForRest();
        action("viewTable")->trigger();
        QTest::qWait(50);
    }
    const Stone& stone() { return *window().document().stone(); }
    void altClick(const Vector3d& place) {
        const QPointF at = view().onScreen(place);
        QTest::mouseClick(&view(), Qt::LeftButton, Qt::AltModifier, at.toPoint());
        QTest::qWait(20);
    }
};

TEST_F(IntakeWindow, AScanInInchesRaisesTheUnitQuestionWithSizesAndWeights) {
    writeMeshFile(scaled(octahedronStone(8.0, 2).rough.mesh, 1.0 / 25.4),
                  file("inches.obj").toStdString());
    window().openPath(file("inches.obj").toStdString());
    auto* dialog = waitForDialog<UnitDialog>();
    ASSERT_NE(dialog, nullptr);
    auto* table = find<QTableWidget>("units");
    int inch = -1;
    for (int row = 0; row < table->rowCount(); ++row)
        if (table->item(row, 0)->text() == "inch") inch = row;
    ASSERT_GE(inch, 0);
    EXPECT_TRUE(table->item(inch, 1)->text().startsWith("11.31")) << "8 mm edge";
    EXPECT_EQ(table->item(inch, 2)->text(), "4.242 ct");
    EXPECT_EQ(table->item(0, 0)->text(), "mm");
    EXPECT_FALSE(window().document().isOpen());
    dialog->grab().save("full_unit.png");
    table->selectRow(inch);
    QTest::mouseClick(find<QPushButton>("unitTake"), Qt::LeftButton);
    ASSERT_TRUE(waitFor([this] { return window().document().isOpen(); }));
    waitForRest();
    EXPECT_NEAR(scanWeight_ct(stone()), 4.242, 0.001);
    EXPECT_EQ(stone().rough.report.findings.front().what, "unit of the file");
}

TEST_F(IntakeWindow, HolesAreClosedOnlyAfterTheQuestion) {
    TriangleMesh open = octahedronStone(8.0, 3).rough.mesh;
    open.triangles.erase(open.triangles.begin() + 40, open.triangles.begin() + 42);
    writeMeshFile(open, file("open.ply").toStdString());
    window().openPath(file("open.ply").toStdString());
    auto* dialog = waitForDialog<MendDialog>();
    ASSERT_NE(dialog, nullptr);
    EXPECT_TRUE(text("mendTrouble").contains("open"));
    dialog->grab().save("full_mend.png");
    dialog->reject();
    QTest::qWait(50);
    EXPECT_FALSE(window().document().isOpen()) << "nothing is mended unasked";
    window().openPath(file("open.ply").toStdString());
    ASSERT_NE(waitForDialog<MendDialog>(), nullptr);
    QTest::mouseClick(find<QPushButton>("mendGo"), Qt::LeftButton);
    ASSERT_TRUE(waitFor([this] { return window().document().isOpen(); }));
    waitForRest();
    EXPECT_NEAR(stone().rough.volume_mm3, 512.0 * std::sqrt(2.0) / 3.0, 1e-6);
    EXPECT_EQ(stone().rough.report.findings.front().what, "holes");
}

TEST_F(IntakeWindow, OfSeveralShellsThePlannerChooses) {
    TriangleMesh two = octahedronStone(8.0).rough.mesh;
    const TriangleMesh inner = octahedronStone(1.0).rough.mesh;
    for (const auto& t : inner.triangles)
        two.triangles.push_back({t[0] + 6, t[1] + 6, t[2] + 6});
    two.vertices.insert(two.vertices.end(), inner.vertices.begin(), inner.vertices.end());
    writeMeshFile(two, file("two.ply").toStdString());
    window().openPath(file("two.ply").toStdString());
    auto* dialog = waitForDialog<MendDialog>();
    ASSERT_NE(dialog, nullptr);
    EXPECT_EQ(dialog->findChildren<QRadioButton*>().size(), 2);
    EXPECT_TRUE(dialog->findChildren<QRadioButton*>().front()->isChecked()) << "the largest";
    QTest::mouseClick(find<QPushButton>("mendGo"), Qt::LeftButton);
    ASSERT_TRUE(waitFor([this] { return window().document().isOpen(); }));
    waitForRest();
    EXPECT_NEAR(stone().rough.volume_mm3, 512.0 * std::sqrt(2.0) / 3.0, 1e-6);
}

TEST_F(IntakeWindow, AVolumeGivesDefectsWithALivePreview) {
    openOctahedron();
    Volume volume;
    volume.size = {40, 40, 40};
    volume.step_mm = Vector3d::Constant(0.2).asDiagonal();
    volume.origin_mm = Vector3d::Constant(-3.9);
    for (int k = 0; k < 40; ++k)
        for (int j = 0; j < 40; ++j)
            for (int i = 0; i < 40; ++i) {
                const Vector3d p = volume.place_mm(Vector3d(i, j, k));
                float value = 100.0F;
                for (const Vector3d& c : {Vector3d(1, 0, 0), Vector3d(-1, 0.5, 0)})
                    value += 800.0F /
                             (1.0F + std::exp(static_cast<float>(((p - c).norm() - 0.6) / 0.1)));
                volume.values.push_back(value);
            }
    writeVolume(volume, file("scan.mha").toStdString());
    QMimeData data;
    data.setUrls({QUrl::fromLocalFile(file("scan.mha"))});
    // A drop goes to the widget that was entered.
    QDragEnterEvent enter(QPoint(400, 300), Qt::CopyAction, &data, Qt::LeftButton, Qt::NoModifier);
    QApplication::sendEvent(&window(), &enter);
    EXPECT_TRUE(enter.isAccepted());
    QDropEvent drop(QPointF(400, 300), Qt::CopyAction, &data, Qt::LeftButton, Qt::NoModifier);
    QApplication::sendEvent(&window(), &drop);
    auto* dialog = waitForDialog<VolumeDialog>();
    ASSERT_NE(dialog, nullptr);
    ASSERT_TRUE(waitFor([&] { return !dialog->searching(); }));
    EXPECT_TRUE(text("volumeResult").startsWith("2 defect")) << text("volumeResult").toStdString();
    EXPECT_TRUE(stone().defects.empty()) << "only a preview";
    dialog->grab().save("full_volume.png");
    type("smallest", "100");
    ASSERT_TRUE(waitFor([&] { return !dialog->searching(); }));
    EXPECT_TRUE(text("volumeResult").startsWith("These grey values find no defect"));
    EXPECT_FALSE(find<QPushButton>("volumeAdd")->isEnabled());
    EXPECT_TRUE(text("volumeResult").contains("Left out: 2 smaller"));
    type("smallest", "0.001");
    ASSERT_TRUE(waitFor([&] { return !dialog->searching(); }));
    QTest::mouseClick(find<QPushButton>("volumeAdd"), Qt::LeftButton);
    waitForRest();
    ASSERT_EQ(stone().defects.size(), 2u);
    EXPECT_NEAR(defectVolume_mm3(stone().defects[0]), 4.0 / 3.0 * M_PI * 0.216, 0.05);
    EXPECT_EQ(history().count(), 1);
    action("undo")->trigger();
    waitForRest();
    EXPECT_TRUE(stone().defects.empty());
}

TEST_F(IntakeWindow, ADefectIsPlacedByHandOnASection) {
    openOctahedron();
    action("section")->trigger();
    QTest::qWait(50);
    action("addByHand")->trigger();
    auto* dialog = waitForDialog<DefectDialog>();
    ASSERT_NE(dialog, nullptr);
    dialog->move(1100, 40);
    // Look along z: the section stands across the view, so the pick lies on it.
    altClick({0.5, -0.75, 0.0});
    const Vector3d place = std::get<Ellipsoid>(dialog->defect().shape).centre_mm;
    EXPECT_NEAR(place.x(), 0.5, 0.05);
    EXPECT_NEAR(place.y(), -0.75, 0.05);
    type("size_x", "0.6");
    find<QLineEdit>("defectName")->setText("seen in the loupe");
    EXPECT_TRUE(stone().defects.empty()) << "only shown";
    dialog->grab().save("full_defect.png");
    QTest::mouseClick(find<QPushButton>("defectOk"), Qt::LeftButton);
    waitForRest();
    ASSERT_EQ(stone().defects.size(), 1u);
    EXPECT_EQ(stone().defects[0].name, "seen in the loupe");
    EXPECT_NEAR(std::get<Ellipsoid>(stone().defects[0].shape).halfAxes_mm.x(), 0.3, 1e-12);
    EXPECT_EQ(history().undoText(), "Add seen in the loupe");
    // Changed and removed through the list.
    auto* list = find<QTreeWidget>("defects");
    list->setCurrentItem(list->topLevelItem(0));
    list->topLevelItem(0)->setSelected(true);
    QTest::qWait(20);
    action("changeDefect")->trigger();
    ASSERT_NE(waitForDialog<DefectDialog>(), nullptr);
    find<QComboBox>("defectShape")->setCurrentIndex(1);
    QTest::mouseClick(find<QPushButton>("defectOk"), Qt::LeftButton);
    waitForRest();
    EXPECT_TRUE(std::holds_alternative<Sheet>(stone().defects[0].shape));
    list->topLevelItem(0)->setSelected(true);
    QTest::qWait(20);
    action("removeDefect")->trigger();
    waitForRest();
    EXPECT_TRUE(stone().defects.empty());
    action("undo")->trigger();
    waitForRest();
    EXPECT_EQ(stone().defects.size(), 1u);
}

TEST_F(IntakeWindow, PointsLengthsAndAnglesAreMeasured) {
    openOctahedron();
    // Table up: z towards the viewer; places on the upper faces |x| + |y| + z = 8 / sqrt 2.
    const double r = 8.0 / std::sqrt(2.0);
    const auto upon = [&](double x, double y) {
        return Vector3d(x, y, r - std::abs(x) - std::abs(y));
    };
    altClick(upon(1, 1));
    EXPECT_TRUE(text("measured").startsWith("Point ")) << text("measured").toStdString();
    altClick(upon(1, -1));
    const QString length = text("measured");
    ASSERT_TRUE(length.startsWith("Length ")) << length.toStdString();
    EXPECT_NEAR(length.section(' ', 1, 1).toDouble(), 2.0, 0.05);
    altClick(upon(-1, -1));
    const QString angle = text("measured");
    ASSERT_TRUE(angle.startsWith("Angle ")) << angle.toStdString();
    EXPECT_NEAR(angle.section(' ', 1, 1).remove(QChar(0xb0)).toDouble(), 90.0, 2.0);
    view().grab().save("full_measured.png");
    altClick({5, 5, 0});
    EXPECT_EQ(text("measured"), angle) << "beside the stone there is nothing to pick";
    QTest::keyClick(&window(), Qt::Key_Escape);
    EXPECT_TRUE(text("measured").isEmpty());
}

TEST_F(IntakeWindow, CrystalAxesComeFromPickedFaces) {
    openOctahedron();
    action("axes")->trigger();
    auto* dialog = waitForDialog<AxesDialog>();
    ASSERT_NE(dialog, nullptr);
    dialog->move(1100, 40);
    EXPECT_FALSE(find<QPushButton>("axesOk")->isEnabled());
    const double r = 8.0 / std::sqrt(2.0);
    altClick({r / 3, r / 3, r / 3});
    altClick({r / 3, -r / 3, r / 3});
    EXPECT_EQ(find<QTableWidget>("faces")->rowCount(), 2);
    EXPECT_TRUE(text("axesVerdict").contains("ideal 70.53")) << text("axesVerdict").toStdString();
    EXPECT_TRUE(text("axesVerdict").contains("misfit")) << text("axesVerdict").toStdString();
    EXPECT_TRUE(text("tableLies").contains("four-point")) << text("tableLies").toStdString();
    dialog->grab().save("full_axes.png");
    QTest::mouseClick(find<QPushButton>("axesOk"), Qt::LeftButton);
    waitForRest();
    ASSERT_TRUE(stone().axes.has_value());
    EXPECT_LT(angleToForm_deg(*stone().axes, FaceForm::Cube, Vector3d::UnitZ()), 0.1);
    EXPECT_EQ(history().undoText(), "Crystal axes");
}

TEST_F(IntakeWindow, ColourAndFluorescenceAreRecorded) {
    openOctahedron();
    action("colour")->trigger();
    QTest::qWait(50);
    find<QComboBox>("colourLetter")->setCurrentText("K");
    find<QLineEdit>("colourHue")->setText("yellow");
    find<QComboBox>("fluorescence")->setCurrentText("medium");
    window().findChild<QDialog*>("colourDialog")->grab().save("full_colour.png");
    QTest::mouseClick(find<QPushButton>("colourOk"), Qt::LeftButton);
    EXPECT_EQ(stone().colour.body.letter, "K");
    EXPECT_EQ(stone().colour.body.hue, "yellow");
    EXPECT_EQ(stone().colour.fluorescence.strength, FluorescenceStrength::Medium);
    waitForRest();
}

TEST_F(IntakeWindow, TheReportShowsItsPlacesAndRecordsWhichWeightIsTrusted) {
    writeMeshFile(octahedronStone(8.0, 2).rough.mesh, file("scan.stl").toStdString());
    window().openPath(file("scan.stl").toStdString());
    ASSERT_TRUE(waitFor([this] { return window().document().isOpen(); }));
    waitForRest();
    action("report")->trigger();
    auto* dialog = waitForDialog<ReportDialog>();
    ASSERT_NE(dialog, nullptr);
    std::size_t shown = 99;
    QObject::connect(dialog, &ReportDialog::placesChosen, dialog,
                     [&](const std::vector<Vector3d>& places) { shown = places.size(); });
    find<QTableWidget>("findings")->selectRow(0);
    EXPECT_EQ(shown, stone().rough.report.findings[0].places.size());
    type("scaleWeight", "4.3");
    find<QComboBox>("trusted")->setCurrentIndex(1);
    dialog->grab().save("full_report.png");
    QTest::mouseClick(find<QPushButton>("reportOk"), Qt::LeftButton);
    EXPECT_EQ(stone().trusted, TrustedWeight::Scale);
    EXPECT_EQ(stone().scale_ct, 4.3);
    waitForRest();
}

TEST_F(IntakeWindow, NoTwoCommandsShareAKey) {
    QStringList taken;
    for (const QAction* command : window().findChildren<QAction*>())
        for (const QKeySequence& keys : command->shortcuts()) {
            // Nudges belong to the stage alone.
            if (command->shortcutContext() == Qt::WidgetShortcut || keys.isEmpty()) continue;
            EXPECT_FALSE(taken.contains(keys.toString()))
                << keys.toString().toStdString() << " " << command->text().toStdString();
            taken += keys.toString();
        }
    EXPECT_GT(taken.size(), 20);
}

}  // namespace
}  // namespace macle::app::test
