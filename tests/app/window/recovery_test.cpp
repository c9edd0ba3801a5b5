// Drafts, recovery, a second window on the same file, and the history across saving.
#include <QAction>
#include <QDir>
#include <QLabel>
#include <QListWidget>
#include <QMessageBox>
#include <QPushButton>
#include <QTest>
#include <QTimer>
#include <QTreeWidget>
#include <fstream>

#include "app/window/history_dialog.h"
#include "app/window/recovery_dialog.h"
#include "core/stone/mesh_file.h"
#include "core/stone/sample.h"
#include "desk.h"

namespace macle::app::test {
namespace {

namespace fs = std::filesystem;

class Recovery : public Desk {
  protected:
    void SetUp() override {
        Desk::SetUp();
        drafts_ = window().keeper().folder();
        fs::remove_all(drafts_);
        StoneFile content;
        content.stone = octahedronStone(8.0, 2);
        content.stone.name = "Recovered";
        saved_ = file("stone.macle").toStdString();
        saveStoneFile(content, saved_);
    }
    void TearDown() override {
        Desk::TearDown();
        fs::remove_all(drafts_);
    }
    void open(const fs::path& path) {
        window().openPath(path);
        ASSERT_TRUE(waitFor([this] { return !window().jobRunning(); }));
        waitForRest();
    }
    std::size_t draftFiles() const {
        if (!fs::exists(drafts_)) return 0;
        return static_cast<std::size_t>(
            std::distance(fs::directory_iterator(drafts_), fs::directory_iterator()));
    }
    // As a crash leaves it: the draft on the disk, and no more program.
    void crash() {
        window().keeper().flush();
        const fs::path kept = file("kept").toStdString();
        fs::remove_all(kept);
        fs::copy(drafts_, kept);
        newWindow();  // the old one gives up its lock
        fs::remove_all(drafts_);
        fs::copy(kept, drafts_);
    }
    RecoveryDialog* ask() {
        window().offerRecovery();
        return window().findChild<RecoveryDialog*>();
    }

