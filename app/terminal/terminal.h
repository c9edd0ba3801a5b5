// The command line: `macle VERB INPUT [options]`. Needs no display. Messages on standard error,
// results on standard output; exit 0 only when done, 2 for bad usage, 1 for a failed job.
#pragma once

namespace macle::app {

// True unless the arguments are those of the window (none, or one file to open).
bool isTerminalRequest(int argc, char** argv);

int runTerminal(int argc, char** argv);

}  // namespace macle::app
