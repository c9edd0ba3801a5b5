// Layouts side by side, as a widget of its own.
#include "app/window/side_by_side.h"

#include <gtest/gtest.h>
#include <vtkCamera.h>
#include <vtkRenderer.h>

#include <QCheckBox>
#include <QComboBox>
#include <QLabel>
#include <QPushButton>
#include <QSignalSpy>
#include <QSlider>
#include <QTableWidget>
#include <QTest>

#include "app/window/theme.h"
#include "core/base/error.h"
#include "core/cut/library.h"
#include "core/solid/finished_stone.h"
#include "core/stone/sample.h"
#include "desk.h"

namespace macle::app::test {
namespace {

Placement placedAt(const Eigen::Vector3d& translation_mm, double size_mm, double turn_deg) {
    Placement placement;
    placement.translation_mm = translation_mm;
    placement.size_mm = size_mm;
    placement.rotation =
        Eigen::Quaterniond(Eigen::AngleAxisd(turn_deg * M_PI / 180.0, Eigen::Vector3d::UnitY()));
    return placement;
}

Saw sawAt(const Eigen::Vector3d& normal, double offset_mm, int piece) {
    Saw saw;
    saw.piece = piece;
    saw.normal = normal.normalized();
    saw.offset_mm = offset_mm;
    saw.kerf_mm = 0.2;
    return saw;
}

// One stone whole; two parted by a saw; three by two.
std::vector<Layout> layouts() {
    std::vector<Layout> all(3);
    all[0].name = "One large round";
    all[0].main().placement = placedAt({-0.3, -0.2, -0.2}, 8.0, 17.0);
    all[1].name = "Two rounds";
    all[1].saws = {sawAt({1.0, 0.15, 0.1}, 0.6, 0)};
    all[1].stones.resize(2);
    all[1].stones[0].placement = placedAt({-2.2, -0.2, -0.2}, 4.8, 17.0);
    all[1].stones[1].piece = 1;
    all[1].stones[1].placement = placedAt({3.0, 0.1, 0.1}, 3.6, 60.0);
    all[2] = all[1];
    all[2].name = "Three";
    all[2].saws.push_back(sawAt({0.1, 0.1, 1.0}, -0.3, 1));
    all[2].stones.push_back(all[2].stones[1]);
    all[2].stones[1].placement = placedAt({2.6, 0.1, -1.6}, 2.4, 160.0);
    all[2].stones[2].placement = placedAt({2.8, 0.1, 1.2}, 2.4, 30.0);
    all[2].stones[2].piece = 2;
    return all;
}

std::vector<ShownRow> rows() {
    const auto known = [](double value) { return ShownValue{value, {}, {}}; };
    return {{{"Weight", "ct", 2, Merit::More, {}}, {known(4.449), known(5.2), known(5.1)}, {}},
            {{"Recovery", "%", 1, Merit::More, {}}, {known(23.4), known(27.3), known(26.8)}, {}},
            {{"Clarity, lowest", "", 0, Merit::Less, {"IF", "VVS1", "VVS2", "VS1", "VS2"}},
             {known(2), known(2), known(3)},
             {}},
            {{"Value", "demo", 0, Merit::More, {}},
             {known(10900), {{}, "the price table has no row for 0.31 ct", {}}, known(9240)},
             {}},
            {{"Time", "min", 0, Merit::Less, {}}, {known(260), known(415), known(540)}, {}},
            {{"Saws", "", 0, Merit::Neither, {}}, {known(0), known(1), known(2)}, {}}};
}

TEST(Compared, TheBestOfARowIsByWhatReadsAlike) {
    const ShownFigure more{"a", "ct", 2, Merit::More, {}};
    const auto values = [](std::vector<std::optional<double>> numbers) {
        std::vector<ShownValue> all;
        for (const auto& number : numbers)
            all.push_back({number, {}, {}});
        return all;
    };
    EXPECT_EQ(bestOf(more, values({1.0, 2.001, 1.999})), (std::vector<int>{1, 2}));
    EXPECT_EQ(bestOf(more, values({std::nullopt, 2.0, 1.0})), (std::vector<int>{1}));
    EXPECT_TRUE(bestOf(more, values({2.0, 2.001, 2.0})).empty());
    EXPECT_TRUE(bestOf(more, values({2.0, std::nullopt})).empty());
    ShownFigure less = more;
    less.better = Merit::Less;
    EXPECT_EQ(bestOf(less, values({3.0, 1.0, 2.0})), (std::vector<int>{1}));
    less.better = Merit::Neither;
    EXPECT_TRUE(bestOf(less, values({3.0, 1.0})).empty());
}

TEST(Compared, DifferencesAreSignedAndInTheLanguage) {
    const ShownFigure weight{"Weight", "ct", 2, Merit::More, {}};
    const QLocale german(QLocale::German, QLocale::Germany);
    const QString ct = QString(QChar(QChar::Nbsp)) + "ct";
    EXPECT_EQ(differenceText(weight, 0.751, QLocale::c()), "+0.75" + ct);
    EXPECT_EQ(differenceText(weight, -0.751, german), QString::fromUtf8("−0,75") + ct);
    EXPECT_EQ(differenceText(weight, -0.001, german), QString::fromUtf8("±0"));
    EXPECT_EQ(valueText(weight, -0.001, QLocale::c()), "0.00" + ct);
    const ShownFigure clarity{"Clarity", "", 0, Merit::Less, {"IF", "VVS1", "VVS2"}};
    EXPECT_EQ(valueText(clarity, 2.0, german), "VVS2");
    EXPECT_EQ(valueText(clarity, 9.0, german), "VVS2");
    EXPECT_EQ(differenceText(clarity, -2.0, german), "2 steps better");
    EXPECT_EQ(differenceText(clarity, 1.0, german), "1 step worse");
    EXPECT_EQ(differenceText(clarity, 0.0, german), "same");
}

class Beside : public testing::Test {
  protected:
    static void SetUpTestSuite() {
        stone_ = std::make_shared<const Stone>(sampleStone(12000));
        const RoughCutter cutter(stone_->rough);
        const char* states[3] = {"approved", "draft", "replaced"};
        const std::optional<double> weights[3] = {4.449, 5.2, std::nullopt};
        for (std::size_t k = 0; k < 3; ++k)
            sides_.push_back(readySide(*stone_, cutter, layouts()[k], states[k], weights[k]));
    }
    static void TearDownTestSuite() {
        stone_.reset();
        sides_.clear();
    }
    void SetUp() override { make(); }
    void TearDown() override {
        beside_.reset();
        applyTheme(render::Theme::Light);
        QLocale::setDefault(QLocale::c());
    }
    // Small: a large one takes software long to draw.
    void make(render::Theme theme = render::Theme::Light, const QSize& size = {860, 560}) {
        applyTheme(theme);
        beside_ = std::make_unique<SideBySide>();
        beside_->resize(size);
        beside_->display(stone_, sides_);
        beside_->displayFigures(rows());
        beside_->show();
        ASSERT_TRUE(QTest::qWaitForWindowExposed(beside_.get()));
        ASSERT_TRUE(waitFor([this] { return view(0).paints() > 0 && view(2).paints() > 0; }));
    }
    StoneView& view(int index) { return *beside_->pane(index)->view(); }
    template <class Widget>
    Widget& find(const char* name) {
        return *beside_->findChild<Widget*>(name);
    }
    Eigen::Vector3d ahead(int index) { return view(index).sight().ahead; }
    double scale(int index) { return view(index).sight().halfHeight; }
    QImage photograph() {
        for (int k = 0; k < beside_->shown(); ++k)
            EXPECT_TRUE(waitFor([&] { return view(k).resting(); }));
        QTest::qWait(150);
        return beside_->grab().toImage();
    }

