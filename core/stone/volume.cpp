#include "core/stone/volume.h"

#include <algorithm>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/stone/volume_source.h"

namespace macle {

namespace {

using surface_file::sameWord;
using volume_file::reject;
using volume_file::Source;

constexpr std::uintmax_t kLargestFile = std::uintmax_t{4} << 30;
constexpr const char* kKnownForms = "Export the volume as MetaImage, NRRD or VTK image data.";

bool startsWith(std::string_view text, std::string_view start) {
    return text.substr(0, start.size()) == start;
}

}  // namespace

bool isVolumeName(const std::filesystem::path& file) {
    static constexpr const char* kExtensions[] = {".mha", ".mhd", ".nrrd", ".nhdr", ".vtk", ".vti"};
    const std::string extension = file.extension().string();
    return std::any_of(std::begin(kExtensions), std::end(kExtensions),
                       [&](const char* one) { return sameWord(extension, one); });
}

Volume volume_file::readBytes(const Source& source) {
    const std::string extension = source.file.extension().string();
    if (!isVolumeName(source.file))
        throw Error(ErrorCode::BadInput,
                    source.file.string() + ": the extension " + surface_file::inQuotes(extension) +
                        " is not that of a volume.",
                    "Volumes are read from .mha, .mhd, .nrrd, .nhdr, .vtk and .vti files.");
    source.reached(0);
    if (source.bytes.empty()) reject(source, "", "The file is empty.", kKnownForms);
    Volume volume;
    if (startsWith(source.bytes, "NRRD"))
        volume = volume_file::readNrrd(source);
    else if (startsWith(source.bytes, "# vtk DataFile"))
        volume = volume_file::readVtkLegacy(source);
    else if (source.bytes.substr(0, 4096).find("<VTKFile") != std::string_view::npos)
        volume = volume_file::readVtkXml(source);
    else if (sameWord(extension, ".mha") || sameWord(extension, ".mhd"))
        volume = volume_file::readMetaImage(source);
    else
        reject(source, "", "Its content is no MetaImage, NRRD or VTK image data.", kKnownForms);
    volume_file::checkGrid(source, volume);
    return volume;
}

Volume readVolume(const std::filesystem::path& file, Progress* progress) {
    const std::string bytes = surface_file::readWhole(file, kLargestFile);
    return volume_file::readBytes({file, bytes, progress});
}

Histogram histogramOf(const Volume& volume, int steps) {
    require(steps > 0 && !volume.values.empty(), "a histogram has steps and values");
    Histogram histogram;
    const auto [low, high] = std::minmax_element(volume.values.begin(), volume.values.end());
    histogram.low = *low;
    histogram.high = *high;
    histogram.counts.assign(static_cast<std::size_t>(steps), 0);
    const double width = (static_cast<double>(*high) - *low) / steps;
    for (const float value : volume.values) {
        const double at = width > 0.0 ? (static_cast<double>(value) - *low) / width : 0.0;
        ++histogram
              .counts[static_cast<std::size_t>(std::clamp(static_cast<int>(at), 0, steps - 1))];
    }
    return histogram;
}

void writeVolume(const Volume& volume, const std::filesystem::path& file) {
    require(volume.values.size() == volume.count(), "a volume has a value for each voxel");
    Eigen::Vector3d spacing;
    Eigen::Matrix3d direction;
    for (int axis = 0; axis < 3; ++axis) {
        spacing[axis] = volume.step_mm.col(axis).norm();
        direction.col(axis) = volume.step_mm.col(axis) / spacing[axis];
    }
    std::string text =
        "ObjectType = Image\nNDims = 3\nBinaryData = True\n"
        "BinaryDataByteOrderMSB = False\nCompressedData = False\nTransformMatrix =";
    for (int axis = 0; axis < 3; ++axis)
        for (int k = 0; k < 3; ++k)
            text += " " + formatExact(direction(k, axis));
    text += "\nOffset =";
    for (int k = 0; k < 3; ++k)
        text += " " + formatExact(volume.origin_mm[k]);
    text += "\nElementSpacing =";
    for (int k = 0; k < 3; ++k)
        text += " " + formatExact(spacing[k]);
    text += "\nDimSize =";
    for (const int n : volume.size)
        text += " " + std::to_string(n);
    text += "\nElementType = MET_FLOAT\nElementDataFile = LOCAL\n";
    text.append(reinterpret_cast<const char*>(volume.values.data()),
                volume.values.size() * sizeof(float));
    surface_file::writeWhole(file, text);
}

}  // namespace macle
