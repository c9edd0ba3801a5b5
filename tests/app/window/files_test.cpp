// Saving, opening again, and everything that is written.
#include <QAction>
#include <QFile>
#include <QFileDialog>
#include <QImage>
#include <QLineEdit>
#include <QMessageBox>
#include <QPushButton>
#include <QTest>
#include <QTimer>

#include "app/window/number_box.h"
#include "core/base/units.h"
#include "core/stone/intake.h"
#include "core/stone/mesh_file.h"
#include "desk.h"

namespace macle::app::test {
namespace {

class Files : public Desk {
  protected:
    void SetUp() override {
        Desk::SetUp();
        openSampleStone();
    }
    QStringList shown() {
        waitForRest();
        return {text("weight"), text("recovery"), text("loss"), text("clarity"), text("fit")};
    }
};

TEST_F(Files, ASavedStoneOpensWithTheSameFigures) {
    action("thirdDecimal")->trigger();
    type("tilt", "20");
    type("proportion_pavilion_deg", "41.2");
    action("largestHere")->trigger();
    const QStringList before = shown();
    const Layout saved = layout();
    ASSERT_TRUE(window().saveTo(file("stone.macle").toStdString()));
    EXPECT_FALSE(window().isWindowModified());
    newWindow();
    window().openPath(file("stone.macle").toStdString());
    ASSERT_TRUE(waitFor([this] { return window().document().isOpen(); }));
    action("thirdDecimal")->trigger();
    EXPECT_EQ(shown(), before);
    EXPECT_TRUE((layout() == saved));
    EXPECT_FALSE(window().document().isModified());
}

TEST_F(Files, ADecimalCommaChangesWhatIsShownAndNotWhatIsSaved) {
    type("size", "3.25");
    ASSERT_TRUE(window().saveTo(file("point.macle").toStdString()));
    QLocale::setDefault(QLocale(QLocale::German, QLocale::Germany));
    newWindow();
    window().openPath(file("point.macle").toStdString());
    ASSERT_TRUE(waitFor([this] { return window().document().isOpen(); }));
    waitForRest();
    EXPECT_TRUE(text("weight").contains(',')) << text("weight").toStdString();
    EXPECT_EQ(layout().main().placement.size_mm, 3.25);
    EXPECT_EQ(find<NumberBox>("size")->cleanText(), "3,250");
    type("proportion_table_percent", "57,5");
    EXPECT_EQ(layout().main().proportions.at("table_percent"), 57.5);
    type("proportion_table_percent", "58.5");
    EXPECT_EQ(layout().main().proportions.at("table_percent"), 58.5);
    ASSERT_TRUE(window().saveTo(file("comma.macle").toStdString()));
    const StoneFile again = openStoneFile(file("comma.macle").toStdString());
    EXPECT_EQ(again.layouts.front().main().proportions.at("table_percent"), 58.5);
    EXPECT_EQ(again.layouts.front().main().placement.size_mm, 3.25);
}

TEST_F(Files, SavingWhereItCannotBeSavedIsToldAndNothingIsLost) {
    type("size", "3");
    EXPECT_FALSE(window().saveTo("/nonexistent/folder/stone.macle"));
    EXPECT_FALSE(takeError().isEmpty());
    EXPECT_TRUE(window().document().isModified());
    EXPECT_EQ(layout().main().placement.size_mm, 3.0);
}

TEST_F(Files, TheExportedMeshWeighsWhatTheReadoutSays) {
    action("thirdDecimal")->trigger();
    for (const char* size : {"3", "13"}) {  // inside, and poking out
        type("size", size);
        waitForRest();
        window().exportFinishedTo(file("finished.ply").toStdString());
        waitForRest();
        const TriangleMesh mesh = readMeshFile(file("finished.ply").toStdString());
        const double ct =
            carats(signedVolume_mm3(mesh), window().document().stone()->material.density_g_cm3);
        EXPECT_NEAR(ct, text("weight").split(QChar(QChar::Nbsp)).front().toDouble(), 6e-4) << size;
    }
}

TEST_F(Files, ThePlanSheetIsAPdfAndThePictureAPngOfTwiceTheSize) {
    window().writeSheetTo(file("sheet.pdf").toStdString());
    waitForRest();
    QFile pdf(file("sheet.pdf"));
    ASSERT_TRUE(pdf.open(QIODevice::ReadOnly));
    EXPECT_TRUE(pdf.readAll().startsWith("%PDF"));
    EXPECT_TRUE(text("hint").contains("sheet.pdf")) << text("hint").toStdString();
    window().writePictureTo(file("stage.png").toStdString());
    const QImage picture(file("stage.png"));
    EXPECT_EQ(picture.size(), view().size() * 2);
    // It shows something, and the stage goes on as before.
    QImage plain(picture.size(), QImage::Format_RGB888);
    plain.fill(picture.pixelColor(3, 3));
    EXPECT_GT(meanDifference(picture, plain), 1.0);
    QTest::qWait(50);
    EXPECT_LT(
        meanDifference(view().grabFramebuffer().scaled(400, 300),
                       picture.scaled(400, 300, Qt::IgnoreAspectRatio, Qt::SmoothTransformation)),
        8.0);
    window().writeSheetTo("/nonexistent/sheet.pdf");
    EXPECT_FALSE(takeError().isEmpty());
    window().writePictureTo("/nonexistent/stage.png");
    EXPECT_FALSE(takeError().isEmpty());
}

TEST_F(Files, DefectsAreAddedFromAList) {
    Defect spot;
    spot.name = "late finding";
    spot.kind = DefectKind::Crystal;
    spot.shape = Ellipsoid{layout().main().placement.translation_mm, Eigen::Vector3d::Constant(0.2),
                           Eigen::Quaterniond::Identity()};
    writeDefects({spot}, file("late.json").toStdString());
    const std::size_t before = window().document().stone()->defects.size();
    window().addDefectsFrom(file("late.json").toStdString());
    waitForRest();
    ASSERT_EQ(window().document().stone()->defects.size(), before + 1);
    EXPECT_EQ(history().count(), 1);
    // The centre of the cut now lies in a defect that must be cut away.
    EXPECT_TRUE(text("fit").startsWith("Nothing fits")) << text("fit").toStdString();
    action("undo")->trigger();
    waitForRest();
    EXPECT_EQ(window().document().stone()->defects.size(), before);
}

TEST_F(Files, SaveAsAddsTheEndingAndRemembersTheFile) {
    type("size", "3");
    QTimer::singleShot(300, &window(), [this] {
        auto* dialog = window().findChild<QFileDialog*>();
        ASSERT_NE(dialog, nullptr);
        auto* name = dialog->findChild<QLineEdit*>("fileNameEdit");
        ASSERT_NE(name, nullptr);
        name->setText(file("by hand"));
        QMetaObject::invokeMethod(dialog, "accept");
    });
    action("saveAs")->trigger();
    EXPECT_TRUE(QFile::exists(file("by hand.macle")));
    EXPECT_TRUE(window().windowTitle().startsWith("by hand.macle"));
    EXPECT_FALSE(window().document().isModified());
    type("size", "3.5");
    EXPECT_TRUE(window().isWindowModified());
    action("save")->trigger();
    EXPECT_FALSE(window().isWindowModified());
    EXPECT_EQ(
        openStoneFile(file("by hand.macle").toStdString()).layouts.front().main().placement.size_mm,
        3.5);
}

TEST_F(Files, ClosingWithUnsavedEditsAsksAndCancelStays) {
    type("size", "3");
    const auto answer = [this](QMessageBox::StandardButton button) {
        QTimer::singleShot(50, &window(), [this, button] {
            auto* box = window().findChild<QMessageBox*>("discardBox");
            ASSERT_NE(box, nullptr);
            box->button(button)->click();
        });
    };
    answer(QMessageBox::Cancel);
    EXPECT_FALSE(window().close());
    EXPECT_TRUE(window().isVisible());
    EXPECT_TRUE(window().document().isOpen());
    answer(QMessageBox::Discard);
    EXPECT_TRUE(window().close());
}

}  // namespace
}  // namespace macle::app::test
