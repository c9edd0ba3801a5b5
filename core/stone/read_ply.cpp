// PLY, text and binary of both byte orders. Elements and properties that are not needed are
// passed over by their declared types.
#include <algorithm>
#include <bit>
#include <cmath>
#include <cstring>
#include <limits>

#include "core/base/numbers.h"
#include "core/stone/surface_file.h"

namespace macle::surface_file {

namespace {

constexpr const char* kExportAgain = "Export the surface again as STL, PLY or OBJ.";
constexpr const char* kCutShort = "It was cut short or written wrongly; export or copy it again.";

enum class Type { Int8, Uint8, Int16, Uint16, Int32, Uint32, Float32, Float64 };

std::size_t sizeOf(Type type) {
    switch (type) {
        case Type::Int8:
        case Type::Uint8:
            return 1;
        case Type::Int16:
        case Type::Uint16:
            return 2;
        case Type::Int32:
        case Type::Uint32:
        case Type::Float32:
            return 4;
        case Type::Float64:
            return 8;
    }
    return 8;
}

struct Property {
    std::string name;
    Type type = Type::Float32;
    bool isList = false;
    Type countType = Type::Uint8;
};

struct Element {
    std::string name;
    std::uint64_t count = 0;
    std::vector<Property> properties;
};

enum class Coding { Text, LittleEndian, BigEndian };

struct Header {
    Coding coding = Coding::Text;
    std::vector<Element> elements;
    std::size_t bodyStart = 0;
    long long lines = 0;
};

std::vector<std::string_view> wordsOf(std::string_view line) {
    std::vector<std::string_view> words;
    std::size_t i = 0;
    while (i < line.size()) {
        const std::size_t start = line.find_first_not_of(" \t\r", i);
        if (start == std::string_view::npos) break;
        i = std::min(line.find_first_of(" \t\r", start), line.size());
        words.push_back(line.substr(start, i - start));
    }
    return words;
}

Type typeNamed(const Source& source, const std::string& place, std::string_view name) {
    struct Known {
        std::string_view name;
        Type type;
    };
    static constexpr Known kKnown[] = {
        {"char", Type::Int8},      {"int8", Type::Int8},       {"uchar", Type::Uint8},
        {"uint8", Type::Uint8},    {"short", Type::Int16},     {"int16", Type::Int16},
        {"ushort", Type::Uint16},  {"uint16", Type::Uint16},   {"int", Type::Int32},
        {"int32", Type::Int32},    {"uint", Type::Uint32},     {"uint32", Type::Uint32},
        {"float", Type::Float32},  {"float32", Type::Float32}, {"double", Type::Float64},
        {"float64", Type::Float64}};
    for (const Known& known : kKnown)
        if (known.name == name) return known.type;
    reject(source, place, inQuotes(name) + " is no PLY number type.", kExportAgain);
}

Property readProperty(const Source& source, const std::string& place,
                      const std::vector<std::string_view>& words) {
    Property property;
    if (words.size() == 5 && words[1] == "list") {
        property.isList = true;
        property.countType = typeNamed(source, place, words[2]);
        if (property.countType == Type::Float32 || property.countType == Type::Float64)
            reject(source, place, "A list is counted by a fraction.", kExportAgain);
        property.type = typeNamed(source, place, words[3]);
    } else if (words.size() == 3) {
        property.type = typeNamed(source, place, words[1]);
    } else {
        reject(source, place, "A property is not declared as PLY asks.", kExportAgain);
    }
    property.name = std::string(words.back());
    return property;
}

Coding readCoding(const Source& source, const std::string& place,
                  const std::vector<std::string_view>& words) {
    if (words.size() == 3 && words[2] == "1.0") {
        if (words[1] == "ascii") return Coding::Text;
        if (words[1] == "binary_little_endian") return Coding::LittleEndian;
        if (words[1] == "binary_big_endian") return Coding::BigEndian;
    }
    reject(source, place, "The PLY format is neither ascii nor binary, version 1.0.", kExportAgain);
}

Header readHeader(const Source& source) {
    Header header;
    // The first line shows how lines end here; a binary body starts right behind the last one.
    const std::size_t nameEnd = source.bytes.find_first_of("\r\n");
    const bool oldMac = nameEnd != std::string_view::npos && source.bytes[nameEnd] == '\r' &&
                        (nameEnd + 1 >= source.bytes.size() || source.bytes[nameEnd + 1] != '\n');
    const char lineEnd = oldMac ? '\r' : '\n';
    bool codingKnown = false;
    std::size_t at = 0;
    for (;;) {
        const std::size_t end = source.bytes.find(lineEnd, at);
        ++header.lines;
        const std::string place = "line " + std::to_string(header.lines);
        if (end == std::string_view::npos)
            reject(source, place, "The PLY header has no 'end_header'.", kCutShort);
        const auto words = wordsOf(source.bytes.substr(at, end - at));
        at = end + 1;
        if (words.empty() || header.lines == 1) continue;
        if (words[0] == "comment" || words[0] == "obj_info") continue;
        if (words[0] == "end_header") break;
        if (words[0] == "format") {
            header.coding = readCoding(source, place, words);
            codingKnown = true;
        } else if (words[0] == "element") {
            const auto count = words.size() == 3 ? parseInteger(words[2]) : std::nullopt;
            if (!count || *count < 0)
                reject(source, place, "An element is not declared as PLY asks.", kExportAgain);
            header.elements.push_back(
                {std::string(words[1]), static_cast<std::uint64_t>(*count), {}});
        } else if (words[0] == "property" && !header.elements.empty()) {
            header.elements.back().properties.push_back(readProperty(source, place, words));
        } else {
            reject(source, place, inQuotes(words[0]) + " does not belong in a PLY header.",
                   kExportAgain);
        }
    }
    if (!codingKnown) reject(source, "", "The PLY header does not say its format.", kExportAgain);
    header.bodyStart = at;
    return header;
}

// Reads one value after the other, whatever the coding.
class Values {
  public:
    Values(const Source& source, const Header& header)
        : source_(source),
          coding_(header.coding),
          words_(source, header.bodyStart),
          at_(header.bodyStart) {
        words_.countLines(header.lines);
    }

