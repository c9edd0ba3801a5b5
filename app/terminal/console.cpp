#include "app/terminal/console.h"

#include <signal.h>
#include <unistd.h>

#include <atomic>
#include <cmath>
#include <iostream>

namespace macle::app {

namespace {

std::atomic<Progress*> gRunning{nullptr};
static_assert(std::atomic<Progress*>::is_always_lock_free, "used inside a signal handler");

void onInterrupt(int signal) {
    if (Progress* running = gRunning.load()) running->cancel();
    ::signal(signal, SIG_DFL);  // the second one ends the program
}

}  // namespace

Console::Console(bool showAlways)
    : shown_(showAlways || isatty(STDERR_FILENO) == 1), overwrite_(isatty(STDERR_FILENO) == 1) {
    ::signal(SIGINT, onInterrupt);
    ::signal(SIGTERM, onInterrupt);
}

Console::~Console() {
    gRunning = nullptr;
    ::signal(SIGINT, SIG_DFL);
    ::signal(SIGTERM, SIG_DFL);
    wipe();
}

Progress& Console::phase(const std::string& name) {
    const Progress* before = phases_.empty() ? nullptr : &phases_.back();
    phases_.emplace_back([this](double fraction) { advance(fraction); });
    Progress& next = phases_.back();
    {
        const std::lock_guard lock(mutex_);
        name_ = name;
        note_.clear();
        percent_ = -1;
    }
    gRunning = &next;
    // After publishing, so that an interrupt that still reached the earlier phase is not lost.
    if (before != nullptr && before->cancelled()) next.cancel();
    return next;
}

void Console::advance(double fraction) {
    const std::lock_guard lock(mutex_);
    const int percent = int(std::floor(fraction * 100.0));
    if (percent == percent_) return;
    percent_ = percent;
    draw();
}

void Console::note(const std::string& text) {
    const std::lock_guard lock(mutex_);
    if (text == note_) return;
    note_ = text;
    draw();
}

void Console::say(const std::string& text) {
    const std::lock_guard lock(mutex_);
    wipe();
    std::cerr << text << '\n' << std::flush;
}

void Console::draw() {
    if (!shown_) return;
    std::string line = name_;
    if (percent_ >= 0) line += "  " + std::to_string(percent_) + " %";
    if (!note_.empty()) line += "  " + note_;
    if (!overwrite_) {
        std::cerr << line << '\n' << std::flush;
        return;
    }
    const std::size_t length = line.size();
    if (length < drawn_) line.append(drawn_ - length, ' ');
    drawn_ = length;
    std::cerr << '\r' << line << std::flush;
}

void Console::wipe() {
    if (overwrite_ && drawn_ > 0)
        std::cerr << '\r' << std::string(drawn_, ' ') << '\r' << std::flush;
    drawn_ = 0;
}

}  // namespace macle::app
