// Which reader a file needs, told by its content.
#include "core/stone/mesh_file.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/stone/surface_file.h"

namespace macle {

namespace {

using surface_file::inQuotes;
using surface_file::reject;
using surface_file::sameWord;
using surface_file::Source;

constexpr std::uintmax_t kLargestFile = std::uintmax_t{2} << 30;
constexpr const char* kKnownFormats = "Export the surface again as STL, PLY or OBJ.";

enum class Format { Unknown, StlBinary, StlText, Ply, Obj };

std::string lowerExtension(const std::filesystem::path& file) {
    std::string extension = file.extension().string();
    for (char& c : extension)
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    return extension;
}

const char* extensionOf(Format format) {
    switch (format) {
        case Format::StlBinary:
        case Format::StlText:
            return ".stl";
        case Format::Ply:
            return ".ply";
        case Format::Obj:
            return ".obj";
        case Format::Unknown:
            break;
    }
    return "";
}

const char* nameOf(Format format) {
    switch (format) {
        case Format::StlBinary:
            return "a binary STL";
        case Format::StlText:
            return "a text STL";
        case Format::Ply:
            return "a PLY";
        case Format::Obj:
            return "an OBJ";
        case Format::Unknown:
            break;
    }
    return "no known";
}

bool looksLikeText(std::string_view bytes) {
    const std::string_view head = bytes.substr(0, 4096);
    return std::none_of(head.begin(), head.end(), [](char c) {
        const auto u = static_cast<unsigned char>(c);
        return u < 32 && c != '\n' && c != '\r' && c != '\t' && c != '\f' && c != '\v';
    });
}

std::uint64_t announcedTriangles(std::string_view bytes) {
    std::uint64_t count = 0;
    for (std::size_t i = 0; i < 4; ++i)
        count |= static_cast<std::uint64_t>(static_cast<unsigned char>(bytes[80 + i])) << (8 * i);
    return count;
}

// An OBJ has no mark of its own: the first line that is not a remark must be one of its records.
bool looksLikeObj(std::string_view bytes) {
    static constexpr std::array<std::string_view, 19> kRecords = {
        "v",      "vn",     "vt",     "vp",    "f",   "o",      "g",        "s",        "l", "p",
        "mtllib", "usemtl", "usemap", "bevel", "lod", "maplib", "c_interp", "d_interp", "mg"};
    std::size_t at = 0;
    while (at < bytes.size()) {
        const std::size_t end = std::min(bytes.find('\n', at), bytes.size());
        const std::string_view line = bytes.substr(at, end - at);
        at = end + 1;
        const std::size_t start = line.find_first_not_of(" \t\r");
        if (start == std::string_view::npos || line[start] == '#') continue;
        const std::size_t stop = std::min(line.find_first_of(" \t\r", start), line.size());
        const std::string_view word = line.substr(start, stop - start);
        return std::find(kRecords.begin(), kRecords.end(), word) != kRecords.end();
    }
    return false;
}

Format formatByContent(std::string_view bytes) {
    if (bytes.size() >= 4 && bytes.substr(0, 3) == "ply" &&
        (bytes[3] == '\n' || bytes[3] == '\r' || bytes[3] == ' '))
        return Format::Ply;
    // First by size: the 80 free bytes of a binary STL may well begin with "solid".
    if (bytes.size() >= 84 && bytes.size() == surface_file::stlBytes(announcedTriangles(bytes)))
        return Format::StlBinary;
    if (!looksLikeText(bytes)) return Format::Unknown;
    const std::size_t start = bytes.find_first_not_of(" \t\r\n");
    if (start == std::string_view::npos) return Format::Unknown;
    const std::string_view first = bytes.substr(start, 6);
    if (first.size() == 6 && sameWord(first.substr(0, 5), "solid") &&
        std::string_view(" \t\r\n").find(first[5]) != std::string_view::npos)
        return Format::StlText;
    return looksLikeObj(bytes) ? Format::Obj : Format::Unknown;
}

[[noreturn]] void rejectUnknown(const Source& source, const std::string& extension) {
    if (extension == ".stl" && !looksLikeText(source.bytes)) {
        // Not by its size, so the binary reader has the clearest words for it.
        surface_file::readStlBinary(source);
    }
    reject(source, "", "Its content is no STL, PLY or OBJ surface.", kKnownFormats);
}

}  // namespace

TriangleMesh surface_file::readSurface(Source source) {
    const std::string extension = lowerExtension(source.file);
    if (source.bytes.substr(0, 3) == "\xEF\xBB\xBF" && looksLikeText(source.bytes))
        source.bytes.remove_prefix(3);
    source.reached(0);
    if (source.bytes.empty()) reject(source, "", "The file is empty.", kKnownFormats);

    const Format format = formatByContent(source.bytes);
    if (extension != ".stl" && extension != ".ply" && extension != ".obj")
        reject(source, "",
               "The extension " + inQuotes(extension) + " is not that of a surface" +
                   (format == Format::Unknown
                        ? std::string(".")
                        : std::string("; its content looks like ") + nameOf(format) + " file."),
               "Surfaces are read from .stl, .ply and .obj files.");
    if (format == Format::Unknown) rejectUnknown(source, extension);
    if (extension != extensionOf(format))
        reject(source, "",
               "The extension is " + extension + ", but the content looks like " + nameOf(format) +
                   " file.",
               std::string("If that is right, rename it to end in ") + extensionOf(format) + ".");
    switch (format) {
        case Format::StlBinary:
            return surface_file::readStlBinary(source);
        case Format::StlText:
            return surface_file::readStlText(source);
        case Format::Ply:
            return surface_file::readPly(source);
        case Format::Obj:
            return surface_file::readObj(source);
        case Format::Unknown:
            break;
    }
    rejectUnknown(source, extension);
}

TriangleMesh readMeshFile(const std::filesystem::path& file, Progress* progress) {
    const std::string bytes = surface_file::readWhole(file, kLargestFile);
    return surface_file::readSurface({file, bytes, progress});
}

}  // namespace macle
