// Output: results on standard output, as one JSON object or as aligned text.
#pragma once

#include <Eigen/Geometry>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>
#include <utility>
#include <vector>

#include "core/cut/placement.h"
#include "core/fit/search.h"
#include "core/stone/stone.h"

namespace macle::app {

using Json = nlohmann::ordered_json;

// Throws Error{Internal} for a number that is not finite: JSON has no word for it.
Json finite(double value);
Json array(const Eigen::Vector3d& v);
Json placementJson(const Placement& placement);  // quaternion_wxyz, translation_mm
// weight_factor, by which all weights beside it were multiplied, see weightFactor.
void addWeightBasis(Json& object, const Stone& stone);
Json limitsJson(const std::vector<FitLimit>& limits);

// Throw Error{Io} when standard output or the file cannot take it.
void print(const std::string& text);
void printJson(const Json& object);
void writeJson(const Json& object, const std::filesystem::path& file);

// "Label   value" lines.
std::string fields(const std::vector<std::pair<std::string, std::string>>& rows);
// Columns under a heading; numbers (anything that starts like one) to the right.
std::string table(const std::vector<std::string>& heading,
                  const std::vector<std::vector<std::string>>& rows);

std::string caratText(double weight_ct);   // "1.234 ct"
std::string lengthText(double length_mm);  // "1.234 mm"

}  // namespace macle::app
