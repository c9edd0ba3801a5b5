#include "core/divide/saw_file.h"

#include <nlohmann/json.hpp>

#include "core/base/error.h"
#include "core/base/text_file.h"
#include "core/divide/division.h"
#include "core/stone/defect_json.h"

namespace macle {
namespace {

using nlohmann::json;
using namespace defect_json;

constexpr std::uintmax_t kLargestFile = 1u << 20;  // far above any list
constexpr const char* kSeeSchema = "The form of a list of saws is in schemas/saws.schema.json.";

Saw sawFrom(const json& item, const Place& place) {
    allowOnly(item, place, {"piece", "normal", "offset_mm", "kerf_mm", "beam", "exit_mm"});
    Saw saw;
    if (item.contains("piece"))
        saw.piece =
            wholeOf(item.at("piece"), place.inside("piece"), 1, static_cast<int>(kMostSaws) + 1) -
            1;
    saw.normal = pointOf(need(item, place, "normal"), place.inside("normal"));
    if (!(saw.normal.norm() > 0.0)) reject(place.inside("normal"), "it has no length.", kSeeSchema);
    saw.normal.normalize();
    saw.offset_mm = numberOf(need(item, place, "offset_mm"), place.inside("offset_mm"));
    if (item.contains("kerf_mm"))
        saw.kerf_mm = numberOf(item.at("kerf_mm"), place.inside("kerf_mm"));
    if (item.contains("beam") != item.contains("exit_mm"))
        reject(place, "a V kerf needs both beam and exit_mm.", kSeeSchema);
    if (item.contains("beam"))
        saw.v = VKerf{pointOf(item.at("beam"), place.inside("beam")),
                      numberOf(item.at("exit_mm"), place.inside("exit_mm"))};
    return saw;
}

}  // namespace

std::vector<Saw> parseSaws(const std::string& text, const std::filesystem::path& file) {
    const json root = json::parse(text, nullptr, false);
    if (root.is_discarded())
        throw Error(ErrorCode::BadInput, file.string() + ": this is not readable as JSON.",
                    kSeeSchema);
    std::vector<Saw> saws;
    try {
        const Place whole{file.string(), 0, ""};
        allowOnly(root, whole, {"$schema", "saws"});
        const json& list = need(root, whole, "saws");
        if (!list.is_array() || list.size() > kMostSaws)
            reject(whole.inside("saws"),
                   "it must be a list of at most " + std::to_string(kMostSaws) + " saws.",
                   kSeeSchema);
        for (const json& item : list)
            saws.push_back(sawFrom(item, {file.string(), saws.size() + 1, "", "saw"}));
    } catch (const Error& fault) {
        throw Error(fault.code(), fault.message(), kSeeSchema);
    }
    return saws;
}

std::vector<Saw> readSaws(const std::filesystem::path& file) {
    return parseSaws(readTextFile(file, "list of saws", kLargestFile), file);
}

std::string sawsText(const std::vector<Saw>& saws) {
    json list = json::array();
    for (const Saw& saw : saws) {
        json item = {{"piece", saw.piece + 1},
                     {"normal", asJson(saw.normal)},
                     {"offset_mm", saw.offset_mm},
                     {"kerf_mm", saw.kerf_mm}};
        if (saw.v) {
            item["beam"] = asJson(saw.v->beam);
            item["exit_mm"] = saw.v->exit_mm;
        }
        list.push_back(std::move(item));
    }
    return json{{"saws", list}}.dump(1) + "\n";
}

}  // namespace macle
