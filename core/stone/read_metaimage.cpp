// MetaImage: a header of "Key = Value" lines, ended by ElementDataFile (ITK, "MetaIO" description).
#include <algorithm>
#include <map>

#include "core/base/numbers.h"
#include "core/stone/volume_source.h"

namespace macle::volume_file {

namespace {

using surface_file::sameWord;
using surface_file::Words;

constexpr const char* kExportAgain = "Export the volume again.";
constexpr std::size_t kLongestHeader = 1 << 16;

std::string_view trimmed(std::string_view text) {
    const std::size_t start = text.find_first_not_of(" \t\r");
    if (start == std::string_view::npos) return {};
    return text.substr(start, text.find_last_not_of(" \t\r") - start + 1);
}

class Header {
  public:
    explicit Header(const Source& source) : source_(source) {
        const std::string_view bytes = source.bytes;
        std::size_t at = 0;
        while (at < bytes.size() && at < kLongestHeader) {
            const std::size_t end = std::min(bytes.find('\n', at), bytes.size());
            const std::string_view line = bytes.substr(at, end - at);
            at = std::min(end + 1, bytes.size());
            if (trimmed(line).empty()) continue;
            const std::size_t equals = line.find('=');
            if (equals == std::string_view::npos)
                reject(source, "", inQuotes(line) + " is no line of a MetaImage header.",
                       kExportAgain);
            const std::string key(trimmed(line.substr(0, equals)));
            fields_[key] = std::string(trimmed(line.substr(equals + 1)));
            if (key == "ElementDataFile") {
                dataStart_ = at;
                return;
            }
        }
        reject(source, "", "The MetaImage header has no ElementDataFile.",
               "It was cut short; export or copy it again.");
    }

    std::size_t dataStart() const { return dataStart_; }

    const std::string* find(std::initializer_list<const char*> names) const {
        for (const char* name : names)
            if (const auto found = fields_.find(name); found != fields_.end())
                return &found->second;
        return nullptr;
    }
    const std::string& need(const char* name) const {
        if (const std::string* value = find({name})) return *value;
        reject(source_, "", std::string("The MetaImage header has no ") + name + ".", kExportAgain);
    }
    bool isTrue(const char* name) const {
        const std::string* value = find({name});
        return value && sameWord(*value, "true");
    }
    std::vector<double> numbers(const std::string& text, const char* name,
                                std::size_t count) const {
        return numbersOf(source_, name, text, " \t", count);
    }

  private:
    const Source& source_;
    std::map<std::string, std::string> fields_;
    std::size_t dataStart_ = 0;
};

Kind kindOf(const Source& source, const std::string& name) {
    static const std::map<std::string_view, Kind> kinds = {
        {"MET_CHAR", Kind::Int8},       {"MET_UCHAR", Kind::UInt8},
        {"MET_SHORT", Kind::Int16},     {"MET_USHORT", Kind::UInt16},
        {"MET_INT", Kind::Int32},       {"MET_UINT", Kind::UInt32},
        {"MET_LONG", Kind::Int32},      {"MET_ULONG", Kind::UInt32},
        {"MET_LONG_LONG", Kind::Int64}, {"MET_FLOAT", Kind::Float},
        {"MET_DOUBLE", Kind::Double},   {"MET_ULONG_LONG", Kind::UInt64}};
    const auto found = kinds.find(name);
    if (found == kinds.end())
        reject(source, "ElementType", inQuotes(name) + " is no type of grey values.", kExportAgain);
    return found->second;
}

}  // namespace

Volume readMetaImage(const Source& source) {
    const Header header(source);
    Volume volume;
    if (header.numbers(header.need("NDims"), "NDims", 1)[0] != 3.0)
        reject(source, "NDims", "Only volumes of three dimensions can be used.", kExportAgain);
    const auto sizes = header.numbers(header.need("DimSize"), "DimSize", 3);
    std::array<long long, 3> size{};
    for (std::size_t i = 0; i < 3; ++i)
        size[i] = static_cast<long long>(std::clamp(sizes[i], -1.0, 1e9));
    setSize(source, volume, size);
    double unit = 1.0;
    if (const std::string* name = header.find({"DistanceUnits"})) {
        const auto known = unit_mm(*name);
        if (!known)
            reject(source, "DistanceUnits", inQuotes(*name) + " is no unit of length.",
                   kExportAgain);
        unit = *known;
    }
    Eigen::Vector3d spacing = Eigen::Vector3d::Ones();
    if (const std::string* text = header.find({"ElementSpacing", "ElementSize"})) {
        const auto n = header.numbers(*text, "ElementSpacing", 3);
        spacing = {n[0], n[1], n[2]};
    }
    Eigen::Matrix3d direction = Eigen::Matrix3d::Identity();
    if (const std::string* text = header.find({"TransformMatrix", "Rotation", "Orientation"})) {
        const auto n = header.numbers(*text, "TransformMatrix", 9);
        // Written axis by axis.
        direction << n[0], n[3], n[6], n[1], n[4], n[7], n[2], n[5], n[8];
    }
    volume.step_mm = unit * direction * spacing.asDiagonal();
    if (const std::string* text = header.find({"Offset", "Position", "Origin"})) {
        const auto n = header.numbers(*text, "Offset", 3);
        volume.origin_mm = unit * Eigen::Vector3d(n[0], n[1], n[2]);
    }
    if (const std::string* channels = header.find({"ElementNumberOfChannels"}))
        if (header.numbers(*channels, "ElementNumberOfChannels", 1)[0] != 1.0)
            reject(source, "", "It has several values per voxel.", "Export one grey value each.");
    const Kind kind = kindOf(source, header.need("ElementType"));

    std::string beside;
    std::string_view data = source.bytes.substr(header.dataStart());
    const std::string& where = header.need("ElementDataFile");
    if (!sameWord(where, "local")) {
        beside = readBeside(source, where);
        data = beside;
        if (const std::string* skip = header.find({"HeaderSize"})) {
            const double bytes = header.numbers(*skip, "HeaderSize", 1)[0];
            if (bytes == -1.0 && data.size() >= volume.count() * bytesOf(kind))
                data.remove_prefix(data.size() - volume.count() * bytesOf(kind));
            else if (bytes >= 0.0 && bytes <= static_cast<double>(data.size()))
                data.remove_prefix(static_cast<std::size_t>(bytes));
            else
                reject(source, "HeaderSize", "It is no place in the file.", kExportAgain);
        }
    }
    const std::string* binary = header.find({"BinaryData"});
    if (binary != nullptr && !sameWord(*binary, "true")) {
        if (!beside.empty())
            reject(source, "", "Voxels as text must stand in the file itself.", kExportAgain);
        fillFromText(source, volume, header.dataStart());
        return volume;
    }
    std::string unpacked;
    if (header.isTrue("CompressedData")) {
        unpacked = inflated(source, data, volume.count() * bytesOf(kind));
        data = unpacked;
    }
    fillFromBytes(source, volume, data, kind,
                  header.isTrue("BinaryDataByteOrderMSB") || header.isTrue("ElementByteOrderMSB"));
    return volume;
}

}  // namespace macle::volume_file
