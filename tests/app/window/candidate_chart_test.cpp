// The chart of the candidates as a widget of its own.
#include "app/window/candidate_chart.h"

#include <gtest/gtest.h>

#include <QComboBox>
#include <QLabel>
#include <QSignalSpy>
#include <QTest>
#include <cmath>
#include <random>

#include "app/window/theme.h"
#include "core/base/error.h"
#include "desk.h"

namespace macle::app::test {
namespace {

std::vector<ShownFigure> figures() {
    return {{"Weight", "ct", 2, Merit::More, {}},
            {"Value", "demo", 0, Merit::More, {}},
            {"Clarity", "", 0, Merit::Less, {"FL", "IF", "VVS1", "VVS2", "VS1", "VS2", "SI1"}},
            {"Colour", "", 0, Merit::Less, {"D", "E", "F", "G", "H"}},
            {"Time on the machines", "min", 0, Merit::Less, {}},
            {"Recovery", "%", 1, Merit::More, {}}};
}

ChartCandidate candidate(const char* name, bool isLayout, std::vector<double> values,
                         int without = -1) {
    ChartCandidate one{name, isLayout ? "draft" : "found by the search", isLayout, {}};
    for (const double value : values)
        one.values.push_back({value, {}, {}});
    if (without >= 0) one.values[static_cast<std::size_t>(without)] = {{}, "no price table", {}};
    return one;
}

std::vector<ChartCandidate> candidates() {
    std::vector<ChartCandidate> all = {
        candidate("Layout 1", true, {4.45, 10900, 2, 1, 260, 23.4}),
        candidate("Two rounds along the cleavage", true, {6.81, 12480, 4, 1, 415, 35.9}),
        candidate("Layout 3", true, {5.90, 0, 3, 2, 388, 31.0}, 1)};
    std::mt19937 random(3);
    const auto draw = [&](double low, double high) {
        return low + (high - low) * static_cast<double>(random() >> 8) / 16777216.0;
    };
    for (int k = 0; k < 14; ++k) {
        const double ct = draw(3.9, 7.2);
        all.push_back(candidate(qPrintable(QString("Candidate %1").arg(k + 1)), false,
                                {ct, 2400.0 * ct - draw(0, 4000), std::floor(draw(1, 6.99)),
                                 std::floor(draw(0, 3.99)), draw(240, 460), ct / 0.19},
                                k == 4 ? 4 : -1));
    }
    return all;
}

TEST(ChartScale, TicksAreRoundAndHoldTheValues) {
    std::mt19937_64 random(1);
    std::uniform_real_distribution<double> power(-3.0, 6.0);
    std::uniform_real_distribution<double> share(-1.0, 1.0);
    for (int k = 0; k < 3000; ++k) {
        double low = share(random) * std::pow(10.0, power(random));
        double high = share(random) * std::pow(10.0, power(random));
        if (high < low) std::swap(low, high);
        const int most = 3 + k % 8;
        const ChartScale scale = roundScale(low, high, most);
        ASSERT_GE(scale.ticks.size(), 2u);
        ASSERT_LE(scale.ticks.size(), static_cast<std::size_t>(most));
        const double step = scale.ticks[1] - scale.ticks[0];
        EXPECT_LE(scale.low, low + 1e-6 * step);
        EXPECT_GE(scale.high, high - 1e-6 * step);
        const double lead = step / std::pow(10.0, std::floor(std::log10(step) + 1e-6));
        EXPECT_LT(std::min({std::abs(lead - 1.0), std::abs(lead - 2.0), std::abs(lead - 5.0)}),
                  1e-6)
            << low << " .. " << high;
        for (const double tick : scale.ticks) {
            const double multiple = tick / step;
            EXPECT_NEAR(multiple, std::round(multiple), 1e-6);
            const double shown = std::pow(10.0, scale.decimals) * tick;
            EXPECT_NEAR(shown, std::round(shown), 1e-6 * std::max(1.0, std::abs(shown)));
        }
    }
}

TEST(ChartScale, OneValueAndNoneHaveRoom) {
    for (const double value : {0.0, 4.45, -3.0, 1e9}) {
        const ChartScale scale = roundScale(value, value, 6);
        EXPECT_LT(scale.low, value);
        EXPECT_GT(scale.high, value);
        EXPECT_GT(scale.share(value), 0.0);
    }
    const double infinite = std::numeric_limits<double>::infinity();
    EXPECT_EQ(roundScale(infinite, -infinite, 5).ticks.size(), 2u);
    EXPECT_EQ(stepScale(2, 5, 9).ticks, (std::vector<double>{2, 3, 4, 5}));
    EXPECT_LE(stepScale(0, 40, 6).ticks.size(), 6u);
    EXPECT_EQ(stepScale(3, 3, 6).ticks.size(), 2u);
}

class Chart : public testing::Test {
  protected:
    void SetUp() override { make(); }
    void TearDown() override {
        chart_.reset();
        applyTheme(render::Theme::Light);
        QLocale::setDefault(QLocale::c());
    }
    void make(render::Theme theme = render::Theme::Light) {
        applyTheme(theme);
        chart_ = std::make_unique<CandidateChart>();
        chart_->resize(800, 500);
        chart_->show();
        ASSERT_TRUE(QTest::qWaitForWindowExposed(chart_.get()));
        chart_->display(figures(), candidates());
    }
    CandidatePlot& plot() { return *chart_->plot(); }
    QComboBox& box(const char* name) { return *chart_->findChild<QComboBox*>(name); }
    QImage photograph() {
        QTest::qWait(30);
        return chart_->grab().toImage();
    }
    // Every text is whole within the widget, and texts do not run into one another.
    void expectLabelsClear() {
        plot().grab();
        const QRectF all(plot().rect());
        const auto& labels = plot().labels();
        EXPECT_GT(labels.size(), 3u);
        for (std::size_t a = 0; a < labels.size(); ++a) {
            EXPECT_TRUE(all.contains(labels[a]));
            for (std::size_t b = a + 1; b < labels.size(); ++b)
                EXPECT_FALSE(
                    labels[a].adjusted(1, 1, -1, -1).intersects(labels[b].adjusted(1, 1, -1, -1)))
                    << a << " and " << b << " at width " << plot().width();
        }
    }

