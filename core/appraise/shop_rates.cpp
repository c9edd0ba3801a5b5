#include "core/appraise/shop_rates.h"

#include <algorithm>
#include <optional>

#include "core/appraise/json_fields.h"
#include "core/base/error.h"
#include "core/base/resources.h"
#include "core/base/text_file.h"

namespace macle {

namespace {

using json_fields::Fields;
using json_fields::Json;

constexpr std::uintmax_t kLargestFile = 1u << 20;
constexpr double kMost = 1e9;  // minutes or money; only keeps the arithmetic finite
constexpr double kHeaviest_ct = 1e6;
constexpr int kMostWindows = 100;

template <std::size_t N>
bool among(const std::array<const char*, N>& names, const std::string& name) {
    return std::find(names.begin(), names.end(), name) != names.end();
}

template <std::size_t N>
std::string listed(const std::array<const char*, N>& names) {
    std::string text;
    for (const char* name : names)
        text += (text.empty() ? "" : ", ") + std::string(name);
    return text;
}

OperationRates operationFrom(const Json& object, const std::string& file, std::size_t number) {
    const std::string path = "operation " + std::to_string(number);
    const Fields fields(object, file, path,
                        {"operation", "label", "minutes", "cost_per_hour", "cost_each"});
    OperationRates rates;
    rates.operation = fields.text("operation");
    if (!among(kOperations, rates.operation))
        fields.refuse("operation", "names no operation: " + rates.operation + ".",
                      "Use one of: " + listed(kOperations) + ".");
    rates.label = fields.text("label");
    rates.cost_per_hour = fields.number("cost_per_hour", 0.0, kMost);
    rates.cost_each = fields.number("cost_each", 0.0, kMost);
    for (const Json& one : fields.list("minutes")) {
        const Fields rate(one, file, path + ", minutes", {"per", "minutes"});
        WorkRate made{rate.text("per"), rate.number("minutes", 0.0, kMost)};
        if (!among(kRateUnits, made.per))
            rate.refuse("per", "is \"" + made.per + "\".",
                        "Use one of: " + listed(kRateUnits) + ".");
        rates.minutes.push_back(std::move(made));
    }
    return rates;
}

}  // namespace

ShopRates parseShopRates(const std::string& text, const std::string& file) {
    const Json json = json_fields::parsed(text, file);
    const Fields fields(
        json, file, "",
        {"note", "currency", "hours_per_day", "saw_from_ct", "windows", "operations"});
    ShopRates rates;
    rates.file = file;
    rates.note = fields.text("note");
    rates.currency = fields.text("currency");
    rates.hours_per_day = fields.number("hours_per_day", 0.1, 24.0);
    rates.saw_from_ct = fields.number("saw_from_ct", 0.0, kHeaviest_ct);
    rates.windows = fields.integer("windows", 0, kMostWindows);
    std::size_t number = 0;
    std::vector<OperationRates> given;
    for (const Json& one : fields.list("operations"))
        given.push_back(operationFrom(one, file, ++number));
    for (const char* operation : kOperations) {
        std::optional<OperationRates> found;
        for (const OperationRates& one : given)
            if (one.operation == operation) {
                if (found)
                    fields.refuse("operations", std::string("has ") + operation + " a second time.",
                                  "Keep one of them.");
                found = one;
            }
        if (found) rates.operations.push_back(*found);
    }
    return rates;
}

ShopRates readShopRates(const std::filesystem::path& file) {
    return parseShopRates(
        readTextFile(file, "file of shop rates", kLargestFile,
                     "Check the name; " + defaultShopRates().string() + " is an example."),
        file.string());
}

std::filesystem::path defaultShopRates() {
    return resourcePath("shop/default_rates.json");
}

}  // namespace macle
