// A small text file read whole, with a bound on its size.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>

namespace macle {

// `what` names the kind of file in messages: "cut file". Throws Error{NotFound} when there is no
// such file, Error{BadInput} when it is larger than `mostBytes`, Error{Io} when it cannot be read.
// `howToMake` is the remedy when there is none.
std::string readTextFile(const std::filesystem::path& file, const std::string& what,
                         std::uintmax_t mostBytes,
                         const std::string& howToMake = "Check the name.");

}  // namespace macle
