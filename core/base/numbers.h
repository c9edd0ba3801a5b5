// Numbers as text, independent of the locale: files and the command line always use a decimal
// point, whatever the desktop's language.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace macle {

// The whole text must be one finite number ("1.5", "-2e-3"); otherwise nothing.
std::optional<double> parseNumber(std::string_view text);
std::optional<long long> parseInteger(std::string_view text);

// Fixed notation with `decimals` digits, rounded half to even; never "-0.00".
std::string formatFixed(double value, int decimals);

// Shortest text that reads back to the same double.
std::string formatExact(double value);

}  // namespace macle