    fs::path drafts_;
    fs::path saved_;
};

std::string bytesOf(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

TEST_F(Recovery, UnsavedEditsComeBackAndTheFileIsUntouchedUntilSaved) {
    open(saved_);
    EXPECT_EQ(draftFiles(), 0u) << "nothing to keep before the first edit";
    type("size", "3.25");
    type("tilt", "20");
    const std::string before = bytesOf(saved_);
    crash();
    RecoveryDialog* dialog = ask();
    ASSERT_NE(dialog, nullptr);
    auto* list = find<QTreeWidget>("drafts");
    ASSERT_EQ(list->topLevelItemCount(), 1);
    EXPECT_EQ(list->topLevelItem(0)->text(0), "Recovered");
    const QString year = QString::number(QDate::currentDate().year());
    EXPECT_TRUE(list->topLevelItem(0)->text(1).contains(year)) << "time of the last change";
    EXPECT_TRUE(list->topLevelItem(0)->text(2).contains(year)) << "time of the file";
    EXPECT_TRUE(text("draftDetail").contains("stone.macle"));
    dialog->grab().save("full_recovery.png");
    QTest::mouseClick(find<QPushButton>("recover"), Qt::LeftButton);
    ASSERT_TRUE(waitFor([this] { return window().document().isOpen(); }));
    waitForRest();
    EXPECT_EQ(layout().main().placement.size_mm, 3.25);
    EXPECT_TRUE(window().document().isModified());
    EXPECT_EQ(window().document().path(), saved_);
    EXPECT_EQ(bytesOf(saved_), before);
    EXPECT_EQ(history().count(), 2);
    action("undo")->trigger();
    action("undo")->trigger();
    EXPECT_NE(layout().main().placement.size_mm, 3.25);
    action("redo")->trigger();
    EXPECT_EQ(draftFiles(), 1u) << "kept until it is saved";
    ASSERT_TRUE(window().saveTo(saved_));
    window().keeper().flush();
    EXPECT_EQ(draftFiles(), 0u);
    EXPECT_EQ(openStoneFile(saved_).layouts.front().main().placement.size_mm, 3.25);
}

TEST_F(Recovery, AStoneNeverSavedIsKeptFromTheStart) {
    writeMeshFile(octahedronStone(8.0, 2).rough.mesh, file("scan.stl").toStdString());
    open(file("scan.stl").toStdString());
    crash();
    ASSERT_NE(ask(), nullptr);
    EXPECT_EQ(find<QTreeWidget>("drafts")->topLevelItem(0)->text(2), "never");
    EXPECT_TRUE(text("draftDetail").contains("never saved"));
    QTest::mouseClick(find<QPushButton>("recover"), Qt::LeftButton);
    ASSERT_TRUE(waitFor([this] { return window().document().isOpen(); }));
    waitForRest();
    EXPECT_EQ(window().document().stone()->name, "scan");
    EXPECT_TRUE(window().document().path().empty());
    EXPECT_TRUE(window().document().isModified());
}

TEST_F(Recovery, NotNowKeepsTheDraftAndDiscardAsksTwice) {
    open(saved_);
    type("size", "3.25");
    crash();
    ask();
    QTest::mouseClick(find<QPushButton>("recoverLater"), Qt::LeftButton);
    QTest::qWait(20);
    EXPECT_EQ(draftFiles(), 1u);
    const std::string before = bytesOf(saved_);
    ask();
    const auto answer = [this](QMessageBox::StandardButton button) {
        QTimer::singleShot(50, &window(), [this, button] {
            auto* box = window().findChild<QMessageBox*>("discardDraftBox");
            ASSERT_NE(box, nullptr);
            box->button(button)->click();
        });
    };
    answer(QMessageBox::Cancel);
    QTest::mouseClick(find<QPushButton>("discardDraft"), Qt::LeftButton);
    EXPECT_EQ(draftFiles(), 1u);
    answer(QMessageBox::Discard);
    QTest::mouseClick(find<QPushButton>("discardDraft"), Qt::LeftButton);
    EXPECT_EQ(draftFiles(), 0u);
    EXPECT_EQ(bytesOf(saved_), before);
    QTest::qWait(20);
    EXPECT_EQ(ask(), nullptr) << "nothing is left to ask about";
}

TEST_F(Recovery, ADraftGoesWhenTheWorkIsGivenUpOrTakenBack) {
    open(saved_);
    type("size", "3.25");
    window().keeper().flush();
    EXPECT_EQ(draftFiles(), 1u);
    action("undo")->trigger();
    window().keeper().flush();
    EXPECT_EQ(draftFiles(), 0u) << "back at the saved state";
    type("size", "3.5");
    window().keeper().flush();
    EXPECT_EQ(draftFiles(), 1u);
    QTimer::singleShot(50, &window(), [this] {
        auto* box = window().findChild<QMessageBox*>("discardBox");
        ASSERT_NE(box, nullptr);
        box->button(QMessageBox::Discard)->click();
    });
    EXPECT_TRUE(window().close());
    window().keeper().flush();
    EXPECT_EQ(draftFiles(), 0u);
}

TEST_F(Recovery, ASecondWindowOnTheSameFileIsToldAndCannotReplaceIt) {
    open(saved_);
    MainWindow second;
    second.show();
    second.openPath(saved_);
    ASSERT_TRUE(waitFor([&] { return second.document().isOpen() && !second.jobRunning(); }));
    auto* box = second.findChild<QMessageBox*>("heldBox");
    ASSERT_NE(box, nullptr);
    EXPECT_TRUE(box->text().contains("is open in process")) << box->text().toStdString();
    box->done(0);
    EXPECT_TRUE(second.windowTitle().contains("to look at only"));
    EXPECT_FALSE(second.saveTo(saved_));
    EXPECT_TRUE(waitFor([&] { return second.findChild<QMessageBox*>("errorBox") != nullptr; }));
    EXPECT_TRUE(second.saveTo(file("copy.macle").toStdString()));
    EXPECT_FALSE(second.windowTitle().contains("to look at only"));
    // The first may save on, and keeps the file to itself.
    type("size", "3.25");
    EXPECT_TRUE(window().saveTo(saved_));
    OpenLock other;
    EXPECT_FALSE(other.take(saved_));
}

TEST_F(Recovery, AFileMarkedReadOnlySaysSo) {
    fs::permissions(saved_, fs::perms::owner_read);
    open(saved_);
    EXPECT_TRUE(window().windowTitle().contains("to look at only"));
    EXPECT_TRUE(text("hint").contains("read-only")) << text("hint").toStdString();
    EXPECT_FALSE(window().saveTo(saved_));
    EXPECT_TRUE(takeError().contains("another name"));
}

TEST_F(Recovery, TheHistoryIsListedWalkedAndSavedWithTheStone) {
    open(saved_);
    type("size", "3");
    type("tilt", "20");
    type("proportion_table_percent", "58");
    ASSERT_TRUE(window().saveTo(saved_));
    EXPECT_EQ(history().count(), 3) << "saving keeps the history";
    newWindow();
    open(saved_);
    EXPECT_FALSE(window().document().isModified());
    EXPECT_EQ(history().count(), 3);
    action("history")->trigger();
    auto* list = find<QListWidget>("steps");
    ASSERT_NE(list, nullptr);
    ASSERT_EQ(list->count(), 4);
    EXPECT_EQ(list->currentRow(), 3);
    EXPECT_TRUE(list->item(3)->text().contains("Change table"));
    list->setCurrentRow(1);
    ASSERT_TRUE(waitFor([this] { return history().index() == 1; }));
    EXPECT_EQ(layout().main().placement.size_mm, 3.0);
    EXPECT_NE(layout().main().proportions.at("table_percent"), 58.0);
    EXPECT_EQ(list->currentRow(), 1);
    EXPECT_TRUE(window().document().isModified());
    window().findChild<HistoryDialog*>()->grab().save("full_history.png");
    list->setCurrentRow(3);
    ASSERT_TRUE(waitFor([this] { return history().index() == 3; }));
    EXPECT_FALSE(window().document().isModified());
    waitForRest();
}

}  // namespace
}  // namespace macle::app::test
