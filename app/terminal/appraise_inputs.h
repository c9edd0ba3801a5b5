// What the verbs `appraise` and `fit` take beside a layout to appraise it: prices, shop rates, the
// clarity scale and the stone's colour.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/terminal/arguments.h"
#include "core/appraise/clarity_scale.h"
#include "core/appraise/price_table.h"
#include "core/appraise/shop_rates.h"
#include "core/appraise/value.h"

namespace macle::app {

// --prices, --factors, --clarity-scale, --colour, --rounding.
std::vector<OptionSpec> valueOptions();

struct ValueInputs {
    ClarityScale scale;
    std::optional<PriceTable> prices;
    std::string colour;  // as given; may be empty
    WeightRounding rounding = WeightRounding::UpAtNine;
};

// Files that are not named come from $MACLE_PRICES and $MACLE_CLARITY_SCALE; the clarity scale else
// from the program, prices from nowhere. Throws what the readers throw, Error{BadUsage} for a
// colour or rounding that is none.
ValueInputs valueInputs(const Arguments& arguments);

// --rates, or $MACLE_RATES, or the program's defaults.
ShopRates shopRates(const Arguments& arguments);

}  // namespace macle::app
