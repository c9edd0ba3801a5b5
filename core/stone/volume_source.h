// Inside the volume readers: raw voxels of a declared form, bounded, into floats. Private to
// core/stone; other folders use volume.h.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/stone/surface_file.h"
#include "core/stone/volume.h"

namespace macle::volume_file {

using surface_file::inQuotes;
using surface_file::reject;
using surface_file::Source;

// More voxels than this do not fit beside their surfaces in the memory of a workstation.
inline constexpr std::uint64_t kMostVoxels = std::uint64_t{1} << 30;

enum class Kind { Int8, UInt8, Int16, UInt16, Int32, UInt32, Int64, UInt64, Float, Double };

std::size_t bytesOf(Kind kind);

// Checks the numbers of voxels (each 2 or more, in all at most kMostVoxels).
void setSize(const Source& source, Volume& volume, const std::array<long long, 3>& size);

// Checks that no step is zero, absurd or in the plane of the others.
void checkGrid(const Source& source, const Volume& volume);

// The voxels as bytes of one kind. Rejects too few bytes, and values that are not finite.
void fillFromBytes(const Source& source, Volume& volume, std::string_view bytes, Kind kind,
                   bool bigEndian);

// The voxels as numbers in text, from that byte of the source on.
void fillFromText(const Source& source, Volume& volume, std::size_t start);

// Undoes deflate (zlib or gzip). `expected` bytes must come out.
std::string inflated(const Source& source, std::string_view packed, std::uint64_t expected);

// mm of a unit by its name ("mm", "um", "micron", "m" ...); nothing for an unknown one.
std::optional<double> unit_mm(std::string_view name);

// So many numbers of a header's field, parted by any of the characters `between`, or a message.
std::vector<double> numbersOf(const Source& source, const char* field, const std::string& text,
                              const char* between, std::size_t count);

// A file that a header names: a plain name in the header's own folder, nothing else.
std::string readBeside(const Source& source, const std::string& name);

// Of whichever form the content has.
Volume readBytes(const Source& source);

Volume readMetaImage(const Source& source);
Volume readNrrd(const Source& source);
Volume readVtkLegacy(const Source& source);
Volume readVtkXml(const Source& source);

}  // namespace macle::volume_file
