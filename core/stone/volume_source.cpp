#include "core/stone/volume_source.h"

#include <zlib.h>

#include <Eigen/LU>
#include <algorithm>
#include <bit>
#include <cmath>
#include <cstring>
#include <limits>

#include "core/base/error.h"
#include "core/base/numbers.h"

namespace macle::volume_file {

namespace {

constexpr const char* kExportAgain = "Export the volume again.";

template <class T>
T swapped(T value) {
    std::array<char, sizeof(T)> bytes;
    std::memcpy(bytes.data(), &value, sizeof(T));
    std::reverse(bytes.begin(), bytes.end());
    std::memcpy(&value, bytes.data(), sizeof(T));
    return value;
}

template <class T>
void copyValues(const Source& source, Volume& volume, std::string_view bytes, bool bigEndian) {
    static_assert(std::endian::native == std::endian::little, "the machine is little endian");
    const std::size_t count = volume.count();
    volume.values.resize(count);
    for (std::size_t i = 0; i < count; ++i) {
        if (i % (std::size_t{1} << 20) == 0 && source.progress) source.progress->throwIfCancelled();
        T value;
        std::memcpy(&value, bytes.data() + i * sizeof(T), sizeof(T));
        if (bigEndian) value = swapped(value);
        volume.values[i] = static_cast<float>(value);
        if (!std::isfinite(volume.values[i]))
            reject(source, "voxel " + std::to_string(i + 1), "Its value is not a finite number.",
                   kExportAgain);
    }
}

}  // namespace

std::size_t bytesOf(Kind kind) {
    switch (kind) {
        case Kind::Int8:
        case Kind::UInt8:
            return 1;
        case Kind::Int16:
        case Kind::UInt16:
            return 2;
        case Kind::Int32:
        case Kind::UInt32:
        case Kind::Float:
            return 4;
        case Kind::Int64:
        case Kind::UInt64:
        case Kind::Double:
            return 8;
    }
    return 1;
}

void setSize(const Source& source, Volume& volume, const std::array<long long, 3>& size) {
    std::uint64_t voxels = 1;
    for (std::size_t axis = 0; axis < 3; ++axis) {
        if (size[axis] < 2 || size[axis] > 100'000)
            reject(source, "",
                   "A volume of " + std::to_string(size[0]) + " x " + std::to_string(size[1]) +
                       " x " + std::to_string(size[2]) + " voxels cannot be used.",
                   "Each side must have 2 to 100000 voxels.");
        voxels *= static_cast<std::uint64_t>(size[axis]);
        volume.size[axis] = static_cast<int>(size[axis]);
    }
    if (voxels > kMostVoxels)
        reject(source, "", "The volume has " + std::to_string(voxels) + " voxels, too many.",
               "Crop it to the stone or halve its resolution.");
}

void checkGrid(const Source& source, const Volume& volume) {
    constexpr double kLeastStep_mm = 1e-7;
    constexpr double kGreatestStep_mm = 1e3;
    constexpr double kLeastSine = 1e-3;
    for (int axis = 0; axis < 3; ++axis) {
        const double length = volume.step_mm.col(axis).norm();
        if (!(length >= kLeastStep_mm && length <= kGreatestStep_mm))
            reject(source, "",
                   "A voxel is " + formatExact(length) + " mm wide, which no scan of a stone is.",
                   "Check the unit and the spacing of the export.");
    }
    Eigen::Matrix3d unit = volume.step_mm;
    unit.colwise().normalize();
    if (!(std::abs(unit.determinant()) > kLeastSine))
        reject(source, "", "The directions of the grid lie in one plane.", kExportAgain);
    if (!(volume.origin_mm.cwiseAbs().maxCoeff() <= surface_file::kFarthestCoordinate_mm))
        reject(source, "", "The volume lies beyond 1000000 mm.",
               "Check the unit and the origin of the export.");
    require(volume.values.size() == volume.count(), "a volume has a value for each voxel");
}

void fillFromBytes(const Source& source, Volume& volume, std::string_view bytes, Kind kind,
                   bool bigEndian) {
    const std::uint64_t needed = static_cast<std::uint64_t>(volume.count()) * bytesOf(kind);
    if (bytes.size() < needed)
        reject(source, "",
               "It announces " + std::to_string(needed) + " bytes of voxels, but has " +
                   std::to_string(bytes.size()) + ".",
               "It was cut short; export or copy it again.");
    switch (kind) {
        case Kind::Int8:
            return copyValues<std::int8_t>(source, volume, bytes, bigEndian);
        case Kind::UInt8:
            return copyValues<std::uint8_t>(source, volume, bytes, bigEndian);
        case Kind::Int16:
            return copyValues<std::int16_t>(source, volume, bytes, bigEndian);
        case Kind::UInt16:
            return copyValues<std::uint16_t>(source, volume, bytes, bigEndian);
        case Kind::Int32:
            return copyValues<std::int32_t>(source, volume, bytes, bigEndian);
        case Kind::UInt32:
            return copyValues<std::uint32_t>(source, volume, bytes, bigEndian);
        case Kind::Int64:
            return copyValues<std::int64_t>(source, volume, bytes, bigEndian);
        case Kind::UInt64:
            return copyValues<std::uint64_t>(source, volume, bytes, bigEndian);
        case Kind::Float:
            return copyValues<float>(source, volume, bytes, bigEndian);
        case Kind::Double:
            return copyValues<double>(source, volume, bytes, bigEndian);
    }
}

void fillFromText(const Source& source, Volume& volume, std::size_t start) {
    const std::size_t count = volume.count();
    // A number takes a digit and a space.
    if ((source.bytes.size() - start) / 2 + 1 < count)
        reject(source, "",
               "It announces " + std::to_string(count) +
                   " numbers, more than the rest of the file can hold.",
               "It was cut short; export or copy it again.");
    volume.values.resize(count);
    surface_file::Words words(source, start);
    words.countLines(std::count(source.bytes.begin(),
                                source.bytes.begin() + static_cast<std::ptrdiff_t>(start), '\n'));
    for (std::size_t i = 0; i < count; ++i) {
        const double value = words.number();
        if (std::abs(value) > std::numeric_limits<float>::max())
            reject(source, words.place(), "A value is too large.", kExportAgain);
        volume.values[i] = static_cast<float>(value);
        if (i % surface_file::kPollEvery == 0) source.reached(words.at());
    }
}

std::string inflated(const Source& source, std::string_view packed, std::uint64_t expected) {
    // Deflate packs at most 1032 to 1, so a short file cannot ask for much memory.
    constexpr std::uint64_t kBestRatio = 1032;
    if (expected / kBestRatio > packed.size() + 64)
        reject(source, "",
               "The packed voxels are too short to hold " + std::to_string(expected) + " bytes.",
               "It was cut short; export or copy it again.");
    std::string out(static_cast<std::size_t>(expected), '\0');
    z_stream stream{};
    constexpr int kZlibOrGzip = 15 + 32;
    require(inflateInit2(&stream, kZlibOrGzip) == Z_OK, "deflate can be undone");
    std::size_t taken = 0, made = 0;
    int code = Z_OK;
    while (code == Z_OK && made < out.size()) {
        const std::size_t in = std::min<std::size_t>(packed.size() - taken, 1 << 26);
        const std::size_t room = std::min<std::size_t>(out.size() - made, 1 << 26);
        stream.next_in =
            reinterpret_cast<Bytef*>(const_cast<char*>(packed.data() + taken));  // only read
        stream.avail_in = static_cast<uInt>(in);
        stream.next_out = reinterpret_cast<Bytef*>(out.data() + made);
        stream.avail_out = static_cast<uInt>(room);
        code = inflate(&stream, Z_NO_FLUSH);
        taken += in - stream.avail_in;
        made += room - stream.avail_out;
        if (code == Z_BUF_ERROR || (in == 0 && made < out.size())) break;
        if (source.progress && source.progress->cancelled()) break;
    }
    inflateEnd(&stream);
    if (source.progress) source.progress->throwIfCancelled();
    if (made != out.size())
        reject(source, "",
               "The packed voxels are damaged or too short (" + std::to_string(made) + " of " +
                   std::to_string(expected) + " bytes).",
               "Export or copy it again.");
    return out;
}

std::optional<double> unit_mm(std::string_view name) {
    struct Unit {
        std::string_view name;
        double mm;
    };
    static constexpr Unit kUnits[] = {
        {"mm", 1.0},         {"millimeter", 1.0}, {"millimetre", 1.0},  {"um", 1e-3},
        {"micron", 1e-3},    {"microns", 1e-3},   {"micrometer", 1e-3}, {"\xc2\xb5m", 1e-3},
        {"\xce\xbcm", 1e-3}, {"\xb5m", 1e-3},     {"cm", 10.0},         {"m", 1000.0},
        {"meter", 1000.0},   {"nm", 1e-6},        {"in", 25.4}};
    for (const Unit& unit : kUnits)
        if (surface_file::sameWord(name, unit.name)) return unit.mm;
    return std::nullopt;
}

std::vector<double> numbersOf(const Source& source, const char* field, const std::string& text,
                              const char* between, std::size_t count) {
    std::vector<double> list;
    std::size_t at = 0;
    while (at < text.size() && list.size() <= count) {
        const std::size_t start = text.find_first_not_of(between, at);
        if (start == std::string::npos) break;
        const std::size_t end = std::min(text.find_first_of(between, start), text.size());
        const auto value = parseNumber(std::string_view(text).substr(start, end - start));
        if (!value)
            reject(source, field,
                   inQuotes(text.substr(start, end - start)) + " is not a finite number.",
                   kExportAgain);
        list.push_back(*value);
        at = end;
    }
    if (list.size() != count)
        reject(source, field, "It must be " + std::to_string(count) + " numbers.", kExportAgain);
    return list;
}

std::string readBeside(const Source& source, const std::string& name) {
    const std::filesystem::path given(name);
    if (name.empty() || given.has_parent_path() || given.is_absolute() || name == ".." ||
        name.find('%') != std::string::npos || name.find('\0') != std::string::npos)
        reject(source, "",
               "It names its voxels as " + inQuotes(name) + ", which is no file beside it.",
               "Put header and voxels into one folder, in one file each.");
    const std::filesystem::path file = source.file.parent_path() / given;
    constexpr std::uintmax_t kLargest = std::uintmax_t{8} << 30;
    return surface_file::readWhole(file, kLargest);
}

}  // namespace macle::volume_file
