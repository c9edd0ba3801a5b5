// Defect lists in JSON (resources/schemas/defects.schema.json) and defects from mesh files.
#include <algorithm>
#include <nlohmann/json.hpp>

#include "core/base/error.h"
#include "core/stone/defect.h"
#include "core/stone/defect_json.h"
#include "core/stone/intake.h"
#include "core/stone/mesh_file.h"
#include "core/stone/surface_file.h"

namespace macle {

namespace {

using defect_json::allowOnly;
using defect_json::Json;
using defect_json::need;
using defect_json::Place;
using defect_json::reject;

constexpr std::uintmax_t kLargestList = std::uintmax_t{256} << 20;

}  // namespace

std::vector<Defect> defect_json::readList(const std::filesystem::path& file,
                                          const std::string& text) {
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
        defects.push_back(defect_json::defectOf(entries[i], {place.file, i + 1, ""}));
    return defects;
}

std::vector<Defect> readDefects(const std::filesystem::path& file) {
    const std::string extension = file.extension().string();
    if (surface_file::sameWord(extension, ".json"))
        return defect_json::readList(file, surface_file::readWhole(file, kLargestList));
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
        entries.push_back(defect_json::asJson(defect));
    const Json list = {{"defects", entries}};
    surface_file::writeWhole(file, list.dump(1, ' ', false, Json::error_handler_t::replace) + "\n");
}

}  // namespace macle
