// The figures and sentences of a plan sheet. Private to core/bench.
#pragma once

#include <map>
#include <string>

#include "core/bench/plan_sheet.h"
#include "core/bench/reference_face.h"

namespace macle {

std::string caratWords(double ct);      // "1.234 ct"
std::string millimetres(double value);  // "0.020 mm"

// Of the rough, for the whole layout.
SheetFigures wholeFigures(const Stone& stone, const WholeLayout& whole, const WorkingOrder& order);

// Of one stone; `piece` is what it is cut from.
SheetFigures stoneFigures(const Stone& piece, const Appraisal& appraisal,
                          const Eigen::Vector3d& extent_mm, const PlannedStone& planned,
                          bool wholeRough);
SheetFigures proportionFigures(const std::map<std::string, double>& proportions,
                               const std::string& cut, const Eigen::Vector3d& extent_mm,
                               double size_mm);

// How to find the reference face, and where the azimuths begin on it.
std::vector<std::string> referenceLines(const ReferenceFace& face);

}  // namespace macle
