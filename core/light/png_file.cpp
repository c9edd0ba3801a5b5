#include "core/light/png_file.h"

#include <zlib.h>

#include <fstream>
#include <string>

#include "core/base/error.h"

namespace macle {
namespace {

void addNumber(std::string& bytes, std::uint32_t value) {
    for (int shift = 24; shift >= 0; shift -= 8)
        bytes.push_back(static_cast<char>(value >> shift & 0xFF));
}

void addChunk(std::string& file, const std::string& kind, const std::string& content) {
    addNumber(file, static_cast<std::uint32_t>(content.size()));
    const std::string checked = kind + content;
    file += checked;
    addNumber(file,
              static_cast<std::uint32_t>(crc32(0, reinterpret_cast<const Bytef*>(checked.data()),
                                               static_cast<uInt>(checked.size()))));
}

}  // namespace

void writePng(const Raster& raster, const std::filesystem::path& file) {
    const auto row = static_cast<std::size_t>(raster.width) * 3;
    if (raster.width <= 0 || raster.height <= 0 ||
        raster.rgb.size() != row * static_cast<std::size_t>(raster.height))
        throw Error(ErrorCode::BadUsage, "A picture's sides and bytes do not agree.",
                    "Give three bytes for each pixel.");
    // Each row begins with its filter: 1, each byte less that of the pixel before it.
    std::string rows;
    rows.reserve((row + 1) * static_cast<std::size_t>(raster.height));
    for (int y = 0; y < raster.height; ++y) {
        const std::uint8_t* pixels = raster.rgb.data() + row * static_cast<std::size_t>(y);
        rows.push_back(1);
        for (std::size_t i = 0; i < row; ++i)
            rows.push_back(static_cast<char>(pixels[i] - (i < 3 ? 0 : pixels[i - 3])));
    }
    uLongf packedSize = compressBound(static_cast<uLong>(rows.size()));
    std::string packed(packedSize, '\0');
    const int outcome =
        compress2(reinterpret_cast<Bytef*>(packed.data()), &packedSize,
                  reinterpret_cast<const Bytef*>(rows.data()), static_cast<uLong>(rows.size()), 6);
    require(outcome == Z_OK, "a picture can be packed");
    packed.resize(packedSize);

    std::string bytes = "\x89PNG\r\n\x1a\n";
    std::string header;
    addNumber(header, static_cast<std::uint32_t>(raster.width));
    addNumber(header, static_cast<std::uint32_t>(raster.height));
    header += std::string("\x08\x02\x00\x00\x00", 5);  // 8 bits, colour, not interlaced
    addChunk(bytes, "IHDR", header);
    addChunk(bytes, "sRGB", std::string(1, '\0'));
    addChunk(bytes, "IDAT", packed);
    addChunk(bytes, "IEND", "");
    std::ofstream out(file, std::ios::binary | std::ios::trunc);
    out.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    out.flush();
    if (!out)
        throw Error(ErrorCode::Io, "The picture cannot be written to " + file.string() + ".",
                    "Check the folder and the space left.");
}

}  // namespace macle
