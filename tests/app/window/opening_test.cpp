// The beginning: the empty window, opening, and files that cannot be opened.
#include <QAction>
#include <QDragEnterEvent>
#include <QFile>
#include <QMimeData>
#include <QPushButton>
#include <QTest>
#include <QUrl>
#include <filesystem>

#include "core/stone/mesh_file.h"
#include "core/stone/sample.h"
#include "desk.h"

namespace macle::app::test {
namespace {

class Opening : public Desk {};

TEST_F(Opening, AnEmptyWindowOffersOnlyWhatMakesSense) {
    EXPECT_TRUE(find<QWidget>("welcome")->isVisible());
    EXPECT_TRUE(find<QPushButton>("welcomeOpen")->isEnabled());
    for (const char* name :
         {"save", "saveAs", "addDefects", "exportFinished", "planSheet", "picture", "report",
          "largestHere", "settle", "findBest", "undo", "redo", "section"})
        EXPECT_FALSE(action(name)->isEnabled()) << name;
    EXPECT_TRUE(action("open")->isEnabled());
    EXPECT_EQ(text("weight"), "–");
}

TEST_F(Opening, TheSampleStoneComesWithItsFigures) {
    openSampleStone();
    EXPECT_FALSE(find<QWidget>("welcome")->isVisible());
    EXPECT_TRUE(action("findBest")->isEnabled());
    EXPECT_TRUE(text("weight").endsWith("ct")) << text("weight").toStdString();
    EXPECT_TRUE(text("recovery").endsWith(" %"));
    EXPECT_FALSE(text("clarity").isEmpty());
    EXPECT_TRUE(text("fit").contains("stopped by")) << text("fit").toStdString();
    EXPECT_FALSE(find<QWidget>("pokes")->isVisible());
    // Nobody has edited anything yet.
    EXPECT_EQ(history().count(), 0);
}

TEST_F(Opening, AScanIsTakenInAndDroppedFilesAreOpened) {
    writeMeshFile(octahedronStone(8.0, 2).rough.mesh, file("rough.ply").toStdString());
    QMimeData data;
    data.setUrls({QUrl::fromLocalFile(file("rough.ply"))});
    QDragEnterEvent enter({200, 200}, Qt::CopyAction, &data, Qt::LeftButton, Qt::NoModifier);
    QApplication::sendEvent(&window(), &enter);
    EXPECT_TRUE(enter.isAccepted());
    QDropEvent drop({200, 200}, Qt::CopyAction, &data, Qt::LeftButton, Qt::NoModifier);
    QApplication::sendEvent(&window(), &drop);
    ASSERT_TRUE(waitFor([this] { return window().document().isOpen(); }));
    waitForRest();
    // Two square pyramids: edge^3 sqrt(2) / 3.
    EXPECT_NEAR(window().document().stone()->rough.volume_mm3, 512.0 * std::sqrt(2.0) / 3.0, 1e-4);
    EXPECT_TRUE(window().document().isModified());
}

TEST_F(Opening, EveryTriangleOfALargeScanIsKept) {
    const TriangleMesh fine = octahedronStone(8.0, 6).rough.mesh;
    writeMeshFile(fine, file("fine.ply").toStdString());
    window().openPath(file("fine.ply").toStdString());
    ASSERT_TRUE(waitFor([this] { return window().document().isOpen(); }));
    waitForRest();
    const Rough& rough = window().document().stone()->rough;
    EXPECT_EQ(rough.mesh.triangles.size(), fine.triangles.size());
    EXPECT_EQ(rough.report.trianglesKept, rough.report.trianglesRead);
}

TEST_F(Opening, AFileThatIsNoStoneIsRefusedWithARemedyAndTheOpenStoneStays) {
    openSampleStone();
    const QString weight = text("weight");
    const std::string name = window().document().stone()->name;
    QFile bad(file("bad.stl"));
    ASSERT_TRUE(bad.open(QIODevice::WriteOnly));
    bad.write("this is no mesh");
    bad.close();
    for (const QString& path : {file("bad.stl"), file("missing.obj"), file("missing.macle")}) {
        window().openPath(path.toStdString());
        const QString told = takeError();
        EXPECT_GT(told.size(), 20) << path.toStdString();
        waitForRest();
        EXPECT_EQ(window().document().stone()->name, name);
        EXPECT_EQ(text("weight"), weight);
        EXPECT_TRUE(action("save")->isEnabled());
    }
    window().addDefectsFrom(file("bad.stl").toStdString());
    EXPECT_FALSE(takeError().isEmpty());
    EXPECT_EQ(history().count(), 0);
}

TEST_F(Opening, MeasuredShapesOfOddFormGetACutThatFits) {
    const std::filesystem::path folder = MACLE_SHARED "/real_stones";
    if (!std::filesystem::exists(folder)) GTEST_SKIP() << "no measured shapes here";
    for (const char* name : {"castalia.obj", "eros.obj"}) {
        newWindow();
        window().openPath(folder / name);
        ASSERT_TRUE(waitFor([this] { return !window().jobRunning(); }));
        ASSERT_TRUE(window().document().isOpen()) << takeError().toStdString();
        waitForRest();
        EXPECT_TRUE(text("fit").contains("stopped by")) << text("fit").toStdString();
        EXPECT_FALSE(find<QWidget>("pokes")->isVisible());
    }
}

TEST_F(Opening, CanBeCancelledWithEscape) {
    writeMeshFile(octahedronStone(8.0, 7).rough.mesh, file("fine.stl").toStdString());
    window().openPath(file("fine.stl").toStdString());
    EXPECT_TRUE(window().jobRunning());
    EXPECT_TRUE(find<QWidget>("jobBar")->isVisible());
    QTest::keyClick(&window(), Qt::Key_Escape);
    ASSERT_TRUE(waitFor([this] { return !window().jobRunning(); }));
    EXPECT_FALSE(window().document().isOpen());
    EXPECT_FALSE(find<QWidget>("jobBar")->isVisible());
    EXPECT_EQ(window().findChild<QWidget*>("errorBox"), nullptr);
}

TEST_F(Opening, TheWindowCanCloseWhileAStoneIsOpened) {
    writeMeshFile(octahedronStone(8.0, 7).rough.mesh, file("fine.stl").toStdString());
    window().openPath(file("fine.stl").toStdString());
    window().close();
    EXPECT_FALSE(window().isVisible());
}

}  // namespace
}  // namespace macle::app::test
