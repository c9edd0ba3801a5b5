// Clarity scale: by which size, relief and place a remaining defect gets which word of the
// published scale; editable (JSON, resources/schemas/clarity_scale.schema.json). The limit of
// loupe clean, a dot of 5 um in good contrast, is that of the IDC rules of 1980 as quoted by
// Pagel-Theisen; sub-grades from 0.47 ct on: CIBJO. Immutable once read; any thread.
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <vector>

namespace macle {

struct ClarityScale {
    std::string file;
    std::string note;
    double sub_grades_from_ct = 0.47;
    std::map<std::string, double> relief;  // by the defect's kind
    std::map<std::string, double> place;   // by the zone
    double each_reflection = 0.0;          // share of the size that each reflection adds
    int most_reflections = 0;
    std::vector<double> up_to_um;  // of each grade of clarityGrades() but the last
};

// Throws Error{NotFound, Io}, or Error{BadInput} naming file and field: a grade that is missing or
// out of order, limits that do not grow, a kind or place without a factor.
ClarityScale readClarityScale(const std::filesystem::path& file);
ClarityScale parseClarityScale(const std::string& json, const std::string& file);

// The program's own, with numbers marked as invented.
std::filesystem::path defaultClarityScale();

}  // namespace macle
