// OpenLock: tells a second program that a file is open. An advisory lock (flock) on the file
// itself: it needs no file beside it, ends with the program however that ends, and reaches other
// computers where the file system carries it.
// Thread contract: one thread at a time.
#pragma once

#include <filesystem>
#include <string>

namespace macle {

class OpenLock {
  public:
    OpenLock() = default;
    ~OpenLock();
    OpenLock(OpenLock&& other) noexcept;
    OpenLock& operator=(OpenLock&& other) noexcept;

    // False when another program (or another window of this one) has the file. A file system that
    // knows no locks counts as free. Throws Error{NotFound, Io} when the file cannot be opened.
    bool take(const std::filesystem::path& file);
    void release();
    bool held() const { return descriptor_ >= 0; }

    // Who has it, as far as this computer knows: "process 4711", or "another program".
    static std::string holderOf(const std::filesystem::path& file);

  private:
    int descriptor_ = -1;
};

}  // namespace macle
