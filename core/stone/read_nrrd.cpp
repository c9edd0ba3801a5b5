// NRRD: a header of "field: value" lines ended by an empty line (Kindlmann, "Definition of NRRD
// File Format", teem.sourceforge.net/nrrd/format.html).
#include <algorithm>
#include <cmath>
#include <map>

#include "core/base/numbers.h"
#include "core/stone/volume_source.h"

namespace macle::volume_file {

namespace {

using surface_file::sameWord;

constexpr const char* kExportAgain = "Export the volume again.";
constexpr std::size_t kLongestHeader = 1 << 16;

std::string lower(std::string_view text) {
    std::string result(text);
    for (char& c : result)
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    return result;
}

std::string_view trimmed(std::string_view text) {
    const std::size_t start = text.find_first_not_of(" \t\r");
    if (start == std::string_view::npos) return {};
    return text.substr(start, text.find_last_not_of(" \t\r") - start + 1);
}

class Header {
  public:
    explicit Header(const Source& source) : source_(source) {
        const std::string_view bytes = source.bytes;
        std::size_t at = std::min(bytes.find('\n'), bytes.size());
        at = std::min(at + 1, bytes.size());
        while (at < bytes.size() && at < kLongestHeader) {
            const std::size_t end = std::min(bytes.find('\n', at), bytes.size());
            const std::string_view line = trimmed(bytes.substr(at, end - at));
            at = std::min(end + 1, bytes.size());
            if (line.empty()) {
                dataStart_ = at;
                return;
            }
            if (line[0] == '#' || line.find(":=") != std::string_view::npos) continue;
            const std::size_t colon = line.find(": ");
            if (colon == std::string_view::npos)
                reject(source, "", inQuotes(line) + " is no line of a NRRD header.", kExportAgain);
            fields_[lower(line.substr(0, colon))] = std::string(trimmed(line.substr(colon + 2)));
        }
        // A detached header may end without an empty line.
        dataStart_ = bytes.size();
    }
    std::size_t dataStart() const { return dataStart_; }
    const std::string* find(const char* name) const {
        const auto found = fields_.find(name);
        return found == fields_.end() ? nullptr : &found->second;
    }
    const std::string& need(const char* name) const {
        if (const std::string* value = find(name)) return *value;
        reject(source_, "", std::string("The NRRD header has no '") + name + "'.", kExportAgain);
    }
    // Vectors have brackets and commas.
    std::vector<double> numbers(const char* name, const std::string& text,
                                std::size_t count) const {
        return numbersOf(source_, name, text, " \t(),", count);
    }

