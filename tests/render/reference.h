// A drawn picture against the one kept in tests/pictures/render.
#pragma once

#include <string>

#include "render/scene.h"

namespace macle::render::test {

// With MACLE_WRITE_REFERENCES set the picture is written instead.
void compare(Scene& scene, const std::string& name, int width_px = 280, int height_px = 210);

}  // namespace macle::render::test
