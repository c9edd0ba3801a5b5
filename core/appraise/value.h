// Value: what the user's own price table says of a stone, and what the next size step would bring.
// A planning estimate: the table is the user's, the grades in it are estimates. Pure; any thread.
#pragma once

#include <optional>
#include <string>

#include "core/appraise/price_table.h"
#include "core/appraise/reason.h"
#include "core/stone/colour.h"

namespace macle {

// How a weight becomes the two decimals it is sold by.
enum class WeightRounding {
    UpAtNine,  // up only where the third decimal is 9: 0.999 is 1.00, 0.998 is 0.99 (CIBJO Diamond
               // Book, from memory)
    Down,      // the third decimal is dropped
    Nearest    // to the nearest, 0.005 up
};
int roundedHundredths(double weight_ct, WeightRounding rounding);
// The least weight that is rounded to so many hundredths. ct.
double leastWeight_ct(int hundredths, WeightRounding rounding);
const char* roundingName(WeightRounding rounding);         // "up at nine", "down", "nearest"
WeightRounding roundingFromName(const std::string& name);  // throws Error{BadInput}

struct ValueQuery {
    std::string cut;
    double weight_ct = 0.0;
    std::string colour;   // letter; empty when not recorded
    std::string clarity;  // a grade or a group of the scale; empty when not known
    FluorescenceStrength fluorescence = FluorescenceStrength::NotSeen;
    int cutBand = 0;  // worst published band, 1 narrowest; 0: not known
    WeightRounding rounding = WeightRounding::UpAtNine;
};

// The next heavier band of the same shape, colour and clarity with a higher price per carat.
struct SizeStep {
    double from_ct = 0.0;
    double short_ct = 0.0;  // how much the stone lacks of the least weight that is rounded to it
    double value = 0.0;     // of a stone of exactly from_ct
    double gain = 0.0;      // value less that of the stone
    std::string text;       // "0.03 ct short of 1.50 ct, which would be worth 2100 USD more"
};

struct ValueFigure {
    double priced_ct = 0.0;  // rounded
    std::optional<double> price_per_ct;
    std::optional<double> value;  // whole stone, factors applied
    std::string currency;
    double factor = 1.0;
    std::optional<double> bandFrom_ct;  // where the band of its price begins
    std::optional<SizeStep> next;
    Reasons reasons;
    std::string missing;  // why there is no value, in words; empty when there is one
};

ValueFigure valueOf(const PriceTable& table, const ValueQuery& query);

// The value alone, nothing where the table has none: for searches that ask often.
std::optional<double> valueAlone(const PriceTable& table, const ValueQuery& query);

}  // namespace macle
