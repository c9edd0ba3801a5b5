#include "core/appraise/appraisal.h"

#include <algorithm>
#include <tuple>

#include "core/appraise/defect_inside.h"
#include "core/base/numbers.h"

namespace macle {
namespace {

std::string claritySentence(const std::vector<DefectInside>& defects) {
    const std::string caution = " Planning estimate, not a grading report.";
    if (defects.empty()) return "No recorded defect remains inside." + caution;

    const auto largest = std::max_element(
        defects.begin(), defects.end(),
        [](const DefectInside& a, const DefectInside& b) { return a.largest_mm < b.largest_mm; });
    const std::string place =
        formatFixed(largest->largest_mm, 2) + " mm (" + largest->kind + ", " + largest->zone + ").";
    std::string text = defects.size() == 1 ? "1 defect remains inside, " + place
                                           : std::to_string(defects.size()) +
                                                 " defects remain inside, the largest " + place;

    const auto forbidden = std::count_if(defects.begin(), defects.end(),
                                         [](const DefectInside& d) { return d.forbidden; });
    if (forbidden > 0 && defects.size() == 1)
        text += " It must be cut away.";
    else if (forbidden > 0)
        text += " " + std::to_string(forbidden) + " of them must be cut away.";
    return text + caution;
}

}  // namespace

Appraisal appraise(const Stone& stone, const RoughCutter& cutter, const Design& design,
                   const Placement& placement) {
    const FinishedStone finished = cutter.finish(design, placement, false);

    Appraisal appraisal;
    appraisal.rough_ct = caratsOf(stone, stone.rough.volume_mm3);
    appraisal.finished_ct = caratsOf(stone, finished.volume_mm3);
    appraisal.loss_ct = appraisal.rough_ct - appraisal.finished_ct;
    appraisal.loss_outside_ct = appraisal.loss_ct;
    appraisal.loss_missing_ct = caratsOf(stone, finished.missing_mm3);
    appraisal.recovery_percent =
        appraisal.rough_ct > 0.0 ? 100.0 * appraisal.finished_ct / appraisal.rough_ct : 0.0;
    appraisal.inside = finished.inside;
    for (const Natural& natural : finished.naturals)
        appraisal.naturals_mm2 += natural.area_mm2;

    const PlacedDesign placedDesign(design, placement);
    for (const Defect& defect : stone.defects)
        if (auto inside = placedDesign.look(defect))
            appraisal.defects.push_back(std::move(*inside));
    std::stable_sort(appraisal.defects.begin(), appraisal.defects.end(),
                     [](const DefectInside& a, const DefectInside& b) {
                         return std::tie(b.severity, b.largest_mm) <
                                std::tie(a.severity, a.largest_mm);
                     });
    appraisal.clarity = claritySentence(appraisal.defects);
    return appraisal;
}

}  // namespace macle
