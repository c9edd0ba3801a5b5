// Price table: the user's own, from CSV files (resources/schemas/prices.schema.json says what a row
// holds). A file holds one or both of two tables, each under its own heading line:
//   shape,weight_from_ct,weight_to_ct,colour,clarity,price_per_ct,currency
//   factor,grade,times
// Shape is a cut's name or "any"; colour a letter "G", a range "D-F" or "any"; clarity as
// clarityRange reads it; weights with two decimals, both ends included. A factor is "fluorescence"
// (grade as it is recorded, "strong") or "cut" (the worst published band, "1"). Lines that begin
// with '#' are notes. Immutable once read; any thread.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "core/appraise/clarity_grades.h"

namespace macle {

struct PriceRow {
    std::string shape;  // empty: any
    int from_hundredths = 0;
    int to_hundredths = 0;
    char colourFrom = 'D';
    char colourTo = 'Z';
    ClarityRange clarity;
    double price_per_ct = 0.0;
    int line = 0;
    int file = 0;  // index into PriceTable::files
};

struct PriceFactor {
    std::string factor;  // "fluorescence" or "cut"
    std::string grade;
    double times = 1.0;
};

struct PriceTable {
    std::vector<std::string> files;
    std::string currency;  // one for all rows
    std::string note;      // the first note of the first file
    std::vector<PriceRow> rows;
    std::vector<PriceFactor> factors;
};

inline constexpr std::size_t kMostPriceRows = 50000;

// Reads the files as one table. Throws Error{NotFound, Io}, or Error{BadInput} naming file, line
// and column: a heading or cell that is none, a second currency, a row that overlaps an earlier one
// (a stone would have two prices), a factor given twice.
PriceTable readPrices(const std::vector<std::filesystem::path>& files);
PriceTable parsePrices(const std::string& text, const std::string& file);

// The invented demo table in the resources.
std::filesystem::path demoPrices();

// "round, 1.00 to 1.49 ct, G, VS1-VS2".
std::string priceRowText(const PriceRow& row);

}  // namespace macle
