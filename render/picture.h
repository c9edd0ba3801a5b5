// Off-screen pictures: EGL surfaceless when there is no display, else the default GL.
#pragma once

#include <filesystem>

#include "render/scene.h"

namespace macle::render {

// Whether a picture can be made on this machine, and if not, why (in words).
struct PictureSupport {
    bool available = false;
    std::string reason;
};
PictureSupport pictureSupport();

// Renders the scene at rest quality and writes a PNG. Throws Error{Io}.
void writePicture(Scene& scene, int width_px, int height_px, const std::filesystem::path& file);

}  // namespace macle::render
