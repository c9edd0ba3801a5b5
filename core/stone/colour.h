// What is recorded of the rough's colour and fluorescence: inputs of the appraisal, never results.
#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "core/stone/defect.h"

namespace macle {

// As seen under long-wave ultraviolet light (365 nm).
enum class FluorescenceStrength { NotSeen, None, Slight, Medium, Strong, VeryStrong };

struct Fluorescence {
    FluorescenceStrength strength = FluorescenceStrength::NotSeen;  // NotSeen: not yet looked at
    std::string colour;                                             // "blue"; empty when none
};

struct BodyColour {
    std::string letter;  // "D" to "Z" for near-colourless stones as estimated; else empty
    std::string hue;     // "yellow", "pinkish brown" ...; empty when colourless or not recorded
};

// A part of the rough whose colour differs. Stone frame.
struct ColourZone {
    std::string name;
    std::variant<TriangleMesh, Ellipsoid> shape;
    std::string hue;
    int strength = 3;  // 1 faint .. 5 deep
};

struct ColourRecord {
    BodyColour body;
    Fluorescence fluorescence;
    std::vector<ColourZone> zones;
};

// Throws Error{BadInput} naming what is wrong: a letter outside D..Z, a strength outside 1..5, a
// zone that has no shape.
void check(const ColourRecord& record);

const char* fluorescenceName(FluorescenceStrength strength);  // "not seen", "none", "slight" ...
FluorescenceStrength fluorescenceFromName(const std::string& name);  // throws Error{BadInput}

}  // namespace macle
