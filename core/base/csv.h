// Comma-separated text (RFC 4180): quoted cells with doubled quotes, CR LF or LF. Lines that begin
// with '#' are notes and kept apart; empty lines are passed over. Pure; any thread.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace macle {

struct CsvRow {
    int line = 0;                    // where it begins, from 1
    std::vector<std::string> cells;  // blanks at both ends taken off, unless quoted
};

struct CsvText {
    std::vector<CsvRow> rows;
    std::vector<std::string> notes;  // without '#' and blanks
};

// A byte-order mark is passed over. `file` only for messages. Throws Error{BadInput} with line and
// column for a quote that does not end or stands in a bare cell, and for a row of more than
// `mostCells`.
CsvText parseCsv(std::string_view text, const std::string& file, std::size_t mostCells = 100);

// "prices.csv, line 4, column 3 (weight_to_ct)".
std::string csvPlace(const std::string& file, int line, std::size_t column,
                     const std::string& name);

}  // namespace macle
