#include "core/stone/colour.h"

#include "core/base/error.h"

namespace macle {
namespace {

struct StrengthWord {
    FluorescenceStrength strength;
    const char* word;
};
constexpr StrengthWord kStrengths[] = {
    {FluorescenceStrength::NotSeen, "not seen"}, {FluorescenceStrength::None, "none"},
    {FluorescenceStrength::Slight, "slight"},    {FluorescenceStrength::Medium, "medium"},
    {FluorescenceStrength::Strong, "strong"},    {FluorescenceStrength::VeryStrong, "very strong"}};

}  // namespace

void check(const ColourRecord& record) {
    const std::string& letter = record.body.letter;
    if (!letter.empty() && (letter.size() != 1 || letter[0] < 'D' || letter[0] > 'Z'))
        throw Error(ErrorCode::BadInput, "'" + letter + "' is no colour letter.",
                    "Use one letter from D to Z, or leave it empty.");
    for (const ColourZone& zone : record.zones) {
        if (zone.strength < 1 || zone.strength > 5)
            throw Error(ErrorCode::BadInput,
                        "The strength of the colour zone '" + zone.name + "' is " +
                            std::to_string(zone.strength) + ".",
                        "Use 1 (faint) to 5 (deep).");
        Defect body;
        std::visit([&](const auto& shape) { body.shape = shape; }, zone.shape);
        if (!(defectVolume_mm3(body) > 0.0))
            throw Error(ErrorCode::BadInput, "The colour zone '" + zone.name + "' has no volume.",
                        "Give it a closed shape.");
    }
}

const char* fluorescenceName(FluorescenceStrength strength) {
    for (const StrengthWord& entry : kStrengths)
        if (entry.strength == strength) return entry.word;
    return "not seen";
}

FluorescenceStrength fluorescenceFromName(const std::string& name) {
    for (const StrengthWord& entry : kStrengths)
        if (entry.word == name) return entry.strength;
    throw Error(ErrorCode::BadInput, "There is no fluorescence called '" + name + "'.",
                "Use one of: not seen, none, slight, medium, strong, very strong.");
}

}  // namespace macle
