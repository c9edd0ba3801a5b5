#include "core/divide/saw_json.h"

#include <cmath>

namespace macle::saw_json {

using namespace defect_json;

namespace {

constexpr double kUnit = 1e-12;  // of a normal's length: rounding of one that was of length 1

Saw sawFrom(const Json& item, const Place& place) {
    allowOnly(item, place, {"piece", "normal", "offset_mm", "kerf_mm", "beam", "exit_mm"});
    Saw saw;
    if (item.contains("piece"))
        saw.piece =
            wholeOf(item.at("piece"), place.inside("piece"), 1, static_cast<int>(kMostSaws) + 1) -
            1;
    saw.normal = pointOf(need(item, place, "normal"), place.inside("normal"));
    if (!(saw.normal.norm() > 0.0)) reject(place.inside("normal"), "it has no length.");
    // A stored one keeps its last digits.
    if (std::abs(saw.normal.norm() - 1.0) > kUnit) saw.normal.normalize();
    saw.offset_mm = numberOf(need(item, place, "offset_mm"), place.inside("offset_mm"));
    if (item.contains("kerf_mm"))
        saw.kerf_mm = numberOf(item.at("kerf_mm"), place.inside("kerf_mm"));
    if (item.contains("beam") != item.contains("exit_mm"))
        reject(place, "a V kerf needs both beam and exit_mm.");
    if (item.contains("beam"))
        saw.v = VKerf{pointOf(item.at("beam"), place.inside("beam")),
                      numberOf(item.at("exit_mm"), place.inside("exit_mm"))};
    return saw;
}

}  // namespace

std::vector<Saw> sawsFrom(const Json& list, const Place& whole) {
    if (!list.is_array() || list.size() > kMostSaws)
        reject(whole, "it must be a list of at most " + std::to_string(kMostSaws) + " saws.");
    std::vector<Saw> saws;
    for (const Json& item : list)
        saws.push_back(sawFrom(item, {whole.file, saws.size() + 1, "", "saw"}));
    return saws;
}

Json asJson(const std::vector<Saw>& saws) {
    Json list = Json::array();
    for (const Saw& saw : saws) {
        Json item = {{"piece", saw.piece + 1},
                     {"normal", defect_json::asJson(saw.normal)},
                     {"offset_mm", saw.offset_mm},
                     {"kerf_mm", saw.kerf_mm}};
        if (saw.v) {
            item["beam"] = defect_json::asJson(saw.v->beam);
            item["exit_mm"] = saw.v->exit_mm;
        }
        list.push_back(std::move(item));
    }
    return list;
}

}  // namespace macle::saw_json
