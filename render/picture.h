// Off-screen pictures: EGL surfaceless when there is no display, else the default GL.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "render/scene.h"

namespace macle::render {

// Whether a picture can be made on this machine, and if not, why (in words).
struct PictureSupport {
    bool available = false;
    std::string reason;
};
PictureSupport pictureSupport();

// Rows from the top, three bytes (red, green, blue) a pixel.
struct Picture {
    int width_px = 0;
    int height_px = 0;
    std::vector<std::uint8_t> rgb;
};

// Draws the scene off-screen; it keeps the quality given. The scene must not be in a window.
// `pixelRatio` scales lines, marks and text (2 for a picture at 200 %); the picture has
// width_px x height_px pixels either way. In a picture narrower than high the camera steps back,
// so that as much is seen as in a square one. Throws Error{Io} when this machine cannot draw, and
// Error{BadUsage} for a size out of range or a scene that is in a window.
Picture drawPicture(Scene& scene, int width_px, int height_px, Quality quality = Quality::Rest,
                    double pixelRatio = 1.0);

// Draws at rest quality and writes a PNG. Throws like drawPicture, and Error{Io} when the file
// cannot be written.
void writePicture(Scene& scene, int width_px, int height_px, const std::filesystem::path& file,
                  double pixelRatio = 1.0);

}  // namespace macle::render
