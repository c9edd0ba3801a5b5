// With a verb Macle runs on the command line and needs no display; without one it opens the window.
#include <string_view>

#include "app/terminal/terminal.h"
#include "app/window/window.h"

int main(int argc, char** argv) {
    if (argc > 1 && macle::app::isTerminalRequest(argc, argv))
        return macle::app::runTerminal(argc, argv);
    return macle::app::runWindow(argc, argv);
}
