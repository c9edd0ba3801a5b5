#include "core/cut/facet_edit_json.h"

#include <array>
#include <cmath>
#include <utility>

#include "core/base/error.h"

namespace macle {

namespace {

using Json = nlohmann::ordered_json;
using What = FacetEdit::What;

constexpr std::array<std::pair<const char*, What>, 5> kWords{{{"add", What::Add},
                                                              {"tilt", What::Tilt},
                                                              {"turn", What::Turn},
                                                              {"shift", What::Shift},
                                                              {"remove", What::Remove}}};

struct NumberField {
    const char* key;
    double FacetEdit::*value;
    What of;
};
constexpr std::array<NumberField, 7> kNumbers{
    {{"angle_deg", &FacetEdit::angle_deg, What::Add},
     {"azimuth_deg", &FacetEdit::azimuth_deg, What::Add},
     {"distance_percent", &FacetEdit::distance_percent, What::Add},
     {"tilt_deg", &FacetEdit::tilt_deg, What::Tilt},
     {"hold_percent", &FacetEdit::hold_percent, What::Tilt},
     {"turn_deg", &FacetEdit::turn_deg, What::Turn},
     {"shift_percent", &FacetEdit::shift_percent, What::Shift}}};

[[noreturn]] void bad(const std::string& what, const std::string& remedy) {
    throw Error(ErrorCode::BadInput, what, remedy);
}

bool flag(const Json& json, const char* key) {
    if (!json.contains(key)) return false;
    if (!json.at(key).is_boolean())
        bad(std::string("\"") + key + "\" is not true or false.", "Correct the file.");
    return json.at(key).get<bool>();
}

}  // namespace

FacetEdit facetEditFrom(const Json& json) {
    if (!json.is_object()) bad("An edit must be an object.", "Correct the file.");
    FacetEdit edit;
    std::size_t known = 0;
    int words = 0;
    for (const auto& [word, what] : kWords)
        if (json.contains(word)) {
            if (!json.at(word).is_string())
                bad(std::string("\"") + word + "\" must name a facet.", "Correct the file.");
            edit.what = what;
            edit.facet = json.at(word).get<std::string>();
            ++words;
            ++known;
        }
    if (words != 1) bad("An edit does one thing.", "Give one of: add, tilt, turn, shift, remove.");
    for (const NumberField& field : kNumbers) {
        if (field.of != edit.what || !json.contains(field.key)) continue;
        const Json& value = json.at(field.key);
        if (!value.is_number() || !std::isfinite(value.get<double>()))
            bad(std::string("\"") + field.key + "\" is not a number.", "Correct the file.");
        edit.*field.value = value.get<double>();
        ++known;
    }
    if (edit.what == What::Add) {
        if (!json.contains("side") || (json.at("side") != "crown" && json.at("side") != "pavilion"))
            bad("\"side\" must be crown or pavilion.", "Say which side the facet is on.");
        edit.crown = json.at("side") == "crown";
        edit.mirrored = flag(json, "mirrored");
        known += json.contains("mirrored") ? 2 : 1;
        if (json.contains("copies")) {
            if (!json.at("copies").is_number_integer())
                bad("\"copies\" is not a whole number.", "Correct the file.");
            edit.copies = static_cast<int>(json.at("copies").get<long long>() % 1000000);
            ++known;
        }
    } else {
        edit.wholeRow = flag(json, "row");
        known += json.contains("row") ? 1 : 0;
    }
    if (known != json.size())
        bad("The edit of \"" + edit.facet + "\" has a word that does not belong to it.",
            "See resources/schemas/cut.schema.json.");
    return edit;
}

Json facetEditJson(const FacetEdit& edit) {
    Json json;
    for (const auto& [word, what] : kWords)
        if (what == edit.what) json[word] = edit.facet;
    if (edit.what == What::Add) {
        json["side"] = edit.crown ? "crown" : "pavilion";
        json["copies"] = edit.copies;
        json["mirrored"] = edit.mirrored;
    } else {
        json["row"] = edit.wholeRow;
    }
    for (const NumberField& field : kNumbers)
        if (field.of == edit.what) json[field.key] = edit.*field.value;
    return json;
}

}  // namespace macle
