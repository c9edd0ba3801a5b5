#include "core/archive/open_lock.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <fstream>
#include <sstream>
#include <utility>

#include "core/base/error.h"
#include "core/base/numbers.h"

namespace macle {

OpenLock::~OpenLock() {
    release();
}

OpenLock::OpenLock(OpenLock&& other) noexcept : descriptor_(std::exchange(other.descriptor_, -1)) {}

OpenLock& OpenLock::operator=(OpenLock&& other) noexcept {
    if (this != &other) {
        release();
        descriptor_ = std::exchange(other.descriptor_, -1);
    }
    return *this;
}

bool OpenLock::take(const std::filesystem::path& file) {
    const int fd = ::open(file.c_str(), O_RDONLY | O_CLOEXEC);
    if (fd < 0)
        throw Error(errno == ENOENT ? ErrorCode::NotFound : ErrorCode::Io,
                    file.string() + " cannot be opened: " + std::strerror(errno) + ".",
                    "Check the name, the folder and the permissions.");
    if (::flock(fd, LOCK_EX | LOCK_NB) != 0 && errno == EWOULDBLOCK) {
        ::close(fd);
        return false;
    }
    release();
    descriptor_ = fd;
    return true;
}

void OpenLock::release() {
    if (descriptor_ >= 0) ::close(std::exchange(descriptor_, -1));
}

std::string OpenLock::holderOf(const std::filesystem::path& file) {
    constexpr const char* kUnknown = "another program";
    struct stat wanted {};
    if (::stat(file.c_str(), &wanted) != 0) return kUnknown;
    // "1: FLOCK  ADVISORY  WRITE 4711 08:01:131090 0 EOF"
    std::ifstream locks("/proc/locks");
    for (std::string line; std::getline(locks, line);) {
        std::istringstream words(line);
        std::string number, kind, how, what, pid, inode;
        if (!(words >> number >> kind >> how >> what >> pid >> inode) || kind != "FLOCK") continue;
        const std::size_t colon = inode.rfind(':');
        if (colon == std::string::npos) continue;
        const auto process = parseInteger(pid);
        if (parseInteger(inode.substr(colon + 1)) == static_cast<long long>(wanted.st_ino) &&
            process && *process > 0)
            return "process " + pid;
    }
    return kUnknown;
}

}  // namespace macle
