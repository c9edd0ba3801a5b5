// Console: progress on standard error and Ctrl-C while one verb runs.
#pragma once

#include <list>
#include <mutex>
#include <string>

#include "core/base/progress.h"

namespace macle::app {

// While it lives, Ctrl-C (and a polite termination request) cancels the running phase and all that
// follow; a second Ctrl-C ends the program at once. Progress is shown when standard error is a
// terminal or when asked for. One at a time.
class Console {
  public:
    explicit Console(bool showAlways);
    ~Console();
    Console(const Console&) = delete;
    Console& operator=(const Console&) = delete;

    // The progress of the next part of the job, shown under its own name.
    Progress& phase(const std::string& name);
    bool cancelled() const { return !phases_.empty() && phases_.back().cancelled(); }

    // A word beside the percentage ("best so far 1.234 ct"). Any thread.
    void note(const std::string& text);
    // A message on a line of its own, on standard error.
    void say(const std::string& text);

  private:
    void advance(double fraction);
    void draw();
    void wipe();

    bool shown_;
    bool overwrite_;  // a terminal: one line, rewritten
    std::mutex mutex_;
    std::string name_;
    std::string note_;
    int percent_ = -1;
    std::size_t drawn_ = 0;
    std::list<Progress> phases_;  // all kept: a signal may still hold an earlier one
};

}  // namespace macle::app
