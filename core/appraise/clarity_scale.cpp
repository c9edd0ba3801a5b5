#include "core/appraise/clarity_scale.h"

#include "core/appraise/clarity_grades.h"
#include "core/appraise/defect_inside.h"
#include "core/appraise/json_fields.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/resources.h"
#include "core/base/text_file.h"

namespace macle {

namespace {

using json_fields::Fields;
using json_fields::Json;

constexpr std::uintmax_t kLargestFile = 1u << 20;
constexpr double kMostFactor = 10.0;
constexpr double kLargest_um = 1e6;
constexpr double kHeaviest_ct = 1e6;
constexpr int kMostReflections = 1000;

std::map<std::string, double> factors(const Json& object, const std::string& file,
                                      const std::string& name,
                                      const std::vector<std::string>& keys) {
    const Fields fields(object, file, "\"" + name + "\"", keys);
    std::map<std::string, double> read;
    for (const std::string& key : keys)
        read[key] = fields.number(key, 0.0, kMostFactor);
    return read;
}

std::vector<std::string> kinds() {
    std::vector<std::string> names;
    for (const DefectKind kind :
         {DefectKind::Crystal, DefectKind::Feather, DefectKind::Cloud, DefectKind::Pinpoint,
          DefectKind::Crack, DefectKind::GrainLine, DefectKind::Other})
        names.push_back(kindName(kind));
    return names;
}

}  // namespace

ClarityScale parseClarityScale(const std::string& text, const std::string& file) {
    const Json json = json_fields::parsed(text, file);
    const Fields fields(json, file, "",
                        {"note", "sub_grades_from_ct", "relief", "place", "each_reflection",
                         "most_reflections", "grades"});
    ClarityScale scale;
    scale.file = file;
    scale.note = fields.text("note");
    scale.sub_grades_from_ct = fields.number("sub_grades_from_ct", 0.0, kHeaviest_ct);
    scale.relief = factors(fields.object("relief"), file, "relief", kinds());
    scale.place = factors(fields.object("place"), file, "place", {kZones.begin(), kZones.end()});
    scale.each_reflection = fields.number("each_reflection", 0.0, kMostFactor);
    scale.most_reflections = fields.integer("most_reflections", 0, kMostReflections);
    const std::vector<std::string>& grades = clarityGrades();
    const Json& given = fields.list("grades");
    if (given.size() != grades.size())
        fields.refuse("grades", "has " + std::to_string(given.size()) + " entries.",
                      "Give all ten, loupe clean to P3.");
    for (std::size_t i = 0; i < grades.size(); ++i) {
        const bool last = i + 1 == grades.size();
        const Fields grade(given[i], file, "grade " + std::to_string(i + 1),
                           last ? std::vector<std::string>{"grade"}
                                : std::vector<std::string>{"grade", "up_to_um"});
        if (grade.text("grade") != grades[i])
            grade.refuse("grade", "is " + grade.text("grade") + ", not " + grades[i] + ".",
                         "Give the grades cleanest first.");
        if (last) continue;
        const double up_to_um = grade.number("up_to_um", 0.0, kLargest_um);
        if (!(up_to_um > (scale.up_to_um.empty() ? 0.0 : scale.up_to_um.back())))
            grade.refuse("up_to_um", "is " + formatExact(up_to_um) + ", not above the one before.",
                         "Let the limits grow from grade to grade.");
        scale.up_to_um.push_back(up_to_um);
    }
    return scale;
}

ClarityScale readClarityScale(const std::filesystem::path& file) {
    return parseClarityScale(
        readTextFile(file, "clarity scale", kLargestFile,
                     "Check the name; " + defaultClarityScale().string() + " is an example."),
        file.string());
}

std::filesystem::path defaultClarityScale() {
    return resourcePath("clarity_scale.json");
}

}  // namespace macle
