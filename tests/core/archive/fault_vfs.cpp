#include "tests/core/archive/fault_vfs.h"

#include <gtest/gtest.h>
#include <sqlite3.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <memory>
#include <random>
#include <set>
#include <vector>

extern "C" {
int __real_rename(const char* from, const char* to);
int __real_fsync(int fd);
int __wrap_rename(const char* from, const char* to);
int __wrap_fsync(int fd);
}

namespace macle::faults {
namespace {

constexpr int kKilled = 99;

struct Plan {
    Fault fault = Fault::None;
    long long at = 0;
    bool lasting = false;
    unsigned seed = 1;
    long long count = 0;
    bool struck = false;
} plan;

// A write since the last flush, and what it replaced.
struct Unflushed {
    sqlite3_int64 offset;
    std::string bytes;
};

struct File {
    sqlite3_file base;
    sqlite3_file* real;
    std::vector<Unflushed>* unflushed;
    std::string* flushed;  // content at the last flush; only kept for PowerLoss
};

std::set<File*>& openFiles() {
    static std::set<File*> files;
    return files;
}

sqlite3_vfs* realVfs = nullptr;

std::string contentOf(sqlite3_file* real) {
    sqlite3_int64 size = 0;
    real->pMethods->xFileSize(real, &size);
    std::string content(static_cast<std::size_t>(size), '\0');
    if (size > 0) real->pMethods->xRead(real, content.data(), static_cast<int>(size), 0);
    return content;
}

// The disk after the lights went out: the flushed content and a random part of what came after.
void loseUnflushed() {
    std::mt19937 random(plan.seed * 7919u + static_cast<unsigned>(plan.at));
    for (File* file : openFiles()) {
        if (file->flushed == nullptr || file->unflushed->empty()) continue;
        std::string content = *file->flushed;
        for (const Unflushed& write : *file->unflushed) {
            if (random() % 2 == 0) continue;
            const auto end = static_cast<std::size_t>(write.offset) + write.bytes.size();
            if (content.size() < end) content.resize(end, '\0');
            std::copy(write.bytes.begin(), write.bytes.end(), content.begin() + write.offset);
        }
        file->real->pMethods->xTruncate(file->real, static_cast<sqlite3_int64>(content.size()));
        file->real->pMethods->xWrite(file->real, content.data(), static_cast<int>(content.size()),
                                     0);
    }
}

[[noreturn]] void die() {
    if (plan.fault == Fault::PowerLoss) loseUnflushed();
    ::_exit(kKilled);
}

// Counts one operation that changes the disk; true when the fault strikes it.
bool strikes() {
    if (plan.fault == Fault::None || plan.fault == Fault::ReadError) return false;
    ++plan.count;
    const bool hit = plan.count == plan.at || (plan.lasting && plan.count > plan.at);
    plan.struck = plan.struck || hit;
    return hit;
}

bool kills() {
    return plan.fault == Fault::Kill || plan.fault == Fault::PowerLoss;
}

File& of(sqlite3_file* file) {
    return *reinterpret_cast<File*>(file);
}

int closeFile(sqlite3_file* base) {
    File& file = of(base);
    openFiles().erase(&file);
    const int code = file.real->pMethods ? file.real->pMethods->xClose(file.real) : SQLITE_OK;
    ::operator delete(file.real);
    delete file.unflushed;
    delete file.flushed;
    return code;
}

int readFile(sqlite3_file* base, void* data, int size, sqlite3_int64 offset) {
    if (plan.fault == Fault::ReadError) {
        ++plan.count;
        if (plan.count == plan.at || (plan.lasting && plan.count > plan.at)) {
            plan.struck = true;
            return SQLITE_IOERR_READ;
        }
    }
    File& file = of(base);
    return file.real->pMethods->xRead(file.real, data, size, offset);
}

int writeFile(sqlite3_file* base, const void* data, int size, sqlite3_int64 offset) {
    File& file = of(base);
    const auto remember = [&](int length) {
        if (file.flushed != nullptr)
            file.unflushed->push_back({offset, std::string(static_cast<const char*>(data),
                                                           static_cast<std::size_t>(length))});
    };
    if (strikes()) {
        if (kills()) {
            file.real->pMethods->xWrite(file.real, data, size / 2, offset);
            remember(size / 2);
            die();
        }
        return plan.fault == Fault::DiskFull ? SQLITE_FULL : SQLITE_IOERR_WRITE;
    }
    remember(size);
    return file.real->pMethods->xWrite(file.real, data, size, offset);
}

int truncateFile(sqlite3_file* base, sqlite3_int64 size) {
    if (strikes()) {
        if (kills()) die();
        return SQLITE_IOERR_TRUNCATE;
    }
    File& file = of(base);
    return file.real->pMethods->xTruncate(file.real, size);
}

int syncFile(sqlite3_file* base, int flags) {
    if (strikes()) {
        if (kills()) die();
        return SQLITE_IOERR_FSYNC;
    }
    File& file = of(base);
    const int code = file.real->pMethods->xSync(file.real, flags);
    if (file.flushed != nullptr) {
        *file.flushed = contentOf(file.real);
        file.unflushed->clear();
    }
    return code;
}

int sizeOf(sqlite3_file* base, sqlite3_int64* size) {
    return of(base).real->pMethods->xFileSize(of(base).real, size);
}
int lockFile(sqlite3_file* base, int level) {
    return of(base).real->pMethods->xLock(of(base).real, level);
}
int unlockFile(sqlite3_file* base, int level) {
    return of(base).real->pMethods->xUnlock(of(base).real, level);
}
int reserved(sqlite3_file* base, int* result) {
    return of(base).real->pMethods->xCheckReservedLock(of(base).real, result);
}
int control(sqlite3_file* base, int what, void* argument) {
    return of(base).real->pMethods->xFileControl(of(base).real, what, argument);
}
int sector(sqlite3_file* base) {
    return of(base).real->pMethods->xSectorSize(of(base).real);
}
int characteristics(sqlite3_file*) {
    return 0;  // promise nothing: no atomic writes, nothing flushed unasked
}

const sqlite3_io_methods kMethods = {1,        closeFile, readFile,        writeFile,  truncateFile,
                                     syncFile, sizeOf,    lockFile,        unlockFile, reserved,
                                     control,  sector,    characteristics, nullptr,    nullptr,
                                     nullptr,  nullptr,   nullptr,         nullptr};

int openFile(sqlite3_vfs*, sqlite3_filename name, sqlite3_file* base, int flags, int* outFlags) {
    File& file = of(base);
    file.base.pMethods = nullptr;
    file.real =
        static_cast<sqlite3_file*>(::operator new(static_cast<std::size_t>(realVfs->szOsFile)));
    std::memset(static_cast<void*>(file.real), 0, static_cast<std::size_t>(realVfs->szOsFile));
    const int code = realVfs->xOpen(realVfs, name, file.real, flags, outFlags);
    if (code != SQLITE_OK) {
        ::operator delete(file.real);
        return code;
    }
    file.unflushed = new std::vector<Unflushed>;
    file.flushed = plan.fault == Fault::PowerLoss ? new std::string(contentOf(file.real)) : nullptr;
    file.base.pMethods = &kMethods;
    openFiles().insert(&file);
    return SQLITE_OK;
}

int deleteFile(sqlite3_vfs*, const char* name, int syncFolder) {
    if (strikes()) {
        if (kills()) die();
        return SQLITE_IOERR_DELETE;
    }
    return realVfs->xDelete(realVfs, name, syncFolder);
}

int access(sqlite3_vfs*, const char* name, int flags, int* result) {
    return realVfs->xAccess(realVfs, name, flags, result);
}
int fullName(sqlite3_vfs*, const char* name, int size, char* out) {
    return realVfs->xFullPathname(realVfs, name, size, out);
}
int randomness(sqlite3_vfs*, int size, char* out) {
    return realVfs->xRandomness(realVfs, size, out);
}
int sleepFor(sqlite3_vfs*, int time) {
    return realVfs->xSleep(realVfs, time);
}
int now(sqlite3_vfs*, double* time) {
    return realVfs->xCurrentTime(realVfs, time);
}
int lastError(sqlite3_vfs*, int size, char* out) {
    return realVfs->xGetLastError(realVfs, size, out);
}

}  // namespace

void install() {
    if (realVfs != nullptr) return;
    sqlite3_initialize();
    realVfs = sqlite3_vfs_find(nullptr);
    static sqlite3_vfs vfs{};
    vfs.iVersion = 1;
    vfs.szOsFile = sizeof(File);
    vfs.mxPathname = realVfs->mxPathname;
    vfs.zName = "faults";
    vfs.xOpen = openFile;
    vfs.xDelete = deleteFile;
    vfs.xAccess = access;
    vfs.xFullPathname = fullName;
    vfs.xRandomness = randomness;
    vfs.xSleep = sleepFor;
    vfs.xCurrentTime = now;
    vfs.xGetLastError = lastError;
    sqlite3_vfs_register(&vfs, 1);
}

void arm(Fault fault, long long at, bool lasting, unsigned seed) {
    plan = {fault, at, lasting, seed, 0, false};
}

void disarm() {
    plan = {};
}

long long operations() {
    return plan.count;
}

bool struck() {
    return plan.struck;
}

bool killedIn(Fault fault, long long at, unsigned seed, const std::function<void()>& work) {
    std::fflush(nullptr);
    const pid_t child = ::fork();
    if (child == 0) {
        arm(fault, at, false, seed);
        int code = 0;
        try {
            work();
        } catch (...) {
            code = 1;
        }
        ::_exit(code);
    }
    int status = 0;
    EXPECT_EQ(::waitpid(child, &status, 0), child);
    EXPECT_TRUE(WIFEXITED(status)) << "operation " << at;
    const int code = WIFEXITED(status) ? WEXITSTATUS(status) : 1;
    EXPECT_TRUE(code == 0 || code == kKilled) << "operation " << at << " ended with " << code;
    return code == kKilled;
}

}  // namespace macle::faults

// What the program itself does to files goes through the same plan (see -Wl,--wrap).
int __wrap_rename(const char* from, const char* to) {
    if (macle::faults::strikes()) {
        if (macle::faults::kills()) macle::faults::die();
        errno = macle::faults::plan.fault == macle::faults::Fault::DiskFull ? ENOSPC : EIO;
        return -1;
    }
    const int code = __real_rename(from, to);
    return code;
}

int __wrap_fsync(int fd) {
    if (macle::faults::strikes()) {
        if (macle::faults::kills()) macle::faults::die();
        errno = EIO;
        return -1;
    }
    return __real_fsync(fd);
}
