#include "app/terminal/appraise_inputs.h"

#include <cstdlib>
#include <filesystem>

#include "core/base/error.h"

namespace macle::app {

namespace {

std::optional<std::string> fileFrom(const Arguments& arguments, const std::string& option,
                                    const char* variable) {
    if (auto given = arguments.text(option)) return given;
    const char* set = std::getenv(variable);
    if (set != nullptr && *set != '\0') return std::string(set);
    return std::nullopt;
}

WeightRounding roundingFrom(const std::string& word) {
    if (word == "nine") return WeightRounding::UpAtNine;
    if (word == "down") return WeightRounding::Down;
    if (word == "nearest") return WeightRounding::Nearest;
    throw Error(ErrorCode::BadUsage, "--rounding: \"" + word + "\" is no way of rounding weights.",
                "Give nine (up only where the third decimal is 9), down or nearest.");
}

}  // namespace

std::vector<OptionSpec> valueOptions() {
    return {{"prices", "FILE", "your price table, CSV (or $MACLE_PRICES)"},
            {"factors", "FILE", "a second file of it, such as its factors"},
            {"clarity-scale", "FILE",
             "sizes for the clarity words, JSON (or $MACLE_CLARITY_SCALE; else the program's own)"},
            {"colour", "LETTER", "D to Z, instead of the colour recorded with the stone"},
            {"rounding", "WAY",
             "of weights to two decimals: nine (up only where the third is 9), down, nearest"}};
}

ValueInputs valueInputs(const Arguments& arguments) {
    ValueInputs inputs;
    const auto scale = fileFrom(arguments, "clarity-scale", "MACLE_CLARITY_SCALE");
    inputs.scale = readClarityScale(scale ? std::filesystem::path(*scale) : defaultClarityScale());
    std::vector<std::filesystem::path> files;
    if (const auto prices = fileFrom(arguments, "prices", "MACLE_PRICES"))
        files.emplace_back(*prices);
    if (const auto factors = arguments.text("factors")) {
        if (files.empty())
            throw Error(ErrorCode::BadUsage, "--factors is given without prices.",
                        "Add --prices FILE.");
        files.emplace_back(*factors);
    }
    if (!files.empty()) inputs.prices = readPrices(files);
    if (const auto colour = arguments.text("colour")) {
        if (colour->size() != 1 || colour->front() < 'D' || colour->front() > 'Z')
            throw Error(ErrorCode::BadUsage, "--colour: \"" + *colour + "\" is no colour letter.",
                        "Give one letter, D to Z.");
        inputs.colour = *colour;
    }
    if (const auto rounding = arguments.text("rounding")) inputs.rounding = roundingFrom(*rounding);
    return inputs;
}

ShopRates shopRates(const Arguments& arguments) {
    const auto file = fileFrom(arguments, "rates", "MACLE_RATES");
    return readShopRates(file ? std::filesystem::path(*file) : defaultShopRates());
}

}  // namespace macle::app
