// The pieces of a job shared among threads; each piece depends on itself alone, so that the result
// is the same at any thread count. Private to light.
#pragma once

#include <algorithm>
#include <atomic>
#include <exception>
#include <functional>
#include <mutex>
#include <thread>
#include <vector>

#include "core/base/progress.h"

namespace macle::light {

inline int threadCount(int asked, int pieces) {
    const int all = asked > 0 ? asked : static_cast<int>(std::thread::hardware_concurrency());
    return std::clamp(all, 1, std::max(1, std::min(pieces, 256)));
}

// Calls work(piece) for each piece once. The first exception of any thread is thrown again here;
// cancel is polled before each piece.
inline void forEachPiece(int pieces, int threads, Progress* progress,
                         const std::function<void(int piece)>& work) {
    std::atomic<int> next{0}, done{0};
    std::exception_ptr failure;
    std::mutex mutex;
    const auto run = [&] {
        try {
            for (int piece = next++; piece < pieces; piece = next++) {
                if (progress) progress->throwIfCancelled();
                work(piece);
                const int finished = ++done;
                if (progress) progress->advanceTo(static_cast<double>(finished) / pieces);
            }
        } catch (...) {
            const std::lock_guard lock(mutex);
            if (!failure) failure = std::current_exception();
            next = pieces;
        }
    };
    std::vector<std::thread> helpers;
    for (int i = 1; i < threadCount(threads, pieces); ++i)
        helpers.emplace_back(run);
    run();
    for (std::thread& helper : helpers)
        helper.join();
    if (failure) std::rethrow_exception(failure);
}

}  // namespace macle::light
