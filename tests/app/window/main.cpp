#include <gtest/gtest.h>

#include <QApplication>
#include <QSettings>
#include <QSurfaceFormat>
#include <QTemporaryDir>
#include <clocale>

#include "app/window/stone_view.h"
#include "app/window/theme.h"

int main(int argc, char** argv) {
    testing::InitGoogleTest(&argc, argv);
    if (testing::GTEST_FLAG(list_tests)) return RUN_ALL_TESTS();
    QCoreApplication::setAttribute(Qt::AA_ShareOpenGLContexts);
    // The file dialogs of a desktop cannot be typed into from here.
    QCoreApplication::setAttribute(Qt::AA_DontUseNativeDialogs);
    QSurfaceFormat::setDefaultFormat(macle::app::StoneView::surfaceFormat());
    QApplication application(argc, argv);
    std::setlocale(LC_NUMERIC, "C");
    QCoreApplication::setOrganizationName("Macle");
    QCoreApplication::setApplicationName("MacleTest");
    // The settings of the person who runs the tests are left alone.
    const QTemporaryDir settings;
    QSettings::setDefaultFormat(QSettings::IniFormat);
    QSettings::setPath(QSettings::IniFormat, QSettings::UserScope, settings.path());
    // As are their drafts.
    qputenv("MACLE_DRAFTS", (settings.path() + "/drafts").toLocal8Bit());
    QLocale::setDefault(QLocale::c());
    macle::app::rememberSystemTheme();
    return RUN_ALL_TESTS();
}
