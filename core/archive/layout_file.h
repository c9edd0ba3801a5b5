// Layouts as JSON files (resources/schemas/layouts.schema.json).
#pragma once

#include <filesystem>
#include <vector>

#include "core/divide/layout.h"

namespace macle {

// Throws Error{NotFound, BadInput, Io}; BadInput says which layout and field.
std::vector<Layout> readLayouts(const std::filesystem::path& file);
void writeLayouts(const std::vector<Layout>& layouts, const std::filesystem::path& file);

}  // namespace macle
