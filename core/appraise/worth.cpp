#include "core/appraise/worth.h"

#include <cmath>

#include "core/appraise/clarity.h"
#include "core/base/error.h"
#include "core/base/units.h"
#include "core/light/face_colour.h"
#include "core/solid/convex_solid.h"

namespace macle {

namespace {

// A grade is worth more than any weight a rough can have; a carat less than any price.
constexpr double kGrade = 1e6;
constexpr double kCarat = 1e-6;

}  // namespace

const char* soughtName(Sought sought) {
    switch (sought) {
        case Sought::Weight:
            return "weight";
        case Sought::Value:
            return "value";
        case Sought::Clarity:
            return "clarity";
        case Sought::DeepColour:
            return "deep-colour";
        case Sought::PaleColour:
            return "pale-colour";
    }
    return "weight";
}

Sought soughtFromName(const std::string& name) {
    for (const Sought sought :
         {Sought::Weight, Sought::Value, Sought::Clarity, Sought::DeepColour, Sought::PaleColour})
        if (name == soughtName(sought)) return sought;
    throw Error(ErrorCode::BadInput, "There is no search for '" + name + "'.",
                "Use one of: weight, value, clarity, deep-colour, pale-colour.");
}

PlacementWorth::PlacementWorth(const Stone& stone, const Design& design, const ClarityScale& scale,
                               const PriceTable* prices, const ValueQuery& query, Sought sought,
                               const AbsorptionSpectrum* spectrum)
    : stone_(stone),
      design_(design),
      scale_(scale),
      prices_(prices),
      query_(query),
      sought_(sought),
      spectrum_(spectrum),
      unit_ct_(caratsOf(stone, designVolume(design))) {
    if ((sought == Sought::DeepColour || sought == Sought::PaleColour) && !spectrum)
        throw Error(ErrorCode::BadUsage, "A colour is sought, but no spectrum is given.",
                    "Give one by name or file.");
    if (sought != Sought::Value) return;
    if (!prices)
        throw Error(ErrorCode::BadUsage, "The value is sought, but no price table is given.",
                    "Give a price table, or search by weight.");
    if (query.colour.size() != 1)
        throw Error(ErrorCode::BadUsage, "The value is sought, but no colour letter is known.",
                    "Record the colour with the stone, or give a letter.");
}

WorthReading PlacementWorth::read(const Placement& placement) const {
    WorthReading reading;
    reading.weight_ct = unit_ct_ * std::pow(placement.size_mm, 3);
    const ClarityFigure clarity =
        gradeClarity(scale_, seenDefects(stone_.defects, PlacedDesign(design_, placement), scale_),
                     reading.weight_ct);
    reading.grade = clarity.grade;
    reading.clarity = clarity.name;
    if (prices_) {
        ValueQuery query = query_;
        query.weight_ct = reading.weight_ct;
        query.clarity = clarity.name;
        reading.value = valueAlone(*prices_, query);
    }
    switch (sought_) {
        case Sought::Weight:
            reading.worth = reading.weight_ct;
            break;
        case Sought::Value:
            reading.worth = reading.value.value_or(0.0) + kCarat * reading.weight_ct;
            break;
        case Sought::Clarity:
            reading.worth = reading.weight_ct - kGrade * reading.grade;
            break;
        case Sought::DeepColour:
        case Sought::PaleColour:
            reading.chroma =
                faceColour(design_, placement.size_mm, stone_.material, *spectrum_).lab.chroma();
            reading.worth = sought_ == Sought::DeepColour ? *reading.chroma : -*reading.chroma;
            break;
    }
    return reading;
}

}  // namespace macle
