// Comparison: layouts of one rough side by side: each figure a row, the best of each row marked,
// differences against one of them, and why a figure is missing. Planning estimates. Pure; any
// thread.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/appraise/whole_layout.h"

namespace macle {

// Which value of a row is the better one.
enum class Better { Higher, Lower, Neither };
const char* betterName(Better better);  // "higher", "lower", "neither"

struct ComparedCell {
    std::optional<double> value;
    std::string text;  // with its unit, or why there is none
    // As good as any other in its row by the decimals shown, and better than one of them.
    bool best = false;
    std::optional<double> difference;  // value less that of the base; nothing for the base itself
    std::string differenceText;        // "+0.120", "-35"; empty without a difference
};

struct ComparedRow {
    std::string title;
    std::string unit;
    int decimals = 2;
    Better better = Better::Neither;
    std::string note;  // how several stones make one figure; empty where that goes without saying
    std::vector<ComparedCell> cells;  // in the order of the layouts
};

// One layout as a point of a chart.
struct CandidatePoint {
    std::string name;
    int stones = 0;
    double weight_ct = 0.0;
    double recovery_percent = 0.0;
    std::optional<double> value;
    std::string currency;
    std::optional<int> clarityRank;  // of the lowest stone, index into clarityGrades()
    std::optional<double> chroma;    // face-up, of the heaviest stone
};

struct Comparison {
    std::vector<std::string> names;
    std::size_t base = 0;
    std::vector<ComparedRow> rows;
    std::vector<CandidatePoint> points;
};

inline constexpr std::size_t kMostCompared = 64;

// Throws Error{BadUsage} for fewer than two layouts or more than kMostCompared, a base that is none
// of them, or layouts of different roughs.
Comparison compareLayouts(const std::vector<WholeLayout>& layouts, std::size_t base = 0);

CandidatePoint candidatePoint(const WholeLayout& layout);

}  // namespace macle
