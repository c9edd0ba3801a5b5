// The entry of one fuzzing program; MACLE_FUZZ_TARGET names its target.
#include "tests/fuzz/targets.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    macle::fuzz::MACLE_FUZZ_TARGET(data, size);
    return 0;
}