  private:
    const Source& source_;
    std::map<std::string, std::string> fields_;
    std::size_t dataStart_ = 0;
};

Kind kindOf(const Source& source, const std::string& name) {
    static const std::map<std::string, Kind> kinds = {{"signed char", Kind::Int8},
                                                      {"int8", Kind::Int8},
                                                      {"int8_t", Kind::Int8},
                                                      {"uchar", Kind::UInt8},
                                                      {"unsigned char", Kind::UInt8},
                                                      {"uint8", Kind::UInt8},
                                                      {"uint8_t", Kind::UInt8},
                                                      {"short", Kind::Int16},
                                                      {"short int", Kind::Int16},
                                                      {"signed short", Kind::Int16},
                                                      {"int16", Kind::Int16},
                                                      {"int16_t", Kind::Int16},
                                                      {"ushort", Kind::UInt16},
                                                      {"unsigned short", Kind::UInt16},
                                                      {"unsigned short int", Kind::UInt16},
                                                      {"uint16", Kind::UInt16},
                                                      {"uint16_t", Kind::UInt16},
                                                      {"int", Kind::Int32},
                                                      {"signed int", Kind::Int32},
                                                      {"int32", Kind::Int32},
                                                      {"int32_t", Kind::Int32},
                                                      {"uint", Kind::UInt32},
                                                      {"unsigned int", Kind::UInt32},
                                                      {"uint32", Kind::UInt32},
                                                      {"uint32_t", Kind::UInt32},
                                                      {"longlong", Kind::Int64},
                                                      {"long long", Kind::Int64},
                                                      {"int64", Kind::Int64},
                                                      {"int64_t", Kind::Int64},
                                                      {"ulonglong", Kind::UInt64},
                                                      {"unsigned long long", Kind::UInt64},
                                                      {"uint64", Kind::UInt64},
                                                      {"uint64_t", Kind::UInt64},
                                                      {"float", Kind::Float},
                                                      {"double", Kind::Double}};
    const auto found = kinds.find(lower(name));
    if (found == kinds.end())
        reject(source, "type", inQuotes(name) + " is no type of grey values.", kExportAgain);
    return found->second;
}

// The unit of the steps; mm where none is said.
double unitOf(const Source& source, const Header& header) {
    const std::string* text = header.find("space units");
    if (text == nullptr) text = header.find("units");
    if (text == nullptr) return 1.0;
    double unit = 0.0;
    std::size_t at = 0;
    for (;;) {
        const std::size_t open = text->find('"', at);
        const std::size_t close = open == std::string::npos ? open : text->find('"', open + 1);
        if (close == std::string::npos) break;
        const std::string name = text->substr(open + 1, close - open - 1);
        at = close + 1;
        if (name.empty()) continue;
        const auto known = unit_mm(name);
        if (!known || (unit != 0.0 && unit != *known))
            reject(source, "units", inQuotes(name) + " is no unit of length, or not one for all.",
                   kExportAgain);
        unit = *known;
    }
    return unit == 0.0 ? 1.0 : unit;
}

}  // namespace

Volume readNrrd(const Source& source) {
    const Header header(source);
    Volume volume;
    if (header.numbers("dimension", header.need("dimension"), 1)[0] != 3.0)
        reject(source, "dimension", "Only volumes of three dimensions can be used.", kExportAgain);
    const auto sizes = header.numbers("sizes", header.need("sizes"), 3);
    std::array<long long, 3> size{};
    for (std::size_t i = 0; i < 3; ++i)
        size[i] = static_cast<long long>(std::clamp(sizes[i], -1.0, 1e9));
    setSize(source, volume, size);
    const double unit = unitOf(source, header);
    if (const std::string* text = header.find("space directions")) {
        const auto n = header.numbers("space directions", *text, 9);
        volume.step_mm << n[0], n[3], n[6], n[1], n[4], n[7], n[2], n[5], n[8];
    } else if (const std::string* spacing = header.find("spacings")) {
        const auto n = header.numbers("spacings", *spacing, 3);
        volume.step_mm =
            Eigen::Vector3d(std::abs(n[0]), std::abs(n[1]), std::abs(n[2])).asDiagonal();
    }
    volume.step_mm *= unit;
    if (const std::string* text = header.find("space origin")) {
        const auto n = header.numbers("space origin", *text, 3);
        volume.origin_mm = unit * Eigen::Vector3d(n[0], n[1], n[2]);
    }
    const Kind kind = kindOf(source, header.need("type"));
    bool bigEndian = false;
    if (bytesOf(kind) > 1) {
        const std::string* endian = header.find("endian");
        bigEndian = endian != nullptr && sameWord(*endian, "big");
    }
    const std::string encoding = lower(header.need("encoding"));

    std::string beside;
    std::string_view data = source.bytes.substr(header.dataStart());
    const std::string* where = header.find("data file");
    if (where == nullptr) where = header.find("datafile");
    if (where != nullptr) {
        beside = readBeside(source, *where);
        data = beside;
    }
    const std::uint64_t bytes = static_cast<std::uint64_t>(volume.count()) * bytesOf(kind);
    if (const std::string* skip = header.find("byte skip")) {
        const double count = header.numbers("byte skip", *skip, 1)[0];
        if (count == -1.0 && encoding == "raw" && data.size() >= bytes)
            data.remove_prefix(data.size() - static_cast<std::size_t>(bytes));
        else if (count >= 0.0 && count <= static_cast<double>(data.size()))
            data.remove_prefix(static_cast<std::size_t>(count));
        else
            reject(source, "byte skip", "It is no place in the file.", kExportAgain);
    }
    if (header.find("line skip") != nullptr)
        reject(source, "line skip", "Lines before the voxels cannot be left out.", kExportAgain);
    if (encoding == "raw") {
        fillFromBytes(source, volume, data, kind, bigEndian);
    } else if (encoding == "gzip" || encoding == "gz") {
        const std::string unpacked = inflated(source, data, bytes);
        fillFromBytes(source, volume, unpacked, kind, bigEndian);
    } else if (encoding == "ascii" || encoding == "text" || encoding == "txt") {
        if (where != nullptr)
            reject(source, "", "Voxels as text must stand in the file itself.", kExportAgain);
        fillFromText(source, volume, header.dataStart());
    } else {
        reject(source, "encoding", inQuotes(encoding) + " is none of raw, gzip, ascii.",
               kExportAgain);
    }
    return volume;
}

}  // namespace macle::volume_file
