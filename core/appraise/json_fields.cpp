#include "core/appraise/json_fields.h"

#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "core/base/numbers.h"

namespace macle::json_fields {

Fields::Fields(const Json& object, std::string file, std::string path,
               const std::vector<std::string>& known)
    : object_(object), file_(std::move(file)), path_(std::move(path)) {
    if (!object.is_object())
        refuse("", "is no JSON object.", "Compare it with the program's own file.");
    for (const auto& [name, value] : object.items())
        if (std::find(known.begin(), known.end(), name) == known.end()) {
            std::string names;
            for (const std::string& one : known)
                names += (names.empty() ? "" : ", ") + one;
            refuse(name, "is no field of it.", "It has: " + names + ".");
        }
}

void Fields::refuse(const std::string& name, const std::string& what,
                    const std::string& remedy) const {
    std::string where = path_;
    if (!name.empty()) where += (where.empty() ? "" : ", ") + ("\"" + name + "\"");
    throw Error(ErrorCode::BadInput, file_ + ": " + (where.empty() ? "it" : where) + " " + what,
                remedy);
}

const Json& Fields::at(const std::string& name) const {
    const auto found = object_.find(name);
    if (found == object_.end()) refuse(name, "is missing.", "Add it.");
    return *found;
}

double Fields::number(const std::string& name, double low, double high) const {
    const Json& value = at(name);
    const std::string range = "Give a number from " + formatExact(low) + " to " + formatExact(high);
    if (!value.is_number()) refuse(name, "is not a number.", range + ".");
    const double number = value.get<double>();
    if (!(number >= low && number <= high))
        refuse(name, "is " + formatExact(number) + ", out of range.", range + ".");
    return number;
}

int Fields::integer(const std::string& name, int low, int high) const {
    const double value = number(name, low, high);
    if (value != std::floor(value)) refuse(name, "is not a whole number.", "Give a whole number.");
    return static_cast<int>(value);
}

std::string Fields::text(const std::string& name) const {
    const Json& value = at(name);
    if (!value.is_string()) refuse(name, "is not a text.", "Put it into quotes.");
    return value.get<std::string>();
}

const Json& Fields::list(const std::string& name) const {
    const Json& value = at(name);
    if (!value.is_array()) refuse(name, "is not a list.", "Write it as [ ... ].");
    return value;
}

const Json& Fields::object(const std::string& name) const {
    const Json& value = at(name);
    if (!value.is_object()) refuse(name, "is not an object.", "Write it as { ... }.");
    return value;
}

Json parsed(const std::string& text, const std::string& file) {
    try {
        return Json::parse(text);
    } catch (const Json::exception& fault) {
        throw Error(ErrorCode::BadInput, file + " is not JSON: " + fault.what() + ".",
                    "Correct it there.");
    }
}

}  // namespace macle::json_fields
