#include <QApplication>
#include <QSurfaceFormat>
#include <clocale>

#include "app/window/main_window.h"
#include "app/window/window.h"

namespace macle::app {

int runWindow(int argc, char** argv) {
    QCoreApplication::setAttribute(Qt::AA_ShareOpenGLContexts);
    QSurfaceFormat::setDefaultFormat(StoneView::surfaceFormat());
    QApplication application(argc, argv);
    // Qt takes over the desktop's locale for the C library too; numbers in files never follow it.
    std::setlocale(LC_NUMERIC, "C");
    QCoreApplication::setOrganizationName("Macle");
    QCoreApplication::setApplicationName("Macle");
    rememberSystemTheme();
    MainWindow window;
    window.show();
    const QStringList arguments = QCoreApplication::arguments();
    if (arguments.size() > 1)
        window.openPath(std::filesystem::path(arguments.at(1).toStdU16String()));
    window.offerRecovery();
    return QApplication::exec();
}

}  // namespace macle::app