    static inline std::shared_ptr<const Stone> stone_;
    static inline std::vector<SideLayout> sides_;
    std::unique_ptr<SideBySide> beside_;
};

TEST_F(Beside, TitlesTellNameStateAndWeight) {
    ASSERT_EQ(beside_->shown(), 3);
    const auto text = [&](int pane, const char* label) {
        return beside_->pane(pane)->findChild<QLabel*>(label)->text();
    };
    EXPECT_EQ(text(0, "sideName"), "One large round");
    EXPECT_TRUE(text(0, "sideFacts").contains("approved"));
    EXPECT_TRUE(text(0, "sideFacts").contains("4.45"));
    EXPECT_TRUE(text(1, "sideFacts").contains("2 stones"));
    EXPECT_TRUE(text(2, "sideFacts").contains("weight not known yet"));
    EXPECT_EQ(view(0).scene().saws().size(), 0u);
    EXPECT_EQ(view(2).scene().saws().size(), 2u);
    EXPECT_FALSE(beside_->pane(3)->isVisible());
}

TEST_F(Beside, TurningOneTurnsAllWhileTogether) {
    EXPECT_LT((ahead(0) - ahead(2)).norm(), 1e-12);
    view(1).setFocus();
    const Eigen::Vector3d before = ahead(0);
    QTest::keyClick(&view(1), Qt::Key_Right);
    QTest::keyClick(&view(1), Qt::Key_Up);
    QTest::keyClick(&view(1), Qt::Key_Plus);
    EXPECT_GT((ahead(0) - before).norm(), 0.05);
    for (const int k : {0, 2}) {
        EXPECT_LT((ahead(k) - ahead(1)).norm(), 1e-12);
        EXPECT_DOUBLE_EQ(scale(k), scale(1));
    }
    // By hand, too.
    QTest::mousePress(&view(2), Qt::RightButton, Qt::NoModifier, QPoint(100, 100));
    QMouseEvent move(QEvent::MouseMove, QPointF(160, 120), view(2).mapToGlobal(QPoint(160, 120)),
                     Qt::NoButton, Qt::RightButton, Qt::NoModifier);
    QApplication::sendEvent(&view(2), &move);
    QTest::mouseRelease(&view(2), Qt::RightButton, Qt::NoModifier, QPoint(160, 120));
    EXPECT_LT((ahead(0) - ahead(2)).norm(), 1e-12);
    find<QCheckBox>("sideTogether").setChecked(false);
    const Eigen::Vector3d own = ahead(0);
    QTest::keyClick(&view(1), Qt::Key_Left);
    EXPECT_LT((ahead(0) - own).norm(), 1e-12);
    EXPECT_GT((ahead(1) - own).norm(), 0.02);
    // Together again: all as the one moved last.
    const Eigen::Vector3d moved = ahead(1);
    find<QCheckBox>("sideTogether").setChecked(true);
    EXPECT_LT((ahead(0) - moved).norm(), 1e-12);
    EXPECT_LT((ahead(2) - moved).norm(), 1e-12);
}

TEST_F(Beside, FrameAndViewButtonsGoToAll) {
    QTest::keyClick(&view(0), Qt::Key_Plus);
    const double nearer = scale(2);
    QTest::keyClick(&view(2), Qt::Key_Home);
    ASSERT_TRUE(waitFor([&] { return scale(0) > nearer; }));
    EXPECT_DOUBLE_EQ(scale(1), scale(2));
    QTest::mouseClick(beside_->findChild<QWidget*>("sideFromTable"), Qt::LeftButton);
    // View 2 moved last; its first stone leads.
    const Eigen::Vector3d table =
        sides_[2].layout.main().placement.rotation * Eigen::Vector3d::UnitZ();
    for (const int k : {0, 1, 2})
        EXPECT_LT((ahead(k) + table).norm(), 1e-9);
    find<QCheckBox>("sideTogether").setChecked(false);
    QTest::mouseClick(beside_->findChild<QWidget*>("sideFromSide"), Qt::LeftButton);
    for (const int k : {0, 1, 2})
        EXPECT_NEAR(
            ahead(k).dot(sides_[static_cast<std::size_t>(k)].layout.main().placement.rotation *
                         Eigen::Vector3d::UnitY()),
            1.0, 1e-9);
}

TEST_F(Beside, OneSectionOpensAll) {
    std::vector<QImage> before;
    for (int k = 0; k < 3; ++k)
        before.push_back(view(k).picture(200, 150));
    EXPECT_FALSE(find<QSlider>("sideDepth").isEnabled());
    find<QCheckBox>("sideSection").setChecked(true);
    EXPECT_TRUE(find<QSlider>("sideDepth").isEnabled());
    find<QComboBox>("sideAcross").setCurrentIndex(2);
    for (int k = 0; k < 3; ++k)
        EXPECT_GT(meanDifference(view(k).picture(200, 150), before[static_cast<std::size_t>(k)]),
                  1.0);
    const QImage middle = view(2).picture(200, 150);
    find<QSlider>("sideDepth").setValue(120);
    EXPECT_GT(meanDifference(view(2).picture(200, 150), middle), 0.5);
    find<QCheckBox>("sideSection").setChecked(false);
    for (int k = 0; k < 3; ++k)
        EXPECT_LT(meanDifference(view(k).picture(200, 150), before[static_cast<std::size_t>(k)]),
                  0.2);
}

TEST_F(Beside, TheTableTellsDifferencesToTheBaseAndTheBest) {
    auto& table = find<QTableWidget>("differencesTable");
    ASSERT_EQ(table.rowCount(), 6);
    ASSERT_EQ(table.columnCount(), 3);
    const auto text = [&](int row, int column) { return table.item(row, column)->text(); };
    const QString nbsp(QChar::Nbsp);
    EXPECT_EQ(text(0, 0), "4.45" + nbsp + "ct");
    EXPECT_EQ(text(0, 1),
              QString::fromUtf8("◆") + nbsp + "5.20" + nbsp + "ct   (+0.75" + nbsp + "ct)");
    EXPECT_TRUE(table.item(0, 1)->font().bold());
    EXPECT_FALSE(table.item(0, 0)->font().bold());
    EXPECT_TRUE(text(3, 1).contains("the price table has no row for 0.31 ct"));
    EXPECT_TRUE(text(2, 2).contains("VS1"));
    EXPECT_TRUE(text(2, 2).contains("1 step worse"));
    EXPECT_TRUE(text(2, 0).startsWith(QString::fromUtf8("◆")));
    EXPECT_TRUE(text(4, 0).startsWith(QString::fromUtf8("◆")));  // least time
    for (int column = 0; column < 3; ++column)
        EXPECT_FALSE(text(5, column).contains(QString::fromUtf8("◆")));
    EXPECT_TRUE(table.item(0, 1)->data(Qt::AccessibleTextRole).toString().contains("best"));
    QSignalSpy base(beside_.get(), &SideBySide::baseChanged);
    find<QComboBox>("differencesBase").setCurrentIndex(1);
    ASSERT_EQ(base.count(), 1);
    EXPECT_TRUE(table.horizontalHeaderItem(1)->text().contains("base"));
    EXPECT_TRUE(text(0, 0).contains(QString::fromUtf8("(−0.75")));
    EXPECT_FALSE(text(3, 0).contains("("));  // the base has no value
    beside_->setBeingComputed("The figures are being computed");
    EXPECT_TRUE(find<QLabel>("differencesBusy").isVisible());
    EXPECT_FALSE(table.isEnabled());
    beside_->setBeingComputed({});
    EXPECT_TRUE(table.isEnabled());
    auto wrong = rows();
    wrong[0].values.pop_back();
    EXPECT_THROW(beside_->displayFigures(wrong), Error);
}

TEST_F(Beside, AComparisonFromCoreStandsInTableAndChart) {
    const RoughCutter cutter(stone_->rough);
    std::vector<WholeLayout> whole;
    for (const Layout& layout : layouts())
        whole.push_back(weighWhole(*stone_, cutter, layout));
    const Comparison comparison = compareLayouts(whole, 1);
    beside_->displayComparison(comparison);
    auto& table = find<QTableWidget>("differencesTable");
    ASSERT_EQ(table.rowCount(), static_cast<int>(comparison.rows.size()));
    EXPECT_EQ(beside_->table()->base(), 1);
    const QString mark = QString::fromUtf8("◆");
    int missing = 0;
    int best = 0;
    for (std::size_t r = 0; r < comparison.rows.size(); ++r) {
        for (std::size_t c = 0; c < 3; ++c) {
            const ComparedCell& cell = comparison.rows[r].cells[c];
            const auto* item = table.item(static_cast<int>(r), static_cast<int>(c));
            // The mark of the table is that of the comparison.
            EXPECT_EQ(item->text().startsWith(mark), cell.best)
                << comparison.rows[r].title << " " << c;
            best += cell.best ? 1 : 0;
            if (cell.value) continue;
            ++missing;
            EXPECT_TRUE(item->text().contains(QString::fromStdString(cell.text)));
        }
    }
    EXPECT_GT(best, 0);
    EXPECT_GT(missing, 0);  // the quick form knows no value
    const ChartContent rowsChart = chartOf(comparison);
    EXPECT_EQ(rowsChart.figures.size(), comparison.rows.size());
    const ChartContent points = chartOf(comparison.points);
    ASSERT_EQ(points.candidates.size(), 3u);
    CandidatePlot plot;
    plot.display(points.figures, points.candidates);
    plot.display(rowsChart.figures, rowsChart.candidates);
    EXPECT_NEAR(*points.candidates[1].values[0].value, whole[1].finished_ct, 1e-12);
    EXPECT_FALSE(points.candidates[1].values[1].value);
    EXPECT_FALSE(points.candidates[1].values[1].missing.isEmpty());
}

TEST(ComparisonViews, ClarityIsInWordsOverItsRank) {
    Comparison comparison;
    comparison.names = {"one", "two"};
    comparison.rows = {{"Clarity", "", 0, macle::Better::Lower, "the lowest counts", {}},
                       {"Facets", "", 0, macle::Better::Neither, "", {}}};
    comparison.rows[0].cells = {{3.0, "VVS2, VS1", false, {}, ""}, {2.0, "VVS2", true, {}, ""}};
    comparison.rows[1].cells = {{114.0, "114", false, {}, ""}, {57.0, "57", false, {}, ""}};
    const auto shown = shownRows(comparison);
    EXPECT_EQ(shown[0].values[0].words, "VVS2, VS1");
    EXPECT_EQ(valueText(shown[0].figure, 3.0, QLocale::c()), "VS1");
    EXPECT_EQ(bestOf(shown[0].figure, shown[0].values), (std::vector<int>{1}));
    EXPECT_EQ(shown[0].note, "the lowest counts");
    EXPECT_TRUE(shown[1].figure.steps.empty());
    EXPECT_TRUE(shown[1].values[0].words.isEmpty());
}

TEST_F(Beside, ALayoutIsChosenByItsButtonAndByEnter) {
    QSignalSpy chosen(beside_.get(), &SideBySide::layoutChosen);
    beside_->pane(1)->findChild<QPushButton*>("sideChoose")->click();
    QTest::keyClick(&view(2), Qt::Key_Return);
    ASSERT_EQ(chosen.count(), 2);
    EXPECT_EQ(chosen.at(0).at(0).toInt(), 1);
    EXPECT_EQ(chosen.at(1).at(0).toInt(), 2);
}

TEST_F(Beside, FewerThanTwoAskForMoreAndMoreThanFourShowFour) {
    beside_->display(stone_, {sides_[0]});
    EXPECT_EQ(beside_->shown(), 0);
    EXPECT_TRUE(find<QLabel>("sideEmpty").isVisible());
    beside_->display(nullptr, sides_);
    EXPECT_EQ(beside_->shown(), 0);
    beside_->display(stone_, {sides_[0], sides_[1], sides_[2], sides_[0], sides_[1]});
    EXPECT_EQ(beside_->shown(), 4);
    EXPECT_FALSE(find<QLabel>("sideEmpty").isVisible());
    beside_->display(stone_, {sides_[1], sides_[0]});
    EXPECT_EQ(beside_->shown(), 2);
    EXPECT_EQ(find<QTableWidget>("differencesTable").rowCount(), 0);
    QTest::qWait(50);
    QTest::keyClick(&view(0), Qt::Key_Right);
    EXPECT_LT((ahead(0) - ahead(1)).norm(), 1e-12);
}

TEST_F(Beside, Pictures) {
    make(render::Theme::Light, {1280, 800});
    expectPicture(photograph(), "beside_light");
    make(render::Theme::Dark, {1280, 800});
    find<QCheckBox>("sideSection").setChecked(true);
    find<QComboBox>("sideAcross").setCurrentIndex(2);
    expectPicture(photograph(), "beside_section_dark");
}

TEST_F(Beside, ACommaLanguageHasCommas) {
    QLocale::setDefault(QLocale(QLocale::German, QLocale::Germany));
    make();
    EXPECT_TRUE(beside_->pane(0)->findChild<QLabel*>("sideFacts")->text().contains("4,45"));
    EXPECT_TRUE(find<QTableWidget>("differencesTable").item(0, 0)->text().contains("4,45"));
}

}  // namespace
}  // namespace macle::app::test
