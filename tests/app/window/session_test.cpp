// One whole session on the demonstration stone of 19 ct with its defects: layouts are found and
// planned, compared, one is approved, and everything the bench needs is written.
#include <QAction>
#include <QComboBox>
#include <QFile>
#include <QJsonDocument>
#include <QJsonObject>
#include <QLineEdit>
#include <QListWidget>
#include <QProcess>
#include <QPushButton>
#include <QSpinBox>
#include <QTest>
#include <QTimer>
#include <QTreeWidget>

#include "app/window/approve_dialog.h"
#include "app/window/compare_window.h"
#include "app/window/find_layouts_dialog.h"
#include "app/window/layouts_strip.h"
#include "app/window/number_box.h"
#include "app/window/sheet_dialog.h"
#include "core/bench/layout_hash.h"
#include "desk.h"

namespace macle::app::test {
namespace {

class Session : public Desk {
  protected:
    std::shared_ptr<const Prepared> prepared() { return window().workshop().prepared(); }
    template <class Dialog>
    Dialog* shown() {
        Dialog* dialog = nullptr;
        EXPECT_TRUE(waitFor([&] {
            dialog = window().findChild<Dialog*>();
            return dialog != nullptr && dialog->isVisible();
        }));
        return dialog;
    }
    QByteArray read(const QString& path) {
        QFile opened(path);
        EXPECT_TRUE(opened.open(QIODevice::ReadOnly)) << path.toStdString();
        return opened.readAll();
    }
    double finished_ct(const Layout& layout) {
        const auto now = prepared();
        return weighWhole(*now->of, *now->wholeCutter, layout).finished_ct;
    }
    void shoot(QWidget* widget, const char* name) {
        QTest::qWait(150);
        widget->grab().save(QStringLiteral("session_%1.png").arg(name));
    }
};

TEST_F(Session, LayoutsAreFoundComparedApprovedAndWritten) {
    openSampleStone();
    placeByNumbers();
    ASSERT_NEAR(
        caratsOf(*window().document().stone(), window().document().stone()->rough.volume_mm3), 19.0,
        0.5);

    // Another cut of its own layout beside the round.
    action("copyLayout")->trigger();
    waitForRest();
    window().document().changeCut("oval");
    waitForRest();
    action("largestHere")->trigger();
    waitForRest();
    action("settle")->trigger();
    waitForRest();

    // Layouts of two stones, searched for by a count of poses so that they are always the same.
    auto* budget = find<NumberBox>("searchBudget");
    auto* unit = find<QComboBox>("searchBudgetUnit");
    unit->setCurrentIndex(1);  // thousand poses
    budget->setValue(30);
    QTimer::singleShot(0, &window(), [&] {
        auto* dialog = window().findChild<FindLayoutsDialog*>();
        ASSERT_NE(dialog, nullptr);
        auto* cuts = dialog->findChild<QListWidget*>("wishCuts");
        for (int row = 0; row < cuts->count(); ++row)
            cuts->item(row)->setCheckState(cuts->item(row)->data(Qt::UserRole).toString() == "round"
                                               ? Qt::Checked
                                               : Qt::Unchecked);
        shoot(dialog, "wish");
        dialog->accept();
    });
    action("findLayouts")->trigger();
    QTreeWidget* choices = nullptr;
    ASSERT_TRUE(waitFor(
        [&] {
            choices = window().findChild<QTreeWidget*>("choices");
            return choices != nullptr && choices->isVisible();
        },
        3 * kPatience_ms));
    ASSERT_GE(choices->topLevelItemCount(), 1);
    const int takes = std::min(2, choices->topLevelItemCount());
    for (int row = 0; row < takes; ++row) {
        choices->setCurrentItem(choices->topLevelItem(row));
        QTest::mouseClick(window().findChild<QPushButton*>("takeChoice"), Qt::LeftButton);
        QTest::qWait(20);
    }
    shoot(choices->window(), "found");
    choices->window()->close();
    waitForRest();
    const std::vector<Layout>& layouts = window().document().layouts();
    ASSERT_GE(layouts.size(), 3u);
    for (std::size_t i = 0; i < layouts.size(); ++i) {
        const WholeLayout whole = weighWhole(*prepared()->of, *prepared()->wholeCutter, layouts[i]);
        EXPECT_TRUE(whole.open.empty()) << layouts[i].name << ": " << whole.open.front();
        EXPECT_NEAR(whole.rough_ct,
                    whole.finished_ct + whole.kerf_ct + whole.outside_ct + whole.leftOver_ct,
                    1e-9 * whole.rough_ct);
        for (const WholeStone& stone : whole.stones)
            for (const DefectInside& defect : stone.weight.defects)
                EXPECT_FALSE(defect.forbidden) << layouts[i].name << " " << defect.name;
        for (const StonePair& pair : whole.pairs)
            EXPECT_GE(pair.distance_mm, pair.kerf_mm - 1e-9);
    }

    // Side by side with their differences, and all in the chart.
    auto* list = find<QListWidget>("layoutsList");
    for (int row = 0; row < list->count(); ++row)
        list->item(row)->setCheckState(Qt::Checked);
    action("sideBySide")->trigger();
    auto* compared = shown<CompareWindow>();
    ASSERT_NE(compared, nullptr);
    ASSERT_TRUE(waitFor([&] { return !window().jobRunning(); }, 3 * kPatience_ms));
    EXPECT_EQ(compared->sideBySide()->shown(),
              std::min<int>(SideBySide::kMost, static_cast<int>(layouts.size())));
    QTest::qWait(400);
    shoot(compared, "side_by_side");
    compared->showChart();
    shoot(compared, "chart");
    action("themeDark")->trigger();
    QTest::qWait(300);
    shoot(compared, "chart_dark");
    action("themeLight")->trigger();
    compared->close();

    // The heaviest is approved.
    std::size_t best = 0;
    for (std::size_t i = 1; i < layouts.size(); ++i)
        if (finished_ct(layouts[i]) > finished_ct(layouts[best])) best = i;
    list->setCurrentRow(static_cast<int>(best));
    waitForRest();
    ASSERT_EQ(window().document().currentLayout(), static_cast<int>(best));
    ASSERT_GE(layout().stones.size(), 2u) << "two stones weigh more than one here";
    action("dividing")->trigger();
    waitForRest();
    shoot(&window(), "divided");
    action("approve")->trigger();
    auto* approve = shown<ApproveDialog>();
    ASSERT_NE(approve, nullptr);
    const QString hash = text("approveHash");
    EXPECT_EQ(hash.toStdString(), layoutHash(*window().document().stone(), layout()));
    auto* name = find<QLineEdit>("approveBy");
    name->clear();
    QTest::keyClicks(name, "A. Planner");
    shoot(approve, "approve");
    QTest::mouseClick(find<QPushButton>("approveOk"), Qt::LeftButton);
    waitForRest();
    EXPECT_TRUE(text("layoutState").startsWith("Approved by A. Planner"));

    // What the bench gets.
    action("planSheet")->trigger();
    auto* sheet = shown<SheetDialog>();
    ASSERT_NE(sheet, nullptr);
    EXPECT_EQ(sheet->sheet().state.state, "approved");
    EXPECT_GT(sheet->pages(), 3);
    shoot(sheet, "sheet_1");
    sheet->showPage(2);
    shoot(sheet, "sheet_2");
    action("themeDark")->trigger();
    QTest::qWait(300);
    shoot(sheet, "sheet_dark");
    shoot(&window(), "divided_dark");
    action("themeLight")->trigger();
    sheet->close();
    for (const char* ending : {"plan.pdf", "plan.csv", "plan.json"}) {
        window().writeSheetTo(file(ending).toStdString());
        ASSERT_TRUE(waitFor([&] { return !window().jobRunning(); }, 3 * kPatience_ms));
        EXPECT_GT(read(file(ending)).size(), 1000) << ending;
    }
    for (const char* ending : {"marks.dxf", "marks.svg"}) {
        window().writeMarksTo(file(ending).toStdString());
        ASSERT_TRUE(waitFor([&] { return !window().jobRunning(); }));
        EXPECT_GT(read(file(ending)).size(), 1000) << ending;
    }
    const QJsonObject json = QJsonDocument::fromJson(read(file("plan.json"))).object();
    EXPECT_EQ(json["hash"].toString(), hash);
    EXPECT_NEAR(json["finished_ct"].toDouble(), finished_ct(layout()), 1e-9);
    QProcess pdftotext;
    pdftotext.start("pdftotext", {"-layout", file("plan.pdf"), "-"});
    ASSERT_TRUE(pdftotext.waitForFinished());
    const QString paper = QString::fromUtf8(pdftotext.readAllStandardOutput());
    EXPECT_TRUE(paper.contains(hash.left(16)));
    EXPECT_TRUE(paper.contains("A. Planner"));
    EXPECT_TRUE(paper.contains(QString::number(finished_ct(layout()), 'f', 3)));

    // Saved and opened again it is still what was approved.
    const Layout approved = layout();
    ASSERT_TRUE(window().saveTo(file("session.macle").toStdString()));
    window().openPath(file("session.macle").toStdString());
    ASSERT_TRUE(waitFor([&] { return atRest(); }));
    ASSERT_EQ(window().document().layouts().size(), layouts.size());
    window().document().chooseLayout(static_cast<int>(best));
    waitForRest();
    EXPECT_EQ(layout(), approved);
    EXPECT_EQ(window().document().currentState(), LayoutState::Approved);
}

}  // namespace
}  // namespace macle::app::test
