// The pieces of a job shared among threads. Each piece depends on its number alone, so the result
// is the same at any thread count.
#pragma once

#include <functional>

#include "core/base/progress.h"

namespace macle {

// Calls work(piece) once for each piece below `pieces`; `threads` 0: as many as the machine has.
// Throws the exception of the lowest piece that failed, and Error{Cancelled}; polls between pieces.
void forEachPiece(int pieces, int threads, Progress* progress,
                  const std::function<void(int piece)>& work);

}  // namespace macle
