// VTK's two forms of image data: legacy structured points and XML (Kitware, "VTK File Formats").
#include <algorithm>
#include <cctype>
#include <map>

#include "core/base/numbers.h"
#include "core/stone/volume_source.h"

namespace macle::volume_file {

namespace {

using surface_file::sameWord;
using surface_file::Words;

constexpr const char* kExportAgain = "Export the volume again.";

std::array<long long, 3> wholeNumbers(const Source& source, Words& words) {
    std::array<long long, 3> size{};
    for (long long& n : size) {
        const std::string_view word = words.next();
        const auto value = parseInteger(word);
        if (!value)
            reject(source, words.place(), inQuotes(word) + " is not a whole number.", kExportAgain);
        n = *value;
    }
    return size;
}

Eigen::Vector3d threeNumbers(Words& words) {
    Eigen::Vector3d point;
    for (int k = 0; k < 3; ++k)
        point[k] = words.number();
    return point;
}

// ---- XML: only the tags of an image file; no entities, no nesting beyond it.

struct Tag {
    std::string name;
    std::map<std::string, std::string> attributes;
    std::size_t end = 0;  // of the tag, in the file
};

class Tags {
  public:
    explicit Tags(const Source& source) : source_(source) {}

    // The next opening tag of that name.
    Tag find(const std::string& name) {
        const std::string_view bytes = source_.bytes;
        while ((at_ = bytes.find('<', at_)) != std::string_view::npos) {
            ++at_;
            if (bytes.substr(at_, name.size()) == name && at_ + name.size() < bytes.size() &&
                !isNameLetter(bytes[at_ + name.size()]))
                return read(name);
        }
        reject(source_, "", "It has no <" + name + ">.", kExportAgain);
    }

  private:
    static bool isNameLetter(char c) { return std::isalnum(static_cast<unsigned char>(c)) != 0; }

    Tag read(const std::string& name) {
        const std::string_view bytes = source_.bytes;
        Tag tag;
        tag.name = name;
        at_ += name.size();
        constexpr const char* kSpace = " \t\r\n/";
        for (;;) {
            at_ = bytes.find_first_not_of(kSpace, at_);
            if (at_ == std::string_view::npos) break;
            if (bytes[at_] == '>') {
                tag.end = ++at_;
                return tag;
            }
            const std::size_t equals = bytes.find('=', at_);
            if (equals == std::string_view::npos || equals - at_ > 64) break;
            const std::string key(bytes.substr(at_, equals - at_));
            const std::size_t open = bytes.find_first_of("\"'", equals);
            if (open == std::string_view::npos || open - equals > 8) break;
            const std::size_t close = bytes.find(bytes[open], open + 1);
            if (close == std::string_view::npos || close - open > 4096) break;
            tag.attributes[key] = std::string(bytes.substr(open + 1, close - open - 1));
            at_ = close + 1;
        }
        reject(source_, "", "The tag <" + name + "> is not complete.",
               "It was cut short; export or copy it again.");
    }

