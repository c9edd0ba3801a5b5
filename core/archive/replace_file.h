// Putting a finished file in the place of another, so that a crash or a loss of power leaves the
// one or the other. Private to archive.
#pragma once

#include <filesystem>

namespace macle::archive {

// Flushes `fresh` to the disk, renames it to `target`, flushes the folder. Throws Error{Io}; the
// target is then as it was.
void replaceFile(const std::filesystem::path& fresh, const std::filesystem::path& target);

// A name beside `target` for writing it anew, on the same disk. Removes what crashed programs left
// there under such names.
std::filesystem::path freshNameFor(const std::filesystem::path& target);

}  // namespace macle::archive