    double next(Type type) {
        if (coding_ == Coding::Text) return words_.number();
        const std::size_t size = sizeOf(type);
        if (left() < size) reject(source_, place(), "The file ends within its data.", kCutShort);
        const double value = decode(type);
        at_ += size;
        return value;
    }
    void skip(Type type, std::uint64_t count) {
        if (coding_ == Coding::Text) {
            for (std::uint64_t i = 0; i < count; ++i)
                if (words_.next().empty())
                    reject(source_, place(), "The file ends within its data.", kCutShort);
        } else {
            if (count > left() / sizeOf(type))
                reject(source_, place(), "The file ends within its data.", kCutShort);
            at_ += static_cast<std::size_t>(count) * sizeOf(type);
        }
    }
    // The length of a list; it must fit into what is left of the file.
    std::uint64_t listLength(const Property& property) {
        const double value = next(property.countType);
        const double room =
            static_cast<double>(left()) /
            (coding_ == Coding::Text ? 1.0 : static_cast<double>(sizeOf(property.type)));
        if (!(value >= 0.0) || value != std::floor(value))
            reject(source_, place(), "A list has a length that is no count.", kCutShort);
        if (value > room)
            reject(source_, place(),
                   "A list announces " + formatFixed(value, 0) +
                       " entries, more than the rest of the file can hold.",
                   kCutShort);
        return static_cast<std::uint64_t>(value);
    }
    std::size_t at() const { return coding_ == Coding::Text ? words_.at() : at_; }
    std::size_t left() const { return source_.bytes.size() - at(); }
    std::string place() const {
        return coding_ == Coding::Text ? words_.place() : "byte " + std::to_string(at_);
    }
    bool isText() const { return coding_ == Coding::Text; }

  private:
    template <class Bits>
    Bits bits() const {
        Bits value = 0;
        for (std::size_t i = 0; i < sizeof(Bits); ++i) {
            const std::size_t from = coding_ == Coding::BigEndian ? i : sizeof(Bits) - 1 - i;
            value = static_cast<Bits>(static_cast<std::uint64_t>(value) << 8 |
                                      static_cast<unsigned char>(source_.bytes[at_ + from]));
        }
        return value;
    }
    double decode(Type type) const {
        switch (type) {
            case Type::Int8:
                return static_cast<std::int8_t>(bits<std::uint8_t>());
            case Type::Uint8:
                return bits<std::uint8_t>();
            case Type::Int16:
                return static_cast<std::int16_t>(bits<std::uint16_t>());
            case Type::Uint16:
                return bits<std::uint16_t>();
            case Type::Int32:
                return static_cast<std::int32_t>(bits<std::uint32_t>());
            case Type::Uint32:
                return bits<std::uint32_t>();
            case Type::Float32:
                return std::bit_cast<float>(bits<std::uint32_t>());
            case Type::Float64:
                return std::bit_cast<double>(bits<std::uint64_t>());
        }
        return 0.0;
    }