    const Source& source_;
    std::size_t at_ = 0;
};

const std::string& attribute(const Source& source, const Tag& tag, const char* name) {
    const auto found = tag.attributes.find(name);
    if (found == tag.attributes.end())
        reject(source, "<" + tag.name + ">", std::string("It has no ") + name + ".", kExportAgain);
    return found->second;
}

std::vector<double> numbersIn(const Source& source, const Tag& tag, const char* name,
                              std::size_t count) {
    const std::string& text = attribute(source, tag, name);
    std::vector<double> list;
    std::size_t at = 0;
    while (list.size() <= count) {
        const std::size_t start = text.find_first_not_of(" \t\r\n", at);
        if (start == std::string::npos) break;
        const std::size_t end = std::min(text.find_first_of(" \t\r\n", start), text.size());
        const auto value = parseNumber(std::string_view(text).substr(start, end - start));
        if (!value)
            reject(source, name, inQuotes(text.substr(start, end - start)) + " is not a number.",
                   kExportAgain);
        list.push_back(*value);
        at = end;
    }
    if (list.size() != count)
        reject(source, name, "It must be " + std::to_string(count) + " numbers.", kExportAgain);
    return list;
}

Kind xmlKind(const Source& source, const std::string& name) {
    static const std::map<std::string, Kind> kinds = {
        {"Int8", Kind::Int8},     {"UInt8", Kind::UInt8},   {"Int16", Kind::Int16},
        {"UInt16", Kind::UInt16}, {"Int32", Kind::Int32},   {"UInt32", Kind::UInt32},
        {"Int64", Kind::Int64},   {"UInt64", Kind::UInt64}, {"Float32", Kind::Float},
        {"Float64", Kind::Double}};
    const auto found = kinds.find(name);
    if (found == kinds.end())
        reject(source, "DataArray", inQuotes(name) + " is no type of grey values.", kExportAgain);
    return found->second;
}

int base64Value(char c) {
    if (c >= 'A' && c <= 'Z') return c - 'A';
    if (c >= 'a' && c <= 'z') return c - 'a' + 26;
    if (c >= '0' && c <= '9') return c - '0' + 52;
    if (c == '+') return 62;
    if (c == '/') return 63;
    return -1;
}

// Undoes one run of base64 from `at` on, up to `most` bytes; moves `at` behind it. Runs end at '='
// or at anything that is no sign of base64.
std::string unbase64(std::string_view text, std::size_t& at, std::uint64_t most) {
    std::string out;
    std::uint32_t bits = 0;
    int have = 0;
    while (at < text.size() && out.size() < most) {
        const int value = base64Value(text[at]);
        if (value < 0) break;
        ++at;
        bits = bits << 6 | static_cast<std::uint32_t>(value);
        have += 6;
        if (have >= 8) {
            have -= 8;
            out.push_back(static_cast<char>(bits >> have & 0xff));
        }
    }
    // What is left of the last four signs.
    while (at < text.size() && text[at] == '=')
        ++at;
    return out;
}

class XmlBlock {
  public:
    // `text`: where the data begin; `encoded`: base64, else raw.
    XmlBlock(const Source& source, std::string_view text, bool encoded, std::size_t wordBytes,
             bool bigEndian)
        : source_(source),
          text_(text),
          encoded_(encoded),
          wordBytes_(wordBytes),
          bigEndian_(bigEndian) {}

    // Voxels of so many bytes, packed in blocks by zlib or as they are.
    std::string read(std::uint64_t bytes, bool packed) {
        if (!packed) {
            // One run: the count and the voxels.
            const std::string whole = take(wordBytes_ + bytes);
            if (word(whole, 0) != bytes) tooShort();
            return whole.substr(wordBytes_);
        }
        // A run of its own for the table: blocks, their size, the last one's, packed sizes. Filled
        // up with '=', a run ends where its bytes end.
        const std::size_t start = at_;
        const std::string head = take(3 * wordBytes_);
        const std::uint64_t blocks = word(head, 0), size = word(head, 1), last = word(head, 2);
        if (blocks == 0 || size == 0 || last > size || size > bytes || blocks > bytes / size + 1 ||
            (blocks - 1) * size + (last == 0 ? size : last) != bytes)
            reject(source_, "", "The table of the packed blocks does not fit the volume.",
                   kExportAgain);
        at_ = start;
        const std::string table = take((3 + blocks) * wordBytes_);
        std::uint64_t packedBytes = 0;
        for (std::uint64_t i = 0; i < blocks; ++i) {
            const std::uint64_t one = word(table, 3 + i);
            if (one > text_.size()) tooShort();
            packedBytes += one;
        }
        if (packedBytes > text_.size()) tooShort();
        const std::string all = take(packedBytes);
        std::string out;
        std::uint64_t from = 0;
        for (std::uint64_t i = 0; i < blocks; ++i) {
            const std::uint64_t one = word(table, 3 + i);
            const std::uint64_t made = i + 1 < blocks || last == 0 ? size : last;
            out += inflated(source_, std::string_view(all).substr(from, one), made);
            from += one;
        }
        return out;
    }

