// Numbers, readouts, defects, limits and the stone report.
#include <QAbstractButton>
#include <QAction>
#include <QComboBox>
#include <QDialog>
#include <QLabel>
#include <QLineEdit>
#include <QListWidget>
#include <QTest>
#include <QTreeWidget>

#include "app/window/angles.h"
#include "app/window/number_box.h"
#include "core/cut/library.h"
#include "desk.h"

namespace macle::app::test {
namespace {

class Panels : public Desk {
  protected:
    void SetUp() override {
        Desk::SetUp();
        openSampleStone();
    }
};

TEST_F(Panels, EveryProportionOfTheLibraryHasAFieldWithItsRangeAndUnit) {
    for (const ProportionInfo& info : findCut(layout().main().cut).proportions) {
        auto* box = find<NumberBox>(("proportion_" + info.key).c_str());
        ASSERT_NE(box, nullptr);
        EXPECT_DOUBLE_EQ(box->minimum(), info.low) << info.key;
        EXPECT_DOUBLE_EQ(box->maximum(), info.high) << info.key;
        EXPECT_EQ(box->suffix().trimmed(),
                  info.unit == "deg" ? "°" : QString::fromStdString(info.unit));
    }
}

TEST_F(Panels, EveryCutCanBeChosenByItsPictureAndShowsItsOwnProportionsAndProfile) {
    auto* choice = find<QComboBox>("cutChoice");
    auto* profile = find<QWidget>("profileView");
    ASSERT_EQ(choice->count(), static_cast<int>(cutLibrary().size()));
    QStringList seen;
    for (int index = 0; index < choice->count(); ++index) {
        EXPECT_FALSE(choice->itemIcon(index).isNull()) << index;
        choice->setCurrentIndex(index);
        Q_EMIT choice->activated(index);
        const std::string name = choice->itemData(index).toString().toStdString();
        EXPECT_EQ(layout().main().cut, name);
        for (const ProportionInfo& info : findCut(name).proportions)
            EXPECT_NE(find<NumberBox>(("proportion_" + info.key).c_str()), nullptr) << info.key;
        EXPECT_FALSE(seen.contains(profile->accessibleDescription())) << name;
        seen << profile->accessibleDescription();
    }
    choice->setCurrentIndex(0);
    Q_EMIT choice->activated(0);
    type("proportion_table_percent", "60");
    EXPECT_TRUE(profile->accessibleDescription().contains("table 60.0 %"))
        << profile->accessibleDescription().toStdString();
}

TEST_F(Panels, TypedNumbersArriveExactlyAndOthersKeepTheirDigits) {
    const Placement before = layout().main().placement;
    type("centreY", "0.125");
    EXPECT_EQ(layout().main().placement.translation_mm.y(), 0.125);
    EXPECT_EQ(layout().main().placement.translation_mm.x(), before.translation_mm.x());
    EXPECT_EQ(layout().main().placement.size_mm, before.size_mm);
    type("tilt", "30");
    type("azimuth", "45");
    type("spin", "10");
    EXPECT_LT(turnBetween_deg(layout().main().placement.rotation, rotationOf({30.0, 45.0, 10.0})),
              1e-9);
    EXPECT_DOUBLE_EQ(find<NumberBox>("azimuth")->value(), 45.0);
    type("proportion_crown_deg", "33");
    EXPECT_EQ(layout().main().proportions.at("crown_deg"), 33.0);
}

TEST_F(Panels, AFieldThatIsOnlyVisitedChangesNothing) {
    for (NumberBox* box : window().findChildren<NumberBox*>()) {
        box->setFocus();
        QTest::keyClick(box, Qt::Key_Return);
        box->clearFocus();
    }
    EXPECT_EQ(history().count(), 0);
}

TEST_F(Panels, ProportionsThatCannotMeetAreRefusedInWordsAndTheFieldComesBack) {
    // A high crown over a tiny table meets in a point before the table is reached.
    const double crown = find<NumberBox>("proportion_crown_deg")->value();
    const int steps = history().count();
    window().findChild<CutPanel*>("cutPanel")->proportionEdited("crown_deg", "Crown", 89.0);
    EXPECT_TRUE(find<QLabel>("editTrouble")->isVisible());
    EXPECT_FALSE(text("editTrouble").isEmpty());
    EXPECT_EQ(find<NumberBox>("proportion_crown_deg")->value(), crown);
    EXPECT_EQ(history().count(), steps);
}

TEST_F(Panels, WeightsShowTwoDecimalsAndThreeWhenAsked) {
    const auto decimals = [this] {
        const QString number = text("weight").split(QChar(QChar::Nbsp)).front();
        return number.size() - number.indexOf('.') - 1;
    };
    EXPECT_EQ(decimals(), 2);
    action("thirdDecimal")->trigger();
    EXPECT_EQ(decimals(), 3);
    EXPECT_TRUE(find<QLabel>("weight")->toolTip().contains("ct"));
}

TEST_F(Panels, ACutThatPokesOutSaysWhatIsMissing) {
    type("size", "14");
    waitForRest();
    EXPECT_TRUE(find<QLabel>("pokes")->isVisible());
    EXPECT_TRUE(text("pokes").contains("missing"));
    EXPECT_TRUE(text("fit").startsWith("Too large here"));
}

TEST_F(Panels, DefectsAreListedAndTheirPolicyIsAnUndoableEdit) {
    auto* list = find<QTreeWidget>("defects");
    const auto& defects = window().document().stone()->defects;
    ASSERT_EQ(list->topLevelItemCount(), static_cast<int>(defects.size()));
    ASSERT_GT(defects.size(), 0U);
    for (int i = 0; i < list->topLevelItemCount(); ++i)
        EXPECT_EQ(list->topLevelItem(i)->text(0).toStdString(),
                  defects[static_cast<std::size_t>(i)].name);
    list->setCurrentItem(list->topLevelItem(0));
    list->setFocus();
    QTest::keyClick(list, Qt::Key_F2);
    QComboBox* editor = nullptr;
    ASSERT_TRUE(
        waitFor([&] { return (editor = list->findChild<QComboBox*>("policyEditor")) != nullptr; }));
    const DefectPolicy before = defects.front().policy;
    EXPECT_EQ(list->findChild<QLineEdit*>(), nullptr);  // only the policy is edited
    const int other = before == DefectPolicy::MustBeCutAway ? 1 : 0;
    editor->setCurrentIndex(other);
    Q_EMIT editor->activated(other);
    ASSERT_TRUE(waitFor([&] { return history().count() == 1; }));
    EXPECT_NE(window().document().stone()->defects.front().policy, before);
    waitForRest();
    EXPECT_EQ(list->topLevelItem(0)->text(3).toStdString(),
              policyName(window().document().stone()->defects.front().policy));
    history().undo();
    waitForRest();
    EXPECT_EQ(window().document().stone()->defects.front().policy, before);
}

TEST_F(Panels, ALimitThatIsChosenIsMarkedAlone) {
    auto* limits = find<QListWidget>("limits");
    ASSERT_GT(limits->count(), 0);
    limits->setFocus();
    limits->setCurrentRow(0);
    EXPECT_EQ(limits->selectedItems().size(), 1);
    EXPECT_FALSE(limits->item(0)->text().isEmpty());
    EXPECT_TRUE(limits->item(0)->toolTip().contains("mm"));
}

TEST_F(Panels, TheReportWeighsTheScanAgainstTheScale) {
    action("report")->trigger();
    QDialog* dialog = nullptr;
    ASSERT_TRUE(waitFor(
        [&] { return (dialog = window().findChild<QDialog*>("reportDialog")) != nullptr; }));
    auto* scale = dialog->findChild<NumberBox*>("scaleWeight");
    auto* verdict = dialog->findChild<QLabel*>("weighInVerdict");
    const double scan = scanWeight_ct(*window().document().stone());
    const auto weigh = [&](double ct) {
        scale->setFocus();
        scale->selectAll();
        QTest::keyClicks(scale, QString::number(ct, 'f', 3));
        QTest::keyClick(scale, Qt::Key_Return);
    };
    weigh(scan);
    EXPECT_FALSE(verdict->text().contains("Check the scan")) << verdict->text().toStdString();
    weigh(scan * 1.02);
    EXPECT_TRUE(verdict->text().contains("Check the scan")) << verdict->text().toStdString();
    EXPECT_TRUE(verdict->text().contains("lighter"));
    dialog->findChild<QLineEdit*>("stoneName")->setText("Quiet harbour");
    dialog->accept();
    QTest::qWait(20);
    EXPECT_NEAR(window().document().stone()->scale_ct.value_or(0.0), scan * 1.02, 6e-4);
    EXPECT_EQ(window().document().stone()->name, "Quiet harbour");
    EXPECT_EQ(history().count(), 2);
    EXPECT_TRUE(window().windowTitle().contains("Quiet harbour"));
}

TEST_F(Panels, EveryControlCanBeReachedAndNamed) {
    for (QWidget* widget : window().findChildren<QWidget*>()) {
        if (!widget->isVisible() || (widget->focusPolicy() & Qt::TabFocus) == 0) continue;
        if (widget->objectName().startsWith("qt_")) continue;
        QString name = widget->accessibleName();
        if (auto* button = qobject_cast<QAbstractButton*>(widget)) name = button->text();
        if (qobject_cast<QLabel*>(widget) != nullptr) continue;
        EXPECT_FALSE(name.isEmpty())
            << widget->metaObject()->className() << " " << widget->objectName().toStdString();
    }
}

}  // namespace
}  // namespace macle::app::test
