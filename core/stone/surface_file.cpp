#include "core/stone/surface_file.h"

#include <cmath>
#include <fstream>
#include <system_error>

#include "core/base/error.h"
#include "core/base/numbers.h"

namespace macle::surface_file {

namespace fs = std::filesystem;

namespace {

bool isSpace(char c) {
    return c == ' ' || c == '\n' || c == '\t' || c == '\r' || c == '\v' || c == '\f';
}

}  // namespace

void Source::reached(std::size_t byte) const {
    if (!progress) return;
    progress->throwIfCancelled();
    // Reading is the smaller part of an intake; the rest of the bar belongs to the checks.
    progress->advanceTo(0.25 * static_cast<double>(byte) /
                        static_cast<double>(bytes.empty() ? 1 : bytes.size()));
}

void reject(const Source& source, const std::string& place, const std::string& what,
            const std::string& remedy) {
    throw Error(ErrorCode::BadInput,
                source.file.string() + (place.empty() ? "" : ", " + place) + ": " + what, remedy);
}

std::string inQuotes(std::string_view text) {
    constexpr std::size_t kLongest = 40;
    std::string shown = "'";
    for (const char c : text.substr(0, kLongest))
        shown += (c >= ' ' && c <= '~') ? c : '?';
    return shown + (text.size() > kLongest ? "...'" : "'");
}

std::string_view Words::next() {
    const std::string_view bytes = source_.bytes;
    while (at_ < bytes.size() && isSpace(bytes[at_])) {
        if (bytes[at_] == '\n') ++line_;
        ++at_;
    }
    const std::size_t start = at_;
    while (at_ < bytes.size() && !isSpace(bytes[at_]))
        ++at_;
    return bytes.substr(start, at_ - start);
}

void Words::skipLine() {
    const std::size_t end = source_.bytes.find('\n', at_);
    at_ = end == std::string_view::npos ? source_.bytes.size() : end;
}

double Words::number() {
    const std::string_view word = next();
    if (const auto value = parseNumber(word)) return *value;
    return checkedNumber(source_, place(), word);
}

double checkedNumber(const Source& source, const std::string& place, std::string_view word) {
    if (word.empty())
        reject(source, place, "The file ends where a number should stand.",
               "It was cut short; export or copy it again.");
    if (const auto value = parseNumber(word)) return *value;
    reject(source, place, inQuotes(word) + " is not a finite number.",
           "Export the surface again, with a decimal point in numbers.");
}

double checkedCoordinate(const Source& source, const std::string& place, double value) {
    if (!std::isfinite(value))
        reject(source, place, "A coordinate is not a finite number.", "Export the surface again.");
    if (std::abs(value) > kFarthestCoordinate_mm)
        reject(source, place,
               "A coordinate is beyond 1000000 mm, so this is no stone in millimetres.",
               "Check the unit of the export.");
    return value;
}

bool sameWord(std::string_view text, std::string_view lowerCaseWord) {
    if (text.size() != lowerCaseWord.size()) return false;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const char c = text[i];
        const char lower = (c >= 'A' && c <= 'Z') ? static_cast<char>(c - 'A' + 'a') : c;
        if (lower != lowerCaseWord[i]) return false;
    }
    return true;
}

std::string readWhole(const fs::path& file, std::uintmax_t limit) {
    std::error_code fault;
    const fs::file_status status = fs::status(file, fault);
    if (!fs::exists(status))
        throw Error(ErrorCode::NotFound, "There is no file " + file.string() + ".",
                    "Check the name and the folder.");
    if (!fs::is_regular_file(status))
        throw Error(ErrorCode::BadInput, file.string() + " is not an ordinary file.",
                    "Name a surface file, not a folder or a device.");
    const std::uintmax_t size = fs::file_size(file, fault);
    if (fault)
        throw Error(ErrorCode::Io,
                    "The size of " + file.string() + " cannot be read: " + fault.message() + ".",
                    "Check the disk and the permissions.");
    if (size > limit)
        throw Error(ErrorCode::BadInput,
                    file.string() + " is larger than " + std::to_string(limit >> 20) + " MB.",
                    "Thin the scan out before it is taken in; the skin needs no finer steps than "
                    "the scan noise.");
    std::ifstream stream(file, std::ios::binary);
    std::string bytes(static_cast<std::size_t>(size), '\0');
    if (stream) stream.read(bytes.data(), static_cast<std::streamsize>(size));
    if (!stream || static_cast<std::uintmax_t>(stream.gcount()) != size)
        throw Error(ErrorCode::Io, file.string() + " cannot be read.",
                    "Check the disk and the permissions.");
    return bytes;
}

void writeWhole(const fs::path& file, std::string_view bytes) {
    fs::path partial = file;
    partial += ".partial";
    std::error_code fault;
    {
        std::ofstream stream(partial, std::ios::binary | std::ios::trunc);
        stream.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
        stream.flush();
        if (!stream) {
            stream.close();
            fs::remove(partial, fault);
            throw Error(ErrorCode::Io, file.string() + " cannot be written.",
                        "Check the folder, the free space and the permissions.");
        }
    }
    fs::rename(partial, file, fault);
    if (fault) {
        std::error_code ignored;
        fs::remove(partial, ignored);
        throw Error(ErrorCode::Io, file.string() + " cannot be written: " + fault.message() + ".",
                    "Check the folder and the permissions.");
    }
}

}  // namespace macle::surface_file