    const Source& source_;
    Coding coding_;
    Words words_;
    std::size_t at_;
};

// Least number of bytes that so many records of an element need.
void checkRoom(const Source& source, const Values& values, const Element& element) {
    std::uint64_t perRecord = 0;
    for (const Property& property : element.properties)
        perRecord +=
            values.isText() ? 2 : sizeOf(property.isList ? property.countType : property.type);
    // In text the last value needs no space behind it.
    const std::uint64_t room = values.left() + (values.isText() ? 1 : 0);
    if (perRecord > 0 && element.count > room / perRecord)
        reject(source, "",
               "The header announces " + std::to_string(element.count) + " entries of " +
                   inQuotes(element.name) + ", more than the rest of the file can hold.",
               kCutShort);
}

void skipProperty(Values& values, const Property& property) {
    values.skip(property.type, property.isList ? values.listLength(property) : 1);
}

void skipElement(const Source& source, Values& values, const Element& element) {
    if (element.properties.empty()) return;
    for (std::uint64_t i = 0; i < element.count; ++i) {
        if (i % kPollEvery == 0) source.reached(values.at());
        for (const Property& property : element.properties)
            skipProperty(values, property);
    }
}

void readVertices(const Source& source, Values& values, const Element& element,
                  TriangleMesh& mesh) {
    std::vector<int> axisOf(element.properties.size(), -1);
    int found = 0;
    for (std::size_t i = 0; i < element.properties.size(); ++i)
        for (int axis = 0; axis < 3; ++axis)
            if (!element.properties[i].isList &&
                element.properties[i].name == std::string(1, "xyz"[axis])) {
                axisOf[i] = axis;
                ++found;
            }
    if (found != 3)
        reject(source, "", "Its vertices do not have one x, one y and one z.", kExportAgain);
    mesh.vertices.reserve(static_cast<std::size_t>(element.count));
    for (std::uint64_t n = 0; n < element.count; ++n) {
        if (n % kPollEvery == 0) source.reached(values.at());
        Eigen::Vector3d point = Eigen::Vector3d::Zero();
        for (std::size_t i = 0; i < axisOf.size(); ++i) {
            const Property& property = element.properties[i];
            if (axisOf[i] < 0) {
                skipProperty(values, property);
                continue;
            }
            const double value = values.next(property.type);
            if (!(std::abs(value) <= kFarthestCoordinate_mm))
                checkedCoordinate(source, "vertex " + std::to_string(n + 1), value);
            point[axisOf[i]] = value;
        }
        mesh.vertices.push_back(point);
    }
}

bool namesCorners(const Property& property) {
    return property.isList &&
           (property.name == "vertex_indices" || property.name == "vertex_index");
}

void readFaces(const Source& source, Values& values, const Element& element,
               std::uint64_t vertexCount, TriangleMesh& mesh) {
    if (std::count_if(element.properties.begin(), element.properties.end(), namesCorners) != 1)
        reject(source, "", "Its faces do not have one list 'vertex_indices'.", kExportAgain);
    mesh.triangles.reserve(static_cast<std::size_t>(element.count));
    std::vector<std::uint32_t> corners;
    for (std::uint64_t n = 0; n < element.count; ++n) {
        if (n % kPollEvery == 0) source.reached(values.at());
        for (const Property& property : element.properties) {
            if (!namesCorners(property)) {
                skipProperty(values, property);
                continue;
            }
            const std::uint64_t length = values.listLength(property);
            const auto place = [&] { return "face " + std::to_string(n + 1); };
            if (length < 3)
                reject(source, place(), "It has fewer than three corners.", kExportAgain);
            corners.clear();
            for (std::uint64_t i = 0; i < length; ++i) {
                const double value = values.next(property.type);
                if (!(value >= 0.0 && value < static_cast<double>(vertexCount)) ||
                    value != std::floor(value))
                    reject(source, place(),
                           "It names vertex " + formatExact(value) + ", but the file has only " +
                               std::to_string(vertexCount) + " vertices, counted from 0.",
                           kExportAgain);
                corners.push_back(static_cast<std::uint32_t>(value));
            }
            for (std::size_t i = 2; i < corners.size(); ++i)
                mesh.triangles.push_back({corners[0], corners[i - 1], corners[i]});
        }
    }
}

}  // namespace

TriangleMesh readPly(const Source& source) {
    const Header header = readHeader(source);
    const auto countNamed = [&](std::string_view name) {
        return std::count_if(header.elements.begin(), header.elements.end(),
                             [&](const Element& e) { return e.name == name; });
    };
    if (countNamed("vertex") != 1 || countNamed("face") != 1)
        reject(source, "", "It does not have one element 'vertex' and one element 'face'.",
               "Export it as a surface with faces, not as a cloud of points.");
    std::uint64_t vertexCount = 0;
    for (const Element& element : header.elements)
        if (element.name == "vertex") vertexCount = element.count;
    if (vertexCount > std::numeric_limits<std::uint32_t>::max())
        reject(source, "",
               "The header announces " + std::to_string(vertexCount) +
                   " entries of 'vertex', more than the rest of the file can hold.",
               kCutShort);

    TriangleMesh mesh;
    Values values(source, header);
    for (const Element& element : header.elements) {
        checkRoom(source, values, element);
        if (element.name == "vertex")
            readVertices(source, values, element, mesh);
        else if (element.name == "face")
            readFaces(source, values, element, vertexCount, mesh);
        else
            skipElement(source, values, element);
    }
    if (mesh.triangles.empty()) reject(source, "", "It holds no faces.", kExportAgain);
    return mesh;
}

}  // namespace macle::surface_file
