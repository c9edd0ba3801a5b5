// A layer over SQLite's files, and over rename and fsync, that counts every operation that changes
// the disk and fails, or ends the process, at a chosen one.
#pragma once

#include <functional>
#include <string>

namespace macle::faults {

enum class Fault {
    None,
    DiskFull,    // a write finds no room
    WriteError,  // a write, flush, truncation, deletion or rename fails
    ReadError,   // a read fails
    Kill,        // the process ends in the middle of the operation; a write is torn
    PowerLoss,   // as Kill, and of what was not flushed only a random part has reached the disk
};

// From now on SQLite's default; idempotent.
void install();

// Arms one fault at the `at`-th operation it can strike, counted from 1; `lasting`: and at every
// one after it. Sets the count to zero.
void arm(Fault fault, long long at, bool lasting = false, unsigned seed = 1);
void disarm();
long long operations();  // since arm
bool struck();

// Runs `work` in a child process with that fault armed. True when the child was killed by it; a
// child that ends otherwise must have done its work without an exception.
bool killedIn(Fault fault, long long at, unsigned seed, const std::function<void()>& work);

}  // namespace macle::faults
