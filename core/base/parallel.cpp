#include "core/base/parallel.h"

#include <algorithm>
#include <atomic>
#include <exception>
#include <limits>
#include <mutex>
#include <thread>
#include <vector>

namespace macle {

namespace {

constexpr int kMostThreads = 256;

}  // namespace

void forEachPiece(int pieces, int threads, Progress* progress,
                  const std::function<void(int piece)>& work) {
    std::atomic<int> next{0}, done{0}, failed{std::numeric_limits<int>::max()};
    std::exception_ptr failure;
    std::mutex mutex;
    const auto run = [&] {
        // Pieces are handed out in their order, so all below a failed one are done too.
        for (int piece = next++; piece < pieces && piece < failed; piece = next++) {
            try {
                if (progress) progress->throwIfCancelled();
                work(piece);
                if (progress) progress->advanceTo(static_cast<double>(++done) / pieces);
            } catch (...) {
                const std::lock_guard lock(mutex);
                if (piece < failed) {
                    failed = piece;
                    failure = std::current_exception();
                }
            }
        }
    };
    const int all = threads > 0 ? threads : static_cast<int>(std::thread::hardware_concurrency());
    std::vector<std::thread> helpers;
    for (int i = 1; i < std::clamp(all, 1, std::clamp(pieces, 1, kMostThreads)); ++i)
        helpers.emplace_back(run);
    run();
    for (std::thread& helper : helpers)
        helper.join();
    if (failure) std::rethrow_exception(failure);
}

}  // namespace macle
