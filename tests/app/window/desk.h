// A window on a desk: what the tests of the window share.
#pragma once

#include <gtest/gtest.h>

#include <QImage>
#include <QTemporaryDir>
#include <functional>
#include <memory>

#include "app/window/main_window.h"

namespace macle::app::test {

inline constexpr int kPatience_ms = 60000;

// Lets events run until the condition holds; false when patience ends first.
bool waitFor(const std::function<bool()>& condition, int patience_ms = kPatience_ms);

class Desk : public testing::Test {
  protected:
    void SetUp() override;
    void TearDown() override;

    // A fresh window on the screen; replaces the one before.
    void newWindow();
    MainWindow& window() { return *window_; }
    StoneView& view() { return *window_->view(); }
    const Layout& layout() { return window_->document().layout(); }
    EditHistory& history() { return *window_->document().history(); }

    template <class Widget>
    Widget* find(const char* name) {
        auto* found = window_->findChild<Widget*>(name);
        EXPECT_NE(found, nullptr) << name;
        return found;
    }
    QAction* action(const char* name) { return find<QAction>(name); }
    QString text(const char* label);
    QString file(const char* name) const { return folder_.filePath(name); }

    void openSampleStone();  // by its button, until the figures stand
    bool atRest();           // no job, no figures under way
    void waitForRest();
    // Types into a number field, ended by Enter.
    void type(const char* field, const char* number);
    void drag(const QPoint& from, const QPoint& by, Qt::MouseButton button,
              Qt::KeyboardModifiers modifiers = Qt::NoModifier, bool release = true);
    // The sample's round at a good place, by numbers: no search, so no way it goes.
    void placeByNumbers();
    // Waits for the error message and closes it; its text.
    QString takeError();

  private:
    QTemporaryDir folder_;
    std::unique_ptr<MainWindow> window_;
};

// Writes the picture beside the test and compares it with the reference of that name.
void expectPicture(const QImage& picture, const std::string& name);

// Mean absolute difference of two pictures of one size, 0..255.
double meanDifference(const QImage& a, const QImage& b);

}  // namespace macle::app::test
