// Defect lists in JSON (resources/schemas/defects.schema.json) and defects from mesh files.
#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <nlohmann/json.hpp>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/stone/defect.h"
#include "core/stone/intake.h"
#include "core/stone/mesh_file.h"
#include "core/stone/sheet.h"
#include "core/stone/surface_file.h"

namespace macle {

namespace {

using Json = nlohmann::json;

constexpr std::uintmax_t kLargestList = std::uintmax_t{256} << 20;
constexpr const char* kSeeSchema = "The form of a defect list is in schemas/defects.schema.json.";

// Where in the list a value stands, for messages.
struct Place {
    std::string file;
    std::size_t entry = 0;  // from 1; 0 for the list as a whole
    std::string field;

    Place inside(const std::string& name) const {
        return {file, entry, field.empty() ? name : field + "." + name};
    }
};

[[noreturn]] void reject(const Place& place, const std::string& what,
                         const std::string& remedy = kSeeSchema) {
    std::string where = place.file;
    if (place.entry > 0) where += ", defect " + std::to_string(place.entry);
    if (!place.field.empty()) where += ", " + place.field;
    throw Error(ErrorCode::BadInput, where + ": " + what, remedy);
}

void allowOnly(const Json& object, const Place& place, std::initializer_list<const char*> names) {
    if (!object.is_object()) reject(place, "it must be an object.");
    for (const auto& item : object.items())
        if (std::find(names.begin(), names.end(), item.key()) == names.end())
            reject(place, "there is no field " + surface_file::inQuotes(item.key()) + " here.");
}

const Json& need(const Json& object, const Place& place, const char* name) {
    const auto found = object.find(name);
    if (found == object.end()) reject(place.inside(name), "it is missing.");
    return *found;
}

std::string textOf(const Json& value, const Place& place) {
    if (!value.is_string()) reject(place, "it must be a text.");
    return value.get<std::string>();
}

double numberOf(const Json& value, const Place& place) {
    if (!value.is_number()) reject(place, "it must be a number.");
    const double number = value.get<double>();
    if (!(std::abs(number) <= surface_file::kFarthestCoordinate_mm))
        reject(place, "it must be between -1000000 and 1000000.");
    return number;
}

template <int Size>
Eigen::Matrix<double, Size, 1> numbersOf(const Json& value, const Place& place) {
    if (!value.is_array() || value.size() != Size)
        reject(place, "it must be a list of " + std::to_string(Size) + " numbers.");
    Eigen::Matrix<double, Size, 1> numbers;
    for (int i = 0; i < Size; ++i)
        numbers[i] =
            numberOf(value[static_cast<std::size_t>(i)],
                     {place.file, place.entry, place.field + "[" + std::to_string(i) + "]"});
    return numbers;
}

std::vector<Eigen::Vector3d> pointsOf(const Json& value, const Place& place) {
    if (!value.is_array()) reject(place, "it must be a list of points.");
    std::vector<Eigen::Vector3d> points;
    points.reserve(value.size());
    for (std::size_t i = 0; i < value.size(); ++i)
        points.push_back(numbersOf<3>(
            value[i], {place.file, place.entry, place.field + "[" + std::to_string(i) + "]"}));
    return points;
}

Ellipsoid ellipsoidOf(const Json& shape, const Place& place) {
    allowOnly(shape, place, {"type", "centre_mm", "half_axes_mm", "rotation_wxyz"});
    Ellipsoid ellipsoid;
    ellipsoid.centre_mm = numbersOf<3>(need(shape, place, "centre_mm"), place.inside("centre_mm"));
    ellipsoid.halfAxes_mm =
        numbersOf<3>(need(shape, place, "half_axes_mm"), place.inside("half_axes_mm"));
    if (!(ellipsoid.halfAxes_mm.minCoeff() > 0.0))
        reject(place.inside("half_axes_mm"), "each half-axis must be above zero.");
    if (const auto found = shape.find("rotation_wxyz"); found != shape.end()) {
        const Eigen::Vector4d q = numbersOf<4>(*found, place.inside("rotation_wxyz"));
        // Hand-typed digits are few; a quaternion further off is more likely a mistake.
        if (!(std::abs(q.norm() - 1.0) < 1e-3))
            reject(place.inside("rotation_wxyz"), "it must be a quaternion of length 1.");
        ellipsoid.rotation = Eigen::Quaterniond(q[0], q[1], q[2], q[3]).normalized();
    }
    return ellipsoid;
}

Sheet sheetOf(const Json& shape, const Place& place) {
    allowOnly(shape, place, {"type", "corners_mm"});
    Sheet flat;
    flat.corners_mm = pointsOf(need(shape, place, "corners_mm"), place.inside("corners_mm"));
    if (const auto fault = sheet::faultOf(flat))
        reject(place.inside("corners_mm"), *fault + ".", "Correct the corners.");
    return flat;
}

TriangleMesh meshOf(const Json& shape, const Place& place) {
    allowOnly(shape, place, {"type", "vertices_mm", "triangles"});
    TriangleMesh mesh;
    mesh.vertices = pointsOf(need(shape, place, "vertices_mm"), place.inside("vertices_mm"));
    const Json& triangles = need(shape, place, "triangles");
    const Place here = place.inside("triangles");
    if (!triangles.is_array()) reject(here, "it must be a list of triangles.");
    for (std::size_t t = 0; t < triangles.size(); ++t) {
        const Place row{here.file, here.entry, here.field + "[" + std::to_string(t) + "]"};
        const Json& corners = triangles[t];
        if (!corners.is_array() || corners.size() != 3)
            reject(row, "it must be a list of 3 vertex numbers.");
        std::array<std::uint32_t, 3> triangle{};
        for (std::size_t k = 0; k < 3; ++k) {
            if (!corners[k].is_number_unsigned() ||
                corners[k].get<std::uint64_t>() >= mesh.vertices.size())
                reject(row, "a corner is not the number of a vertex, counted from 0.");
            triangle[k] = corners[k].get<std::uint32_t>();
        }
        mesh.triangles.push_back(triangle);
    }
    try {
        auto shells = splitShells(mesh);
        if (shells.size() != 1)
            reject(place,
                   "it holds " + std::to_string(shells.size()) + " separate shells, not one.",
                   "List each shell as a defect of its own.");
        return std::move(shells.front());
    } catch (const Error& fault) {
        if (fault.code() != ErrorCode::BadInput || fault.message().starts_with(place.file)) throw;
        reject(place, fault.message(), fault.remedy());
    }
}

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

Defect defectOf(const Json& entry, const Place& place) {
    allowOnly(entry, place, {"name", "kind", "severity", "policy", "shape"});
    Defect defect;
    defect.name = "defect " + std::to_string(place.entry);
    if (const auto name = entry.find("name"); name != entry.end())
        defect.name = textOf(*name, place.inside("name"));
    if (const auto kind = entry.find("kind"); kind != entry.end())
        defect.kind = named(*kind, place.inside("kind"), kindFromName);
    if (const auto policy = entry.find("policy"); policy != entry.end())
        defect.policy = named(*policy, place.inside("policy"), policyFromName);
    if (const auto severity = entry.find("severity"); severity != entry.end()) {
        const Place here = place.inside("severity");
        if (!severity->is_number_integer()) reject(here, "it must be a whole number.");
        const auto value = severity->get<std::int64_t>();
        if (value < 1 || value > 5) reject(here, "it must be from 1 (slight) to 5 (severe).");
        defect.severity = static_cast<int>(value);
    }
    const Json& shape = need(entry, place, "shape");
    const Place here = place.inside("shape");
    if (!shape.is_object()) reject(here, "it must be an object.");
    const std::string type = textOf(need(shape, here, "type"), here.inside("type"));
    if (type == "ellipsoid")
        defect.shape = ellipsoidOf(shape, here);
    else if (type == "sheet")
        defect.shape = sheetOf(shape, here);
    else if (type == "mesh")
        defect.shape = meshOf(shape, here);
    else
        reject(here.inside("type"),
               surface_file::inQuotes(type) + " is none of ellipsoid, sheet, mesh.");
    return defect;
}

std::vector<Defect> readList(const std::filesystem::path& file) {
    const std::string text = surface_file::readWhole(file, kLargestList);
    const Place place{file.string(), 0, ""};
    Json list;
    try {
        list = Json::parse(text);
    } catch (const Json::parse_error& fault) {
        const auto end =
            text.begin() + static_cast<std::ptrdiff_t>(std::min(fault.byte, text.size()));
        reject({place.file + ", line " + std::to_string(1 + std::count(text.begin(), end, '\n')), 0,
                ""},
               "this is not readable as JSON.");
    } catch (const Json::exception&) {
        reject(place, "a number is too large.");
    }
    allowOnly(list, place, {"$schema", "defects"});
    const Json& entries = need(list, place, "defects");
    if (!entries.is_array()) reject(place.inside("defects"), "it must be a list.");
    std::vector<Defect> defects;
    for (std::size_t i = 0; i < entries.size(); ++i)
        defects.push_back(defectOf(entries[i], {place.file, i + 1, ""}));
    return defects;
}

Json asJson(const Eigen::Vector3d& v) {
    return {v.x(), v.y(), v.z()};
}

Json asJson(const std::vector<Eigen::Vector3d>& points) {
    Json list = Json::array();
    for (const Eigen::Vector3d& point : points)
        list.push_back(asJson(point));
    return list;
}

struct ShapeAsJson {
    Json operator()(const Ellipsoid& e) const {
        return {
            {"type", "ellipsoid"},
            {"centre_mm", asJson(e.centre_mm)},
            {"half_axes_mm", asJson(e.halfAxes_mm)},
            {"rotation_wxyz", {e.rotation.w(), e.rotation.x(), e.rotation.y(), e.rotation.z()}}};
    }
    Json operator()(const Sheet& s) const {
        return {{"type", "sheet"}, {"corners_mm", asJson(s.corners_mm)}};
    }
    Json operator()(const TriangleMesh& m) const {
        Json triangles = Json::array();
        for (const auto& triangle : m.triangles)
            triangles.push_back(triangle);
        return {{"type", "mesh"}, {"vertices_mm", asJson(m.vertices)}, {"triangles", triangles}};
    }
};

}  // namespace

std::vector<Defect> readDefects(const std::filesystem::path& file) {
    const std::string extension = file.extension().string();
    if (surface_file::sameWord(extension, ".json")) return readList(file);
    std::vector<TriangleMesh> shells;
    const TriangleMesh raw = readMeshFile(file);
    try {
        shells = splitShells(raw);
    } catch (const Error& fault) {
        if (fault.code() != ErrorCode::BadInput) throw;
        throw Error(fault.code(), file.string() + ": " + fault.message(), fault.remedy());
    }
    std::vector<Defect> defects;
    for (TriangleMesh& shell : shells) {
        Defect defect;
        defect.name = "defect " + std::to_string(defects.size() + 1);
        defect.shape = std::move(shell);
        defects.push_back(std::move(defect));
    }
    return defects;
}

void writeDefects(const std::vector<Defect>& defects, const std::filesystem::path& file) {
    Json entries = Json::array();
    for (const Defect& defect : defects)
        entries.push_back({{"name", defect.name},
                           {"kind", kindName(defect.kind)},
                           {"severity", defect.severity},
                           {"policy", policyName(defect.policy)},
                           {"shape", std::visit(ShapeAsJson{}, defect.shape)}});
    const Json list = {{"defects", entries}};
    surface_file::writeWhole(file, list.dump(1, ' ', false, Json::error_handler_t::replace) + "\n");
}

}  // namespace macle
