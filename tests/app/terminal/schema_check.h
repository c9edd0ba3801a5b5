// Checks a JSON value against a schema of resources/schemas: the part of JSON Schema 2020-12 that
// those schemas use. An unknown keyword fails, so that no rule goes unchecked.
#pragma once

#include <nlohmann/json.hpp>
#include <string>

namespace macle::test {

// Empty when it fits, else what and where.
std::string misfit(const nlohmann::json& value, const std::string& schemaName);

}  // namespace macle::test
