#include "app/terminal/defect_source.h"

#include <cmath>
#include <limits>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/stone/volume_defects.h"

namespace macle::app {
namespace {

constexpr double kLargest_mm3 = 1e6;

GreyRange greyRange(const std::string& text) {
    const std::size_t colon = text.find(':');
    const auto low = parseNumber(text.substr(0, colon));
    const auto high = colon == std::string::npos
                          ? std::optional<double>(std::numeric_limits<float>::max())
                          : parseNumber(text.substr(colon + 1));
    if (!low || !high || !std::isfinite(*low) || !std::isfinite(*high) || *low > *high)
        throw Error(ErrorCode::BadUsage,
                    "--threshold: \"" + text + "\" is no range of grey values.",
                    "Give the lowest grey value of a defect, or two as in 900:1500.");
    return {*low, *high};
}

}  // namespace

std::vector<OptionSpec> defectOptions() {
    return {
        {"defects", "FILE",
         "defects to add: a defect list (JSON), a mesh, or a scanned volume (.mha, .mhd, .nrrd, "
         ".nhdr, .vtk, .vti)"},
        {"threshold", "V",
         "of a volume: grey values from V up are defects; V:W for those from V to W"},
        {"smallest", "MM3", "of a volume: smaller parts are noise (0.0005)"}};
}

void addDefects(const Arguments& arguments, Stone& stone, Console& console, Json& object) {
    const auto file = arguments.text("defects");
    const auto threshold = arguments.text("threshold");
    const auto smallest = arguments.number("smallest", 0.0, kLargest_mm3);
    const bool volume = file && isVolumeName(*file);
    if (!volume && (threshold || smallest))
        throw Error(ErrorCode::BadUsage, "--threshold and --smallest belong to a scanned volume.",
                    "Give one by --defects, or leave them out.");
    if (!file) return;
    Json added;
    if (volume) {
        if (!threshold)
            throw Error(ErrorCode::BadUsage,
                        "Which grey values of " + *file + " are defects is not given.",
                        "Add --threshold V, or --threshold V:W.");
        VolumeDefectOptions options;
        options.range = greyRange(*threshold);
        options.smallest_mm3 = smallest.value_or(kSmallestPart_mm3);
        options.within = &stone.rough.mesh;
        const Volume grey = readVolume(*file, &console.phase("Reading the volume"));
        const VolumeDefects found =
            defectsFromVolume(grey, options, &console.phase("Finding defects"));
        stone.defects.insert(stone.defects.end(), found.defects.begin(), found.defects.end());
        added["count"] = found.defects.size();
        added["too_small"] = found.tooSmall;
        added["at_border"] = found.atBorder;
        added["outside"] = found.outside;
        console.note(std::to_string(found.defects.size()) +
                     " defects from the volume; left out: " + std::to_string(found.tooSmall) +
                     " too small, " + std::to_string(found.atBorder) + " at its end, " +
                     std::to_string(found.outside) + " outside the rough");
    } else {
        const std::vector<Defect> more = readDefects(*file);
        stone.defects.insert(stone.defects.end(), more.begin(), more.end());
        added["count"] = more.size();
    }
    object["defects_added"] = added;
}

}  // namespace macle::app