    std::unique_ptr<CandidateChart> chart_;
};

TEST_F(Chart, BetterIsUpAndToTheRight) {
    box("chartAcross").setCurrentText("Weight");
    box("chartUp").setCurrentText("Clarity");
    const QPointF one = plot().spots(0).front();    // 4.45 ct VVS1
    const QPointF two = plot().spots(1).front();    // 6.81 ct VS1
    const QPointF three = plot().spots(2).front();  // 5.90 ct VVS2
    EXPECT_LT(one.x(), three.x());
    EXPECT_LT(three.x(), two.x());
    EXPECT_LT(one.y(), three.y());
    EXPECT_LT(three.y(), two.y());
    box("chartAcross").setCurrentText("Time on the machines");
    EXPECT_GT(plot().spots(0).front().x(), plot().spots(1).front().x());  // less time is better
    // Along the axis as the values are: weights 4.45, 5.90, 6.81.
    EXPECT_NEAR((three.x() - one.x()) / (two.x() - one.x()), (5.90 - 4.45) / (6.81 - 4.45), 1e-6);
}

TEST_F(Chart, AMissingValueStandsInABandOfItsOwn) {
    box("chartAcross").setCurrentText("Value");
    box("chartUp").setCurrentText("Time on the machines");
    double left = 1e9;
    double low = 0.0;
    for (std::size_t k = 0; k < plot().candidates().size(); ++k) {
        const QPointF at = plot().spots(static_cast<int>(k)).front();
        if (k != 2) left = std::min(left, at.x());
        if (k != 7) low = std::max(low, at.y());
    }
    EXPECT_LT(plot().spots(2).front().x(), left - 8.0);
    EXPECT_GT(plot().spots(7).front().y(), low + 8.0);
    EXPECT_TRUE(plot().tip(2).contains("Value: none: no price table"));
    chart_->setForm(ChartForm::Lines);
    EXPECT_GT(plot().spots(2)[1].y(), plot().spots(0)[1].y());
    expectLabelsClear();
}

TEST_F(Chart, LabelsAreWholeAtAnySize) {
    for (const QSize& size :
         {QSize(800, 500), QSize(420, 300), QSize(1500, 900), QSize(560, 700)}) {
        chart_->resize(size);
        chart_->setForm(ChartForm::Points);
        for (int x = 0; x < 6; ++x) {
            plot().setAxes(x, (x + 3) % 6);
            plot().setChosen(1);
            expectLabelsClear();
        }
        if (size.width() < 560) continue;  // six axes need the room
        chart_->setForm(ChartForm::Lines);
        expectLabelsClear();
    }
}

TEST_F(Chart, AClickChoosesAndTheTipTellsAllFigures) {
    QSignalSpy chosen(chart_.get(), &CandidateChart::candidateChosen);
    QTest::mouseClick(&plot(), Qt::LeftButton, Qt::NoModifier, plot().spots(1).front().toPoint());
    ASSERT_EQ(chosen.count(), 1);
    EXPECT_EQ(chosen.at(0).at(0).toInt(), 1);
    EXPECT_EQ(plot().chosen(), 1);
    const QString tip = plot().tip(1);
    for (const char* part :
         {"Two rounds along the cleavage (draft)", "Clarity: VS1", "Value: 12480"})
        EXPECT_TRUE(tip.contains(part)) << tip.toStdString();
    EXPECT_TRUE(plot().accessibleDescription().contains("Two rounds"));
    // Beside everything nothing is chosen.
    QTest::mouseClick(&plot(), Qt::LeftButton, Qt::NoModifier, QPoint(3, 3));
    EXPECT_EQ(chosen.count(), 1);
    chart_->setForm(ChartForm::Lines);
    const auto line = plot().spots(0);
    QTest::mouseClick(&plot(), Qt::LeftButton, Qt::NoModifier, line[5].toPoint());
    ASSERT_EQ(chosen.count(), 2);
    EXPECT_EQ(chosen.at(1).at(0).toInt(), 0);
    QSignalSpy asked(chart_.get(), &CandidateChart::candidateAsked);
    QTest::mouseDClick(&plot(), Qt::LeftButton, Qt::NoModifier, line[5].toPoint());
    EXPECT_EQ(asked.count(), 1);
}

TEST_F(Chart, TheArrowKeysGoThroughAllFromLeftToRight) {
    QSignalSpy chosen(chart_.get(), &CandidateChart::candidateChosen);
    plot().setFocus();
    QTest::keyClick(&plot(), Qt::Key_Home);
    std::vector<int> seen = {plot().chosen()};
    for (std::size_t k = 1; k < plot().candidates().size(); ++k) {
        const double before = plot().spots(plot().chosen()).front().x();
        QTest::keyClick(&plot(), Qt::Key_Right);
        EXPECT_GE(plot().spots(plot().chosen()).front().x(), before);
        seen.push_back(plot().chosen());
    }
    std::sort(seen.begin(), seen.end());
    EXPECT_EQ(std::unique(seen.begin(), seen.end()), seen.end());
    EXPECT_EQ(chosen.count(), static_cast<int>(seen.size()));
    const int last = plot().chosen();
    QTest::keyClick(&plot(), Qt::Key_Right);
    EXPECT_EQ(plot().chosen(), last);
    QTest::keyClick(&plot(), Qt::Key_Left);
    EXPECT_NE(plot().chosen(), last);
    QSignalSpy asked(chart_.get(), &CandidateChart::candidateAsked);
    QTest::keyClick(&plot(), Qt::Key_Return);
    EXPECT_EQ(asked.count(), 1);
}

TEST_F(Chart, NewCandidatesKeepTheFigureChosen) {
    box("chartUp").setCurrentText("Recovery");
    auto fewer = candidates();
    fewer.resize(2);
    plot().setChosen(5);
    chart_->display(figures(), fewer);
    EXPECT_EQ(box("chartUp").currentText(), "Recovery");
    EXPECT_EQ(plot().chosen(), -1);
    fewer.front().values.pop_back();
    EXPECT_THROW(chart_->display(figures(), fewer), Error);
    chart_->display({}, {});
    EXPECT_FALSE(chart_->grab().isNull());
    EXPECT_EQ(plot().candidateAt({50, 50}), -1);
    QTest::keyClick(&plot(), Qt::Key_Right);
    EXPECT_EQ(plot().chosen(), -1);
    chart_->setBeingComputed("The figures are being computed");
    EXPECT_TRUE(chart_->findChild<QLabel*>("chartBusy")->isVisible());
    // One candidate, nothing known of it.
    ChartCandidate bare{"Bare", "", true, {}};
    bare.values.assign(6, ShownValue{{}, "not computed", {}});
    chart_->display(figures(), {bare});
    expectLabelsClear();
    chart_->setForm(ChartForm::Lines);
    expectLabelsClear();
}

TEST_F(Chart, Pictures) {
    for (const bool dark : {false, true}) {
        make(dark ? render::Theme::Dark : render::Theme::Light);
        const std::string theme = dark ? "_dark" : "_light";
        plot().setChosen(1);
        box("chartUp").setCurrentText("Value");
        expectPicture(photograph(), "chart_points" + theme);
        chart_->setForm(ChartForm::Lines);
        expectPicture(photograph(), "chart_lines" + theme);
    }
}

TEST_F(Chart, ACommaLanguageHasCommas) {
    QLocale::setDefault(QLocale(QLocale::German, QLocale::Germany));
    make();
    EXPECT_TRUE(plot().tip(0).contains("4,45"));
    EXPECT_FALSE(plot().tip(0).contains("4.45"));
}

}  // namespace
}  // namespace macle::app::test
