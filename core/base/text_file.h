// Small text files: read whole with a bound on their size, and written.
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

// Replaces what is there. `what` as above: "The list of saws FILE could not be written." Throws
// Error{Io}.
void writeTextFile(const std::filesystem::path& file, const std::string& what,
                   const std::string& text);

}  // namespace macle
