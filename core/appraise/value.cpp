#include "core/appraise/value.h"

#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "core/base/numbers.h"

namespace macle {

namespace {

// Weights carry rounding errors of their arithmetic, far below a thousandth of a carat.
constexpr double kSlack_thousandths = 1e-6;

std::optional<ClarityRange> askedClarity(const ValueQuery& query) {
    return query.clarity.empty() ? std::nullopt : clarityRange(query.clarity);
}

const PriceRow* rowOf(const PriceTable& table, const ValueQuery& query, const std::string& shape,
                      int hundredths, ClarityRange clarity) {
    const auto found = std::find_if(table.rows.begin(), table.rows.end(), [&](const PriceRow& row) {
        return row.shape == shape && row.from_hundredths <= hundredths &&
               hundredths <= row.to_hundredths && row.colourFrom <= query.colour[0] &&
               query.colour[0] <= row.colourTo && row.clarity.cleanest <= clarity.cleanest &&
               clarity.lowest <= row.clarity.lowest;
    });
    return found == table.rows.end() ? nullptr : &*found;
}

// The cut's own shape goes before any. Of a group of grades that has no row as a whole, the row of
// the lowest grade, which is never too dear where prices fall with clarity.
const PriceRow* pricedRow(const PriceTable& table, const ValueQuery& query, int hundredths,
                          ClarityRange clarity) {
    for (const std::string& shape : {query.cut, std::string()})
        for (const int cleanest : {clarity.cleanest, clarity.lowest})
            if (const PriceRow* row =
                    rowOf(table, query, shape, hundredths, {cleanest, clarity.lowest}))
                return row;
    return nullptr;
}

// The grades by which factors are looked up.
std::string gradeOf(const std::string& factor, const ValueQuery& query) {
    if (factor == "cut") return query.cutBand > 0 ? std::to_string(query.cutBand) : "";
    return query.fluorescence == FluorescenceStrength::NotSeen
               ? ""
               : fluorescenceName(query.fluorescence);
}

double factorOf(const PriceTable& table, const ValueQuery& query, Reasons* reasons) {
    double product = 1.0;
    for (const char* factor : {"fluorescence", "cut"}) {
        const bool named = std::any_of(table.factors.begin(), table.factors.end(),
                                       [&](const PriceFactor& f) { return f.factor == factor; });
        if (!named) continue;
        const std::string grade = gradeOf(factor, query);
        const auto found = std::find_if(
            table.factors.begin(), table.factors.end(),
            [&](const PriceFactor& f) { return f.factor == factor && f.grade == grade; });
        const std::string name = std::string(factor) == "cut" ? "Factor for the band of proportions"
                                                              : "Factor for fluorescence";
        if (found != table.factors.end()) {
            product *= found->times;
            if (reasons) reasons->push_back({name + " (" + grade + ")", found->times, "", 3});
        } else if (reasons) {
            reasons->push_back({name + ": " +
                                    (grade.empty() ? std::string("not recorded, so none is applied")
                                                   : "the table has none for " + grade),
                                std::nullopt, "", 0});
        }
    }
    return product;
}

std::string roundedHow(WeightRounding rounding) {
    switch (rounding) {
        case WeightRounding::UpAtNine:
            return "up only where the third decimal is 9";
        case WeightRounding::Nearest:
            return "to the nearest hundredth";
        case WeightRounding::Down:
            break;
    }
    return "third decimal dropped";
}

std::string notKnown(const ValueQuery& query) {
    if (!(query.weight_ct > 0.0)) return "The stone has no weight.";
    if (query.colour.size() != 1)
        return "No colour letter is recorded, so no price can be looked up. Record it with the "
               "stone or give one.";
    if (!askedClarity(query)) return "No clarity is estimated, so no price can be looked up.";
    return {};
}

std::string missingText(const PriceTable& table, const ValueQuery& query, int hundredths) {
    const auto lacks = [&](const auto& fits) {
        return std::none_of(table.rows.begin(), table.rows.end(), fits);
    };
    const auto ofShape = [&](const PriceRow& r) { return r.shape.empty() || r.shape == query.cut; };
    const auto ofWeight = [&](const PriceRow& r) {
        return ofShape(r) && r.from_hundredths <= hundredths && hundredths <= r.to_hundredths;
    };
    const auto ofColour = [&](const PriceRow& r) {
        return ofWeight(r) && r.colourFrom <= query.colour[0] && query.colour[0] <= r.colourTo;
    };
    const std::string weight = formatFixed(hundredths / 100.0, 2) + " ct";
    if (table.rows.empty()) return "The price table has no prices.";
    if (lacks(ofShape)) return "The price table has no row for the shape " + query.cut + ".";
    if (lacks(ofWeight))
        return "The price table has no row for " + query.cut + " of " + weight + ".";
    if (lacks(ofColour))
        return "The price table has no row for " + query.cut + " of " + weight + " in colour " +
               query.colour + ".";
    return "The price table has no row for " + query.cut + " of " + weight + " in colour " +
           query.colour + " and clarity " + query.clarity + ".";
}

std::optional<SizeStep> nextStep(const PriceTable& table, const ValueQuery& query,
                                 const PriceRow& present, ClarityRange clarity, double factor,
                                 double value) {
    const PriceRow* next = nullptr;
    for (const PriceRow& row : table.rows) {
        if (row.from_hundredths <= present.to_hundredths ||
            row.price_per_ct <= present.price_per_ct ||
            (next && row.from_hundredths >= next->from_hundredths))
            continue;
        if (pricedRow(table, query, row.from_hundredths, clarity) == &row) next = &row;
    }
    if (!next) return std::nullopt;
    SizeStep step;
    step.from_ct = next->from_hundredths / 100.0;
    step.short_ct = leastWeight_ct(next->from_hundredths, query.rounding) - query.weight_ct;
    step.value = step.from_ct * next->price_per_ct * factor;
    step.gain = step.value - value;
    step.text = formatFixed(step.short_ct, 3) + " ct short of " + formatFixed(step.from_ct, 2) +
                " ct, which would be worth " + formatFixed(step.gain, 0) + " " + table.currency +
                " more";
    return step;
}

}  // namespace

int roundedHundredths(double weight_ct, WeightRounding rounding) {
    const auto thousandths =
        static_cast<long long>(std::floor(1000.0 * weight_ct + kSlack_thousandths));
    const auto hundredths = static_cast<int>(thousandths / 10);
    const int third = static_cast<int>(thousandths % 10);
    switch (rounding) {
        case WeightRounding::UpAtNine:
            return hundredths + (third == 9 ? 1 : 0);
        case WeightRounding::Nearest:
            return hundredths + (third >= 5 ? 1 : 0);
        case WeightRounding::Down:
            break;
    }
    return hundredths;
}

double leastWeight_ct(int hundredths, WeightRounding rounding) {
    switch (rounding) {
        case WeightRounding::UpAtNine:
            return hundredths / 100.0 - 0.001;
        case WeightRounding::Nearest:
            return hundredths / 100.0 - 0.005;
        case WeightRounding::Down:
            break;
    }
    return hundredths / 100.0;
}

const char* roundingName(WeightRounding rounding) {
    switch (rounding) {
        case WeightRounding::UpAtNine:
            return "up at nine";
        case WeightRounding::Down:
            return "down";
        case WeightRounding::Nearest:
            return "nearest";
    }
    return "down";
}

WeightRounding roundingFromName(const std::string& name) {
    for (const auto rounding :
         {WeightRounding::UpAtNine, WeightRounding::Down, WeightRounding::Nearest})
        if (name == roundingName(rounding)) return rounding;
    throw Error(ErrorCode::BadInput, "There is no way of rounding weights called '" + name + "'.",
                "Use one of: up at nine, down, nearest.");
}

ValueFigure valueOf(const PriceTable& table, const ValueQuery& query) {
    ValueFigure figure;
    figure.currency = table.currency;
    figure.missing = notKnown(query);
    if (!table.note.empty()) figure.reasons.push_back({"Prices: " + table.note, {}, "", 0});
    if (!figure.missing.empty()) return figure;
    const int hundredths = roundedHundredths(query.weight_ct, query.rounding);
    figure.priced_ct = hundredths / 100.0;
    figure.reasons.push_back({"Weight", query.weight_ct, "ct", 3});
    figure.reasons.push_back(
        {"Priced as (" + roundedHow(query.rounding) + ")", figure.priced_ct, "ct", 2});
    const ClarityRange clarity = *askedClarity(query);
    const PriceRow* row = pricedRow(table, query, hundredths, clarity);
    if (!row) {
        figure.missing = missingText(table, query, hundredths);
        return figure;
    }
    figure.price_per_ct = row->price_per_ct;
    figure.bandFrom_ct = row->from_hundredths / 100.0;
    figure.reasons.push_back(
        {"Price of " + priceRowText(*row) + " (line " + std::to_string(row->line) + " of " +
             std::filesystem::path(table.files.at(static_cast<std::size_t>(row->file)))
                 .filename()
                 .string() +
             ")",
         row->price_per_ct, table.currency + "/ct", 0});
    if (clarity.lowest > row->clarity.lowest || clarity.cleanest < row->clarity.cleanest)
        figure.reasons.push_back({"The table has no price for " + query.clarity +
                                      " as a whole; its lower grade is taken",
                                  {},
                                  "",
                                  0});
    figure.factor = factorOf(table, query, &figure.reasons);
    figure.value = figure.priced_ct * row->price_per_ct * figure.factor;
    figure.reasons.push_back({"Value", *figure.value, table.currency, 0});
    figure.next = nextStep(table, query, *row, clarity, figure.factor, *figure.value);
    if (figure.next) figure.reasons.push_back({figure.next->text, {}, "", 0});
    return figure;
}

std::optional<double> valueAlone(const PriceTable& table, const ValueQuery& query) {
    if (!notKnown(query).empty()) return std::nullopt;
    const int hundredths = roundedHundredths(query.weight_ct, query.rounding);
    const PriceRow* row = pricedRow(table, query, hundredths, *askedClarity(query));
    if (!row) return std::nullopt;
    return hundredths / 100.0 * row->price_per_ct * factorOf(table, query, nullptr);
}

}  // namespace macle
