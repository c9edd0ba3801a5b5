#include "core/bench/sheet_words.h"

#include "core/base/numbers.h"
#include "core/cut/library.h"

namespace macle {

namespace {

std::string pointText(const Eigen::Vector3d& p, int decimals) {
    return "(" + formatFixed(p.x(), decimals) + ", " + formatFixed(p.y(), decimals) + ", " +
           formatFixed(p.z(), decimals) + ")";
}

}  // namespace

std::vector<std::string> referenceLines(const ReferenceFace& face) {
    std::vector<std::string> lines = referenceFaceWords(face);
    lines.push_back("Index 0 (azimuth 0 deg) points along " + pointText(face.index0, 5) +
                    " in the plane; azimuths run counter-clockwise seen from the " + face.facet +
                    ".");
    return lines;
}

std::string millimetres(double value) {
    return formatFixed(value, 3) + " mm";
}
std::string caratWords(double value) {
    return formatFixed(value, 3) + " ct";
}

SheetFigures wholeFigures(const Stone& stone, const WholeLayout& whole, const WorkingOrder& order) {
    SheetFigures figures;
    figures.emplace_back("Rough weight (scan)", caratWords(scanWeight_ct(stone)));
    if (stone.scale_ct) figures.emplace_back("Rough weight (scale)", caratWords(*stone.scale_ct));
    if (stone.trusted == TrustedWeight::Scale && stone.scale_ct)
        figures.emplace_back("Weights scaled to the scale",
                             "x " + formatFixed(weightFactor(stone), 5));
    figures.emplace_back("Finished, all stones", caratWords(whole.finished_ct));
    figures.emplace_back("Loss, all told", caratWords(whole.rough_ct - whole.finished_ct));
    figures.emplace_back("Off the pieces", caratWords(whole.outside_ct));
    figures.emplace_back("Kerfs", caratWords(whole.kerf_ct));
    figures.emplace_back("Pieces laid aside", caratWords(whole.leftOver_ct));
    figures.emplace_back("Recovery of the rough", formatFixed(whole.recovery_percent, 2) + " %");
    if (order.minutes)
        figures.emplace_back("Work, estimated", formatFixed(*order.minutes, 0) + " min");
    figures.emplace_back("Material", stone.material.name + ", " +
                                         formatExact(stone.material.density_g_cm3) + " g/cm3");
    return figures;
}

SheetFigures stoneFigures(const Stone& piece, const Appraisal& appraisal,
                          const Eigen::Vector3d& extent_mm, const PlannedStone& planned,
                          bool wholeRough) {
    SheetFigures figures;
    figures.emplace_back(wholeRough ? "Rough" : "Piece " + std::to_string(planned.piece + 1),
                         caratWords(caratsOf(piece, piece.rough.volume_mm3)));
    figures.emplace_back("Finished weight", caratWords(appraisal.finished_ct));
    figures.emplace_back("Loss", caratWords(appraisal.loss_ct));
    figures.emplace_back("Recovery", formatFixed(appraisal.recovery_percent, 2) + " %");
    figures.emplace_back("Size", millimetres(planned.placement.size_mm));
    figures.emplace_back("Length x width x height", formatFixed(extent_mm.x(), 3) + " x " +
                                                        formatFixed(extent_mm.y(), 3) + " x " +
                                                        millimetres(extent_mm.z()));
    figures.emplace_back("Allowance for polishing", millimetres(planned.rules.allowance_mm));
    if (!appraisal.inside) {
        figures.emplace_back("Skin left on the stone",
                             formatFixed(appraisal.naturals_mm2, 3) + " mm2");
        figures.emplace_back("Weight the rough lacks", caratWords(appraisal.loss_missing_ct));
    }
    return figures;
}

SheetFigures proportionFigures(const std::map<std::string, double>& proportions,
                               const std::string& cut, const Eigen::Vector3d& extent_mm,
                               double size_mm) {
    SheetFigures list;
    for (const ProportionInfo& info : findCut(cut).proportions) {
        const auto found = proportions.find(info.key);
        if (found != proportions.end())
            list.emplace_back(info.label, formatFixed(found->second, 2) + " " + info.unit);
    }
    list.emplace_back("Total height",
                      formatFixed(100.0 * extent_mm.z() / size_mm, 2) + " % of the size");
    return list;
}

}  // namespace macle
