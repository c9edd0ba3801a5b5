#include "desk.h"

#include <QApplication>
#include <QLabel>
#include <QLineEdit>
#include <QMessageBox>
#include <QPushButton>
#include <QSettings>
#include <QTest>
#include <cstdlib>

#include "app/window/number_box.h"

namespace macle::app::test {

bool waitFor(const std::function<bool()>& condition, int patience_ms) {
    return QTest::qWaitFor(condition, patience_ms);
}

void Desk::SetUp() {
    QSettings().clear();
    newWindow();
}

void Desk::TearDown() {
    window_.reset();
    QLocale::setDefault(QLocale::c());
}

void Desk::newWindow() {
    window_ = std::make_unique<MainWindow>();
    window_->setThemeChoice(ThemeChoice::Light);
    window_->resize(1000, 660);
    window_->move(20, 20);
    window_->show();
    ASSERT_TRUE(QTest::qWaitForWindowExposed(window_.get(), kPatience_ms));
    window_->activateWindow();
    QApplication::setActiveWindow(window_.get());
}

QString Desk::text(const char* label) {
    auto* found = find<QLabel>(label);
    return found != nullptr ? found->text() : QString();
}

bool Desk::atRest() {
    return !window_->jobRunning() && !window_->workshop().busy();
}

void Desk::waitForRest() {
    ASSERT_TRUE(waitFor([this] { return atRest(); }));
    QTest::qWait(20);
    ASSERT_TRUE(waitFor([this] { return atRest(); }));
}

void Desk::openSampleStone() {
    QTest::mouseClick(find<QPushButton>("welcomeSample"), Qt::LeftButton);
    ASSERT_TRUE(waitFor([this] { return window_->document().isOpen(); }));
    waitForRest();
}

void Desk::type(const char* field, const char* number) {
    auto* box = find<NumberBox>(field);
    ASSERT_NE(box, nullptr);
    box->setFocus();
    box->selectAll();
    QTest::keyClicks(box, number);
    QTest::keyClick(box, Qt::Key_Return);
}

void Desk::placeByNumbers() {
    type("tilt", "121.7");
    type("azimuth", "149.5");
    type("spin", "28.4");
    type("centreX", "-1.83");
    type("centreY", "1.416");
    type("centreZ", "-0.868");
    action("largestHere")->trigger();
    waitForRest();
}

void Desk::drag(const QPoint& from, const QPoint& by, Qt::MouseButton button,
                Qt::KeyboardModifiers modifiers, bool release) {
    constexpr int kSteps = 8;
    QTest::mousePress(&view(), button, modifiers, from);
    for (int i = 1; i <= kSteps; ++i) {
        const QPoint at = from + by * i / kSteps;
        QMouseEvent move(QEvent::MouseMove, at, view().mapToGlobal(at), Qt::NoButton, button,
                         modifiers);
        QApplication::sendEvent(&view(), &move);
        QTest::qWait(10);
    }
    if (release) QTest::mouseRelease(&view(), button, modifiers, from + by);
}

QString Desk::takeError() {
    QMessageBox* box = nullptr;
    if (!waitFor([&] { return (box = window_->findChild<QMessageBox*>("errorBox")) != nullptr; }))
        return {};
    const QString told = box->text() + "\n" + box->informativeText();
    box->done(0);
    QTest::qWait(20);
    return told;
}

double meanDifference(const QImage& a, const QImage& b) {
    const QImage p = a.convertToFormat(QImage::Format_RGB888);
    const QImage q = b.convertToFormat(QImage::Format_RGB888);
    if (p.size() != q.size() || p.isNull()) return 255.0;
    double sum = 0.0;
    for (int y = 0; y < p.height(); ++y) {
        const uchar* u = p.constScanLine(y);
        const uchar* v = q.constScanLine(y);
        for (int x = 0; x < 3 * p.width(); ++x)
            sum += std::abs(int{u[x]} - int{v[x]});
    }
    return sum / (3.0 * p.width() * p.height());
}

void expectPicture(const QImage& picture, const std::string& name) {
    // Fonts and drivers differ a little from machine to machine; another colour, a moved panel or
    // a missing stone differs by more than this.
    constexpr double kAllowed = 3.0;
    const QString fileName = QString::fromStdString(name + ".png");
    picture.save("full_" + fileName);
    const QImage small = picture.scaled(800, 500, Qt::IgnoreAspectRatio, Qt::SmoothTransformation)
                             .convertToFormat(QImage::Format_RGB888);
    small.save(fileName);
    const QString reference = QStringLiteral(MACLE_REFERENCE_PICTURES "/") + fileName;
    if (std::getenv("MACLE_WRITE_REFERENCES") != nullptr) {
        ASSERT_TRUE(small.save(reference)) << reference.toStdString();
        return;
    }
    const QImage wanted(reference);
    ASSERT_FALSE(wanted.isNull()) << reference.toStdString();
    EXPECT_LT(meanDifference(small, wanted), kAllowed) << name;
}

}  // namespace macle::app::test
