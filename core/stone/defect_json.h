// Inside the defects: their form in JSON (resources/schemas/defects.schema.json), shared by defect
// lists and the stone file. Private to core; other folders use defect.h.
#pragma once

#include <functional>
#include <nlohmann/json.hpp>
#include <string>

#include "core/base/error.h"
#include "core/stone/defect.h"

namespace macle::defect_json {

using Json = nlohmann::json;
using Shape = decltype(Defect::shape);

// Where in the list a value stands, for messages.
struct Place {
    std::string file;
    std::size_t entry = 0;  // from 1; 0 for the list as a whole
    std::string field;
    const char* noun = "defect";

    Place inside(const std::string& name) const {
        return {file, entry, field.empty() ? name : field + "." + name, noun};
    }
    Place item(std::size_t index) const {
        return {file, entry, field + "[" + std::to_string(index) + "]", noun};
    }
};

// The readers below throw Error{BadInput} that names the place.
[[noreturn]] void reject(const Place& place, const std::string& what,
                         const std::string& remedy =
                             "The form of a defect list is in "
                             "schemas/defects.schema.json.");
void allowOnly(const Json& object, const Place& place, std::initializer_list<const char*> names);
const Json& need(const Json& object, const Place& place, const char* name);
std::string textOf(const Json& value, const Place& place);
double numberOf(const Json& value, const Place& place);  // within +-1000000
Eigen::Vector3d pointOf(const Json& value, const Place& place);
Eigen::Quaterniond rotationOf(const Json& value, const Place& place);  // w, x, y, z
int wholeOf(const Json& value, const Place& place, int low, int high);
Json asJson(const Eigen::Vector3d& v);
Json asJson(const Eigen::Quaterniond& q);

// Runs a look-up by name so that its error says where the name stands.
template <class Lookup>
auto named(const Json& value, const Place& place, Lookup lookup) {
    const std::string name = textOf(value, place);
    try {
        return lookup(name);
    } catch (const Error& fault) {
        reject(place, fault.message(), fault.remedy());
    }
}

// A surface that is kept elsewhere and named here ("type": "stored mesh"); null when there is none
// of that name. It was checked when it was stored.
using FindSurface = std::function<const TriangleMesh*(const std::string& name)>;
// Keeps a surface elsewhere and says its name. Without it surfaces are written out.
using KeepSurface = std::function<std::string(const TriangleMesh& surface)>;

// A whole list; `file` only for messages.
std::vector<Defect> readList(const std::filesystem::path& file, const std::string& text);

Defect defectOf(const Json& entry, const Place& place, const FindSurface& find = {});
Shape shapeOf(const Json& shape, const Place& place, const FindSurface& find = {});
Json asJson(const Defect& defect, const KeepSurface& keep = {});
Json asJson(const Shape& shape, const KeepSurface& keep = {});

}  // namespace macle::defect_json
