// Shop rates: how long each operation takes and what it costs, editable (JSON,
// resources/schemas/shop_rates.schema.json). Immutable once read; any thread.
#pragma once

#include <array>
#include <filesystem>
#include <string>
#include <vector>

namespace macle {

// In the order of the work (common practice for a round, no source).
inline constexpr std::array<const char*, 8> kOperations = {
    "windowing", "marking",         "sawing",        "bruting",
    "blocking",  "brillianteering", "girdle polish", "acid and check"};

inline constexpr std::array<const char*, 6> kRateUnits = {"stone",      "window", "ct entering",
                                                          "ct removed", "facet",  "mm of girdle"};

struct WorkRate {
    std::string per;  // one of kRateUnits
    double minutes = 0.0;
};

struct OperationRates {
    std::string operation;  // one of kOperations
    std::string label;
    std::vector<WorkRate> minutes;
    double cost_per_hour = 0.0;
    double cost_each = 0.0;
};

struct ShopRates {
    std::string file;
    std::string note;
    std::string currency;
    double hours_per_day = 8.0;
    double saw_from_ct = 0.0;  // sawn off above the table from this weight on
    int windows = 0;
    std::vector<OperationRates>
        operations;  // in the order of kOperations; one left out is not done
};

// Throws Error{NotFound, Io}, or Error{BadInput} naming the file and the field.
ShopRates readShopRates(const std::filesystem::path& file);
ShopRates parseShopRates(const std::string& json, const std::string& file);

// The program's own, marked as defaults.
std::filesystem::path defaultShopRates();

}  // namespace macle
