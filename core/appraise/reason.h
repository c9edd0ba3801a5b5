// Reason: one step by which a figure came about, in words and with its number where it has one.
// Made by core and shown alike in the window, on the command line and on the sheet.
#pragma once

#include <optional>
#include <string>
#include <vector>

namespace macle {

struct Reason {
    std::string what;  // "Price of round, 1.00 to 1.49 ct, G, VS1"
    std::optional<double> value;
    std::string unit;  // "ct", "deg", "min"; empty for a plain number
    int decimals = 2;  // that the value is shown with
};
using Reasons = std::vector<Reason>;

// "what: 1.02 ct", or "what" alone.
std::string reasonText(const Reason& reason);

// The caution that belongs beside every grade, time and price.
inline constexpr const char* kPlanningEstimate = "Planning estimate, not a grading report.";

}  // namespace macle
