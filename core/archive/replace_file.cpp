#include "core/archive/replace_file.h"

#include <fcntl.h>
#include <signal.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <string>
#include <system_error>

#include "core/base/error.h"
#include "core/base/numbers.h"

namespace macle::archive {

namespace fs = std::filesystem;

namespace {

constexpr const char* kMark = ".saving-";

[[noreturn]] void fail(const fs::path& target, int code) {
    throw Error(ErrorCode::Io,
                "Could not save " + target.string() + ": " + std::strerror(code) + ".",
                "The file is as it was. Choose another folder or make room.");
}

class Descriptor {
  public:
    Descriptor(const fs::path& file, int flags) : fd_(::open(file.c_str(), flags | O_CLOEXEC)) {}
    ~Descriptor() {
        if (fd_ >= 0) ::close(fd_);
    }
    Descriptor(const Descriptor&) = delete;
    Descriptor& operator=(const Descriptor&) = delete;
    int get() const { return fd_; }

  private:
    int fd_;
};

}  // namespace

void replaceFile(const fs::path& fresh, const fs::path& target) {
    {
        const Descriptor file(fresh, O_RDONLY);
        if (file.get() < 0) fail(target, errno);
        // Who might read and write it stays as it was.
        struct stat old {};
        if (::stat(target.c_str(), &old) == 0) ::fchmod(file.get(), old.st_mode & 07777);
        if (::fsync(file.get()) != 0) fail(target, errno);
    }
    if (::rename(fresh.c_str(), target.c_str()) != 0) fail(target, errno);
    const Descriptor folder(fs::absolute(target).parent_path(), O_RDONLY | O_DIRECTORY);
    // Some file systems cannot flush a folder; the rename itself stands.
    if (folder.get() >= 0) ::fsync(folder.get());
}

fs::path freshNameFor(const fs::path& target) {
    const std::string start = target.filename().string() + kMark;
    std::error_code ignored;
    for (const auto& entry : fs::directory_iterator(fs::absolute(target).parent_path(), ignored)) {
        const std::string name = entry.path().filename().string();
        if (!name.starts_with(start)) continue;
        const auto pid = parseInteger(std::string_view(name).substr(start.size()));
        const bool ended =
            pid && *pid > 0 && ::kill(static_cast<pid_t>(*pid), 0) != 0 && errno == ESRCH;
        // The number may be that of another computer, whose save takes no hour.
        const auto age = fs::file_time_type::clock::now() - entry.last_write_time(ignored);
        if (pid == ::getpid() || (ended && age > std::chrono::hours(1)))
            fs::remove(entry.path(), ignored);
    }
    return target.string() + kMark + std::to_string(::getpid());
}

}  // namespace macle::archive
