#include "tests/app/terminal/schema_check.h"

#include <algorithm>
#include <fstream>
#include <regex>

namespace macle::test {

namespace {

using Json = nlohmann::json;

bool isOfType(const Json& value, const std::string& type) {
    if (type == "object") return value.is_object();
    if (type == "array") return value.is_array();
    if (type == "string") return value.is_string();
    if (type == "boolean") return value.is_boolean();
    if (type == "null") return value.is_null();
    if (type == "integer") return value.is_number_integer();
    if (type == "number") return value.is_number();
    return false;
}

std::string check(const Json& value, const Json& schema, const std::string& where) {
    for (const auto& [word, rule] : schema.items()) {
        bool fits = true;
        if (word == "$schema" || word == "title" || word == "description") continue;
        if (word == "type") {
            fits = false;
            for (const Json& type : rule.is_array() ? rule : Json::array({rule}))
                fits = fits || isOfType(value, type.get<std::string>());
        } else if (word == "required") {
            for (const Json& name : rule)
                if (value.is_object() && !value.contains(name.get<std::string>()))
                    return where + ": lacks " + name.get<std::string>();
        } else if (word == "properties") {
            for (const auto& [name, part] : rule.items())
                if (value.is_object() && value.contains(name))
                    if (std::string bad = check(value[name], part, where + "/" + name);
                        !bad.empty())
                        return bad;
        } else if (word == "additionalProperties") {
            const Json known = schema.value("properties", Json::object());
            for (const auto& [name, part] : value.items()) {
                if (known.contains(name)) continue;
                if (rule.is_boolean() && !rule.get<bool>()) return where + ": has " + name;
                if (rule.is_object())
                    if (std::string bad = check(part, rule, where + "/" + name); !bad.empty())
                        return bad;
            }
        } else if (word == "items") {
            for (std::size_t i = 0; i < value.size(); ++i)
                if (std::string bad = check(value[i], rule, where + "/" + std::to_string(i));
                    !bad.empty())
                    return bad;
        } else if (word == "oneOf") {
            int count = 0;
            for (const Json& choice : rule)
                count += check(value, choice, where).empty() ? 1 : 0;
            fits = count == 1;
        } else if (word == "minItems") {
            fits = value.size() >= rule.get<std::size_t>();
        } else if (word == "maxItems") {
            fits = value.size() <= rule.get<std::size_t>();
        } else if (word == "minimum") {
            fits = !value.is_number() || value.get<double>() >= rule.get<double>();
        } else if (word == "maximum") {
            fits = !value.is_number() || value.get<double>() <= rule.get<double>();
        } else if (word == "exclusiveMinimum") {
            fits = !value.is_number() || value.get<double>() > rule.get<double>();
        } else if (word == "exclusiveMaximum") {
            fits = !value.is_number() || value.get<double>() < rule.get<double>();
        } else if (word == "pattern") {
            fits = std::regex_search(value.get<std::string>(), std::regex(rule.get<std::string>()));
        } else if (word == "enum") {
            fits = std::find(rule.begin(), rule.end(), value) != rule.end();
        } else if (word == "const") {
            fits = value == rule;
        } else {
            return "the schema uses " + word + ", which this check does not know";
        }
        if (!fits) return where + ": against " + word + " " + rule.dump() + ": " + value.dump();
    }
    return {};
}

}  // namespace

std::string misfit(const Json& value, const std::string& schemaName) {
    std::ifstream stream(std::string(MACLE_SCHEMAS) + "/" + schemaName + ".schema.json");
    const Json schema = Json::parse(stream, nullptr, false);
    if (schema.is_discarded()) return "no schema " + schemaName;
    return check(value, schema, "");
}

}  // namespace macle::test
