// A PNG file (ISO/IEC 15948) of 8-bit red, green, blue; needs no display.
#pragma once

#include <cstdint>
#include <filesystem>
#include <vector>

namespace macle {

struct Raster {
    int width = 0, height = 0;
    std::vector<std::uint8_t> rgb;  // row by row from the top, 3 bytes a pixel
};

// Throws Error{Io} when the file cannot be written, Error{BadUsage} for a raster whose sides and
// bytes do not agree.
void writePng(const Raster& raster, const std::filesystem::path& file);

}  // namespace macle
