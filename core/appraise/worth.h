// Worth of a placement, for searches by another figure than weight (core/fit/worth_fit.h): quick,
// so without reflections and without naturals; the placement must lie inside the rough.
#pragma once

#include <string>
#include <vector>

#include "core/appraise/clarity_scale.h"
#include "core/appraise/price_table.h"
#include "core/appraise/value.h"
#include "core/cut/design.h"
#include "core/cut/placement.h"
#include "core/stone/stone.h"

namespace macle {

enum class Sought { Weight, Value, Clarity };
const char* soughtName(Sought sought);           // "weight", "value", "clarity"
Sought soughtFromName(const std::string& name);  // throws Error{BadInput}

// What one placement is estimated at.
struct WorthReading {
    double weight_ct = 0.0;
    int grade = 0;  // index into clarityGrades()
    std::string clarity;
    std::optional<double> value;  // nothing without a price for it
    double worth = 0.0;           // what the search makes largest
};

// Immutable once made; `read` may run on many threads. Stone, scale and prices must outlive it.
class PlacementWorth {
  public:
    // `prices` may be null unless the value is sought; `query` gives what a value needs beside
    // weight and clarity. Throws Error{BadUsage} when the value is sought without prices or colour.
    PlacementWorth(const Stone& stone, const Design& design, const ClarityScale& scale,
                   const PriceTable* prices, const ValueQuery& query, Sought sought);

    // Worth: the weight; the value, where an unpriced stone is worth nothing; or the clarity grade
    // and then the weight. Of equal values the heavier is worth more.
    WorthReading read(const Placement& placement) const;

  private:
    const Stone& stone_;
    Design design_;
    const ClarityScale& scale_;
    const PriceTable* prices_;
    ValueQuery query_;
    Sought sought_;
    double unit_ct_ = 0.0;  // of the design at size 1
};

}  // namespace macle
