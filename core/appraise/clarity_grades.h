// The words of the published clarity scale (ISO 24016, CIBJO Diamond Book), cleanest first. Pure;
// any thread.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace macle {

// "loupe clean", "VVS1", "VVS2", "VS1", "VS2", "SI1", "SI2", "P1", "P2", "P3".
const std::vector<std::string>& clarityGrades();

// Indices into clarityGrades(), both included.
struct ClarityRange {
    int cleanest = 0;
    int lowest = 0;
    bool operator==(const ClarityRange&) const = default;
};

// A grade, a group without its number ("VS": VS1 and VS2), a range "VS1-SI1", or "any".
std::optional<ClarityRange> clarityRange(std::string_view text);

// The grade's name, or its group's: "VS2", "VS".
std::string clarityName(int grade, bool subGrades);

}  // namespace macle
