#include "core/appraise/clarity_grades.h"

#include "core/base/error.h"

namespace macle {

namespace {

bool numbered(const std::string& grade) {
    return grade.starts_with("VV") || grade.starts_with("VS") || grade.starts_with("SI");
}

std::string groupOf(const std::string& grade) {
    return numbered(grade) ? grade.substr(0, grade.size() - 1) : grade;
}

std::optional<ClarityRange> oneName(std::string_view text) {
    const std::vector<std::string>& grades = clarityGrades();
    std::optional<ClarityRange> range;
    for (int i = 0; i < static_cast<int>(grades.size()); ++i) {
        const std::string& grade = grades[static_cast<std::size_t>(i)];
        if (grade == text) return ClarityRange{i, i};
        if (groupOf(grade) != text) continue;
        if (!range) range = ClarityRange{i, i};
        range->lowest = i;
    }
    return range;
}

}  // namespace

const std::vector<std::string>& clarityGrades() {
    static const std::vector<std::string> kGrades = {"loupe clean", "VVS1", "VVS2", "VS1", "VS2",
                                                     "SI1",         "SI2",  "P1",   "P2",  "P3"};
    return kGrades;
}

std::optional<ClarityRange> clarityRange(std::string_view text) {
    if (text == "any") return ClarityRange{0, static_cast<int>(clarityGrades().size()) - 1};
    const std::size_t dash = text.find('-');
    if (dash == std::string_view::npos) return oneName(text);
    const auto from = oneName(text.substr(0, dash)), to = oneName(text.substr(dash + 1));
    if (!from || !to || from->cleanest > to->lowest) return std::nullopt;
    return ClarityRange{from->cleanest, to->lowest};
}

std::string clarityName(int grade, bool subGrades) {
    require(grade >= 0 && grade < static_cast<int>(clarityGrades().size()),
            "a clarity grade is one of the scale");
    const std::string& name = clarityGrades()[static_cast<std::size_t>(grade)];
    return subGrades ? name : groupOf(name);
}

}  // namespace macle
