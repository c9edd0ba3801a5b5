#include "core/stone/defect_json.h"

#include <algorithm>
#include <cmath>
#include <initializer_list>

#include "core/base/error.h"
#include "core/stone/intake.h"
#include "core/stone/sheet.h"
#include "core/stone/surface_file.h"

namespace macle::defect_json {

namespace {

Json pointsJson(const std::vector<Eigen::Vector3d>& points) {
    Json list = Json::array();
    for (const Eigen::Vector3d& point : points)
        list.push_back(asJson(point));
    return list;
}

struct ShapeAsJson {
    const KeepSurface& keep;

    Json operator()(const Ellipsoid& e) const {
        return {{"type", "ellipsoid"},
                {"centre_mm", asJson(e.centre_mm)},
                {"half_axes_mm", asJson(e.halfAxes_mm)},
                {"rotation_wxyz", asJson(e.rotation)}};
    }
    Json operator()(const Sheet& s) const {
        return {{"type", "sheet"}, {"corners_mm", pointsJson(s.corners_mm)}};
    }
    Json operator()(const TriangleMesh& m) const {
        if (keep) return {{"type", "stored mesh"}, {"surface", keep(m)}};
        Json triangles = Json::array();
        for (const auto& triangle : m.triangles)
            triangles.push_back(triangle);
        return {
            {"type", "mesh"}, {"vertices_mm", pointsJson(m.vertices)}, {"triangles", triangles}};
    }
};

}  // namespace

void reject(const Place& place, const std::string& what, const std::string& remedy) {
    std::string where = place.file;
    if (place.entry > 0)
        where += std::string(", ") + place.noun + " " + std::to_string(place.entry);
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

namespace {

template <int Size>
Eigen::Matrix<double, Size, 1> numbersOf(const Json& value, const Place& place) {
    if (!value.is_array() || value.size() != Size)
        reject(place, "it must be a list of " + std::to_string(Size) + " numbers.");
    Eigen::Matrix<double, Size, 1> numbers;
    for (int i = 0; i < Size; ++i)
        numbers[i] =
            numberOf(value[static_cast<std::size_t>(i)], place.item(static_cast<std::size_t>(i)));
    return numbers;
}

}  // namespace

Eigen::Vector3d pointOf(const Json& value, const Place& place) {
    return numbersOf<3>(value, place);
}

Eigen::Quaterniond rotationOf(const Json& value, const Place& place) {
    const Eigen::Vector4d q = numbersOf<4>(value, place);
    // Hand-typed digits are few; a quaternion further off is more likely a mistake.
    if (!(std::abs(q.norm() - 1.0) < 1e-3)) reject(place, "it must be a quaternion of length 1.");
    const Eigen::Quaterniond rotation(q[0], q[1], q[2], q[3]);
    // Digits that are already exact to the last place stay as they are.
    return std::abs(q.norm() - 1.0) < 1e-14 ? rotation : rotation.normalized();
}

int wholeOf(const Json& value, const Place& place, int low, int high) {
    if (!value.is_number_integer()) reject(place, "it must be a whole number.");
    const auto number = value.get<std::int64_t>();
    if (number < low || number > high)
        reject(place,
               "it must be from " + std::to_string(low) + " to " + std::to_string(high) + ".");
    return static_cast<int>(number);
}

Json asJson(const Eigen::Vector3d& v) {
    return {v.x(), v.y(), v.z()};
}

Json asJson(const Eigen::Quaterniond& q) {
    return {q.w(), q.x(), q.y(), q.z()};
}

namespace {

std::vector<Eigen::Vector3d> pointsOf(const Json& value, const Place& place) {
    if (!value.is_array()) reject(place, "it must be a list of points.");
    std::vector<Eigen::Vector3d> points;
    points.reserve(value.size());
    for (std::size_t i = 0; i < value.size(); ++i)
        points.push_back(pointOf(value[i], place.item(i)));
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
    if (const auto found = shape.find("rotation_wxyz"); found != shape.end())
        ellipsoid.rotation = rotationOf(*found, place.inside("rotation_wxyz"));
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
        const Place row = here.item(t);
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

// The surface was checked when it was stored, so it is only looked up here.
TriangleMesh storedOf(const Json& shape, const Place& place, const FindSurface& find) {
    allowOnly(shape, place, {"type", "surface"});
    const std::string name = textOf(need(shape, place, "surface"), place.inside("surface"));
    const TriangleMesh* surface = find(name);
    if (surface == nullptr)
        reject(place.inside("surface"),
               "there is no stored surface " + surface_file::inQuotes(name) + ".");
    return *surface;
}

}  // namespace

Defect defectOf(const Json& entry, const Place& place, const FindSurface& find) {
    allowOnly(entry, place, {"name", "kind", "severity", "policy", "margin_mm", "shape"});
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
    if (const auto margin = entry.find("margin_mm"); margin != entry.end()) {
        const Place here = place.inside("margin_mm");
        defect.margin_mm = numberOf(*margin, here);
        if (!(defect.margin_mm >= 0.0 && defect.margin_mm <= kLargestMargin_mm))
            reject(here, "it must be from 0 to 10 mm.");
    }
    defect.shape = shapeOf(need(entry, place, "shape"), place.inside("shape"), find);
    return defect;
}

Shape shapeOf(const Json& shape, const Place& place, const FindSurface& find) {
    if (!shape.is_object()) reject(place, "it must be an object.");
    const std::string type = textOf(need(shape, place, "type"), place.inside("type"));
    if (type == "ellipsoid") return ellipsoidOf(shape, place);
    if (type == "sheet") return sheetOf(shape, place);
    if (type == "mesh") return meshOf(shape, place);
    if (type == "stored mesh" && find) return storedOf(shape, place, find);
    reject(place.inside("type"),
           surface_file::inQuotes(type) + " is none of ellipsoid, sheet, mesh.");
}

Json asJson(const Shape& shape, const KeepSurface& keep) {
    return std::visit(ShapeAsJson{keep}, shape);
}

Json asJson(const Defect& defect, const KeepSurface& keep) {
    Json entry = {{"name", defect.name},
                  {"kind", kindName(defect.kind)},
                  {"severity", defect.severity},
                  {"policy", policyName(defect.policy)},
                  {"shape", asJson(defect.shape, keep)}};
    if (defect.margin_mm > 0.0) entry["margin_mm"] = defect.margin_mm;
    return entry;
}

}  // namespace macle::defect_json
