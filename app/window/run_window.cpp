#include <QApplication>
#include <QMessageBox>
#include <QSurfaceFormat>
#include <clocale>
#include <cstdlib>

#include "app/window/main_window.h"
#include "app/window/window.h"
#include "core/base/error.h"
#include "core/cut/library.h"

namespace macle::app {

namespace {

// The file or folder of $MACLE_CUTS, before the window lists the cuts. What went wrong, in words.
QString takeCutsOfTheWorks() {
    const char* given = std::getenv("MACLE_CUTS");
    if (given == nullptr || *given == '\0') return {};
    try {
        addCuts(given);
    } catch (const Error& error) {
        return QString::fromStdString(error.message() + "\n\n" + error.remedy());
    }
    return {};
}

}  // namespace

int runWindow(int argc, char** argv) {
    QCoreApplication::setAttribute(Qt::AA_ShareOpenGLContexts);
    QSurfaceFormat::setDefaultFormat(StoneView::surfaceFormat());
    QApplication application(argc, argv);
    // Qt takes over the desktop's locale for the C library too; numbers in files never follow it.
    std::setlocale(LC_NUMERIC, "C");
    QCoreApplication::setOrganizationName("Macle");
    QCoreApplication::setApplicationName("Macle");
    rememberSystemTheme();
    const QString trouble = takeCutsOfTheWorks();
    MainWindow window;
    window.show();
    if (!trouble.isEmpty())
        QMessageBox::warning(&window, QObject::tr("Cuts of the works"), trouble);
    const QStringList arguments = QCoreApplication::arguments();
    if (arguments.size() > 1)
        window.openPath(std::filesystem::path(arguments.at(1).toStdU16String()));
    window.offerRecovery();
    return QApplication::exec();
}

}  // namespace macle::app
