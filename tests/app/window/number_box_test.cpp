#include "app/window/number_box.h"

#include <gtest/gtest.h>

#include <QApplication>
#include <QSignalSpy>
#include <QTest>
#include <QWheelEvent>

namespace macle::app {
namespace {

class NumberField : public testing::TestWithParam<QLocale> {
  protected:
    void SetUp() override {
        QLocale::setDefault(GetParam());
        box_ = std::make_unique<NumberBox>();
        box_->setDecimals(2);
        box_->setRange(0.0, 99999.0);
        box_->setSuffix(" mm");
        box_->show();
    }
    void TearDown() override {
        box_.reset();
        QLocale::setDefault(QLocale::c());
    }
    void type(const char* text) {
        box_->setFocus();
        box_->selectAll();
        QTest::keyClicks(box_.get(), text);
        QTest::keyClick(box_.get(), Qt::Key_Return);
    }
    std::unique_ptr<NumberBox> box_;
};

TEST_P(NumberField, UnderstandsPointAndCommaAlike) {
    type("57.25");
    EXPECT_DOUBLE_EQ(box_->value(), 57.25);
    type("34,5");
    EXPECT_DOUBLE_EQ(box_->value(), 34.5);
    type("1234.5");
    EXPECT_DOUBLE_EQ(box_->value(), 1234.5);
}

TEST_P(NumberField, ReportsOnceWhenTheNumberIsComplete) {
    QSignalSpy edits(box_.get(), &NumberBox::edited);
    type("12.75");
    EXPECT_EQ(edits.count(), 1);
    box_->display(3.0);
    EXPECT_EQ(edits.count(), 1);
    EXPECT_EQ(box_->value(), 3.0);
}

TEST_P(NumberField, IsNotChangedByAPassingWheel) {
    box_->display(5.0);
    box_->clearFocus();
    QWheelEvent wheel(QPointF(5, 5), box_->mapToGlobal(QPointF(5, 5)), {}, {0, 120}, Qt::NoButton,
                      Qt::NoModifier, Qt::NoScrollPhase, false);
    QApplication::sendEvent(box_.get(), &wheel);
    EXPECT_EQ(box_->value(), 5.0);
}

INSTANTIATE_TEST_SUITE_P(Languages, NumberField,
                         testing::Values(QLocale(QLocale::English, QLocale::UnitedStates),
                                         QLocale(QLocale::German, QLocale::Germany),
                                         QLocale(QLocale::French, QLocale::France)),
                         [](const auto& param) {
                             return QLocale::languageToString(param.param.language()).toStdString();
                         });

}  // namespace
}  // namespace macle::app