  private:
    [[noreturn]] void tooShort() const {
        reject(source_, "", "The voxels are fewer than the volume announces.",
               "It was cut short; export or copy it again.");
    }
    std::string take(std::uint64_t bytes) {
        if (bytes > text_.size()) tooShort();
        if (!encoded_) {
            if (bytes > text_.size() - at_) tooShort();
            const std::string part(text_.substr(at_, static_cast<std::size_t>(bytes)));
            at_ += static_cast<std::size_t>(bytes);
            return part;
        }
        std::string part = unbase64(text_, at_, bytes);
        if (part.size() < bytes) tooShort();
        return part;
    }
    std::uint64_t word(const std::string& bytes, std::uint64_t index) const {
        std::uint64_t value = 0;
        for (std::size_t i = 0; i < wordBytes_; ++i) {
            const std::size_t k = bigEndian_ ? i : wordBytes_ - 1 - i;
            value = value << 8 | static_cast<unsigned char>(
                                     bytes[static_cast<std::size_t>(index) * wordBytes_ + k]);
        }
        return value;
    }

    const Source& source_;
    std::string_view text_;
    bool encoded_;
    std::size_t wordBytes_;
    bool bigEndian_;
    std::size_t at_ = 0;
};

}  // namespace

Volume readVtkLegacy(const Source& source) {
    Volume volume;
    Words words(source, 0);
    words.skipLine();  // version
    words.next();
    words.skipLine();  // title
    const std::string_view form = words.next();
    const bool binary = sameWord(form, "binary");
    if (!binary && !sameWord(form, "ascii"))
        reject(source, words.place(), inQuotes(form) + " is neither ASCII nor BINARY.",
               kExportAgain);
    if (!sameWord(words.next(), "dataset") || !sameWord(words.next(), "structured_points"))
        reject(source, words.place(), "It is no DATASET STRUCTURED_POINTS.",
               "Export the volume as image data.");
    bool sized = false;
    long long points = -1;
    for (;;) {
        const std::string_view key = words.next();
        if (sameWord(key, "dimensions")) {
            setSize(source, volume, wholeNumbers(source, words));
            sized = true;
        } else if (sameWord(key, "origin")) {
            volume.origin_mm = threeNumbers(words);
        } else if (sameWord(key, "spacing") || sameWord(key, "aspect_ratio")) {
            volume.step_mm = threeNumbers(words).asDiagonal();
        } else if (sameWord(key, "point_data")) {
            const auto count = parseInteger(words.next());
            points = count ? *count : -1;
            break;
        } else {
            reject(source, words.place(),
                   key.empty() ? "The file ends before its POINT_DATA."
                               : inQuotes(key) + " does not belong here.",
                   kExportAgain);
        }
    }
    if (!sized || points != static_cast<long long>(volume.count()))
        reject(source, words.place(), "POINT_DATA is not for as many points as DIMENSIONS say.",
               kExportAgain);
    if (!sameWord(words.next(), "scalars"))
        reject(source, words.place(), "SCALARS were expected.", "Export one grey value per voxel.");
    words.next();  // name
    const std::string type(words.next());
    static const std::map<std::string, Kind> kinds = {
        {"char", Kind::Int8},          {"unsigned_char", Kind::UInt8},
        {"short", Kind::Int16},        {"unsigned_short", Kind::UInt16},
        {"int", Kind::Int32},          {"unsigned_int", Kind::UInt32},
        {"vtktypeint64", Kind::Int64}, {"vtktypeuint64", Kind::UInt64},
        {"long", Kind::Int64},         {"unsigned_long", Kind::UInt64},
        {"float", Kind::Float},        {"double", Kind::Double}};
    const auto kind = kinds.find(type);
    if (kind == kinds.end())
        reject(source, words.place(), inQuotes(type) + " is no type of grey values.", kExportAgain);
    std::string_view word = words.next();
    if (parseInteger(word)) {
        if (word != "1")
            reject(source, words.place(), "It has several values per voxel.",
                   "Export one grey value each.");
        word = words.next();
    }
    if (!sameWord(word, "lookup_table"))
        reject(source, words.place(), "LOOKUP_TABLE was expected.", kExportAgain);
    words.next();
    words.skipLine();
    std::size_t start = words.at();
    if (start < source.bytes.size()) ++start;  // the end of the line
    if (binary)
        fillFromBytes(source, volume, source.bytes.substr(start), kind->second, true);
    else
        fillFromText(source, volume, start);
    return volume;
}

Volume readVtkXml(const Source& source) {
    Tags tags(source);
    const Tag file = tags.find("VTKFile");
    if (attribute(source, file, "type") != "ImageData")
        reject(source, "<VTKFile>", "It holds no ImageData.", "Export the volume as image data.");
    const auto order = file.attributes.find("byte_order");
    const bool bigEndian = order != file.attributes.end() && order->second == "BigEndian";
    const auto header = file.attributes.find("header_type");
    const std::size_t wordBytes =
        header != file.attributes.end() && header->second == "UInt64" ? 8 : 4;
    const auto packer = file.attributes.find("compressor");
    const bool packed = packer != file.attributes.end() && !packer->second.empty();
    if (packed && packer->second != "vtkZLibDataCompressor")
        reject(source, "<VTKFile>", inQuotes(packer->second) + " cannot be unpacked.",
               "Export it packed by zlib or not packed.");
    const Tag image = tags.find("ImageData");
    const auto extent = numbersIn(source, image, "WholeExtent", 6);
    Volume volume;
    std::array<long long, 3> size{};
    Eigen::Vector3d first;
    for (std::size_t i = 0; i < 3; ++i) {
        size[i] =
            static_cast<long long>(std::clamp(extent[2 * i + 1] - extent[2 * i] + 1.0, -1.0, 1e9));
        first[static_cast<Eigen::Index>(i)] = extent[2 * i];
    }
    setSize(source, volume, size);
    const auto spacing = numbersIn(source, image, "Spacing", 3);
    const auto origin = numbersIn(source, image, "Origin", 3);
    Eigen::Matrix3d direction = Eigen::Matrix3d::Identity();
    if (image.attributes.contains("Direction")) {
        const auto n = numbersIn(source, image, "Direction", 9);
        direction << n[0], n[1], n[2], n[3], n[4], n[5], n[6], n[7], n[8];
    }
    volume.step_mm = direction * Eigen::Vector3d(spacing[0], spacing[1], spacing[2]).asDiagonal();
    volume.origin_mm = Eigen::Vector3d(origin[0], origin[1], origin[2]) + volume.step_mm * first;
    const Tag piece = tags.find("Piece");
    if (numbersIn(source, piece, "Extent", 6) != extent)
        reject(source, "<Piece>", "The volume is in several pieces.", "Export it as one.");
    tags.find("PointData");
    const Tag array = tags.find("DataArray");
    const Kind kind = xmlKind(source, attribute(source, array, "type"));
    const auto components = array.attributes.find("NumberOfComponents");
    if (components != array.attributes.end() && components->second != "1")
        reject(source, "<DataArray>", "It has several values per voxel.",
               "Export one grey value each.");
    const std::string& format = attribute(source, array, "format");
    const std::uint64_t bytes = static_cast<std::uint64_t>(volume.count()) * bytesOf(kind);
    if (format == "ascii") {
        fillFromText(source, volume, array.end);
        return volume;
    }
    std::size_t start = array.end;
    bool encoded = true;
    if (format == "appended") {
        const double offset = numbersIn(source, array, "offset", 1)[0];
        const Tag appended = tags.find("AppendedData");
        encoded = attribute(source, appended, "encoding") == "base64";
        start = source.bytes.find('_', appended.end);
        if (start == std::string_view::npos || !(offset >= 0.0) ||
            offset >= static_cast<double>(source.bytes.size() - start))
            reject(source, "<AppendedData>", "The voxels do not begin inside the file.",
                   kExportAgain);
        start += 1 + static_cast<std::size_t>(offset);
    } else if (format == "binary") {
        start = source.bytes.find_first_not_of(" \t\r\n", start);
        if (start == std::string_view::npos)
            reject(source, "<DataArray>", "It is empty.", kExportAgain);
    } else {
        reject(source, "<DataArray>", inQuotes(format) + " is none of ascii, binary, appended.",
               kExportAgain);
    }
    XmlBlock block(source, source.bytes.substr(std::min(start, source.bytes.size())), encoded,
                   wordBytes, bigEndian);
    fillFromBytes(source, volume, block.read(bytes, packed), kind, bigEndian);
    return volume;
}

}  // namespace macle::volume_file
