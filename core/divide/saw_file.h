// Saws as a JSON file (resources/schemas/saws.schema.json).
#pragma once

#include <filesystem>
#include <vector>

#include "core/divide/saw.h"

namespace macle {

// Pieces are counted from 1 in the file. Throws Error{NotFound, Io}, Error{BadInput} saying which
// saw and field.
std::vector<Saw> readSaws(const std::filesystem::path& file);
std::vector<Saw> parseSaws(const std::string& text, const std::filesystem::path& file);
// {"saws": [...]} as readSaws takes it.
std::string sawsText(const std::vector<Saw>& saws);

}  // namespace macle
