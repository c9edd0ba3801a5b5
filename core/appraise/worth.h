// Worth of a placement, for searches by another figure than weight (core/fit/worth_fit.h): quick,
// so without reflections and without naturals; the placement must lie inside the rough.
#pragma once

#include <optional>
#include <string>

#include "core/appraise/clarity_scale.h"
#include "core/appraise/price_table.h"
#include "core/appraise/value.h"
#include "core/cut/design.h"
#include "core/cut/placement.h"
#include "core/light/spectrum.h"
#include "core/stone/stone.h"

namespace macle {

enum class Sought { Weight, Value, Clarity, DeepColour, PaleColour };
const char* soughtName(Sought sought);           // "weight" ... "deep-colour", "pale-colour"
Sought soughtFromName(const std::string& name);  // throws Error{BadInput}

// What one placement is estimated at.
struct WorthReading {
    double weight_ct = 0.0;
    int grade = 0;  // index into clarityGrades()
    std::string clarity;
    std::optional<double> value;   // nothing without a price for it
    std::optional<double> chroma;  // face-up, where a colour is sought
    double worth = 0.0;            // what the search makes largest
};

// Immutable once made; `read` may run on many threads. Stone, scale, prices and spectrum must
// outlive it.
class PlacementWorth {
  public:
    // `prices` may be null unless the value is sought; `query` gives what a value needs beside
    // weight and clarity; `spectrum` may be null unless a colour is sought. Throws Error{BadUsage}
    // when the value is sought without prices or colour letter, a colour without a spectrum.
    PlacementWorth(const Stone& stone, const Design& design, const ClarityScale& scale,
                   const PriceTable* prices, const ValueQuery& query, Sought sought,
                   const AbsorptionSpectrum* spectrum = nullptr);

    // Worth: the weight; the value, where an unpriced stone is worth nothing; the clarity grade and
    // then the weight; or the chroma of the face-up colour (core/light/face_colour.h), for a pale
    // one its opposite. Of equal values the heavier is worth more.
    WorthReading read(const Placement& placement) const;

  private:
    const Stone& stone_;
    Design design_;
    const ClarityScale& scale_;
    const PriceTable* prices_;
    ValueQuery query_;
    Sought sought_;
    const AbsorptionSpectrum* spectrum_;
    double unit_ct_ = 0.0;  // of the design at size 1
};

}  // namespace macle
