// Inside the readers: the bytes of one surface file, and how a fault in them is told.
// Private to core/stone; other folders use mesh_file.h.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>

#include "core/base/progress.h"
#include "core/stone/mesh.h"

namespace macle::surface_file {

// Coordinates beyond this are no stone: a unit or a decoding went wrong.
inline constexpr double kFarthestCoordinate_mm = 1e6;

// How often long loops look whether they shall stop.
inline constexpr std::size_t kPollEvery = 1 << 15;

struct Source {
    std::filesystem::path file;
    std::string_view bytes;
    Progress* progress = nullptr;

    // Polls cancel and shows how far the reader has come.
    void reached(std::size_t byte) const;
};

// Throws Error{BadInput} "<file>, <place>: <what>".
[[noreturn]] void reject(const Source& source, const std::string& place, const std::string& what,
                         const std::string& remedy);

// Text from a file, fit to be shown: cut to 40 characters, unprintable ones as '?'.
std::string inQuotes(std::string_view text);

// Splits text into words at white space and counts lines.
class Words {
  public:
    Words(const Source& source, std::size_t start) : source_(source), at_(start) {}

    std::string_view next();  // empty at the end of the file
    long long line() const { return line_; }
    std::size_t at() const { return at_; }
    std::string place() const { return "line " + std::to_string(line_); }
    void skipLine();
    void countLines(long long lines) { line_ += lines; }

    // The next word as a finite number; rejects anything else.
    double number();

  private:
    const Source& source_;
    std::size_t at_;
    long long line_ = 1;
};

// Rejects a number no stone has.
double checkedCoordinate(const Source& source, const std::string& place, double value);

// A word of a file as a finite number.
double checkedNumber(const Source& source, const std::string& place, std::string_view word);

bool sameWord(std::string_view text, std::string_view lowerCaseWord);

// Size of a binary STL of so many triangles.
inline constexpr std::uint64_t stlBytes(std::uint64_t triangles) {
    return 84 + 50 * triangles;
}

// Of whichever form the content has; it must agree with the extension.
TriangleMesh readSurface(Source source);

TriangleMesh readStlBinary(const Source& source);
TriangleMesh readStlText(const Source& source);
TriangleMesh readPly(const Source& source);
TriangleMesh readObj(const Source& source);

// The whole of a regular file of at most `limit` bytes. Throws Error{NotFound, BadInput, Io}.
std::string readWhole(const std::filesystem::path& file, std::uintmax_t limit);

// Replaces the file as a whole, so that a failure leaves the old one. Throws Error{Io}.
void writeWhole(const std::filesystem::path& file, std::string_view bytes);

}  // namespace macle::surface_file
