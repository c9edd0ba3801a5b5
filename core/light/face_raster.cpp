// Face-up pictures as pixels.
#include <algorithm>
#include <array>
#include <cmath>

#include "core/light/face_picture.h"

namespace macle {
namespace {

struct Stop {
    double at, red, green, blue;
};

// Entries 0, 96, 130, 164, 198, 232 and 255 of the 256 of matplotlib's magma, `_magma_data` in
// lib/matplotlib/_cm_listed.py, released under CC0 by its authors.
constexpr std::array<Stop, 7> kMagma{{{0.0 / 255, 0.001462, 0.000466, 0.013866},
                                      {96.0 / 255, 0.512831, 0.148179, 0.507648},
                                      {130.0 / 255, 0.729216, 0.219437, 0.471279},
                                      {164.0 / 255, 0.921884, 0.341098, 0.377376},
                                      {198.0 / 255, 0.991558, 0.580107, 0.402441},
                                      {232.0 / 255, 0.995131, 0.827052, 0.585701},
                                      {255.0 / 255, 0.987053, 0.991438, 0.749504}}};

std::array<std::uint8_t, 3> magma(double value) {
    const double at = std::clamp(value, 0.0, 1.0);
    std::size_t above = 1;
    while (above + 1 < kMagma.size() && kMagma[above].at < at)
        ++above;
    const Stop &low = kMagma[above - 1], &high = kMagma[above];
    const double part = (at - low.at) / (high.at - low.at);
    const auto mix = [&](double a, double b) {
        return static_cast<std::uint8_t>(std::lround(255.0 * (a + part * (b - a))));
    };
    return {mix(low.red, high.red), mix(low.green, high.green), mix(low.blue, high.blue)};
}

template <class ColourOf>
Raster rasterOf(const FacePicture& picture, std::uint8_t ground, const ColourOf& colourOf) {
    Raster raster;
    raster.width = raster.height = picture.pixels;
    raster.rgb.assign(3 * picture.colour.size(), ground);
    for (std::size_t k = 0; k < picture.colour.size(); ++k) {
        if (!picture.face[k]) continue;
        const std::array<std::uint8_t, 3> rgb = colourOf(k);
        std::copy(rgb.begin(), rgb.end(), raster.rgb.begin() + static_cast<std::ptrdiff_t>(3 * k));
    }
    return raster;
}

}  // namespace

Raster pictureRaster(const FacePicture& picture, double exposure, std::uint8_t ground) {
    return rasterOf(picture, ground,
                    [&](std::size_t k) { return toSrgb(picture.colour[k], exposure); });
}

Raster leakRaster(const FacePicture& picture, std::uint8_t ground) {
    return rasterOf(picture, ground,
                    [&](std::size_t k) { return magma(static_cast<double>(picture.leaked[k])); });
}

}  // namespace macle
