// MarksFile: marks as drawings that other programs read. Numbers always with a decimal point.
//
// DXF: release 12 in ASCII, which every reader knows, one closed POLYLINE in three dimensions for
// each loop, on a layer that bears the curve's name; stone frame, one drawing unit = 1 mm (said in
// a comment, for release 12 has no field for it). Every point of the mark is there. SVG: a sheet
// with the views of the marks at one true scale, lengths, how to find the reference face and
// cautions. Within a view's group the coordinates are mm of the stone; lines follow the marks to
// 0.05 mm on paper. Pure; any thread.
#pragma once

#include <string>

#include "core/bench/marks.h"

namespace macle {

struct MarksHeading {
    std::string stone;
    std::string layout;
};

// "SAW_1_EDGE_BELOW"
std::string markLayer(const MarkCurve& curve);

std::string marksDxf(const Marks& marks, const MarksHeading& heading);
std::string marksSvg(const Marks& marks, const TriangleMesh& skin, const MarksHeading& heading);

}  // namespace macle
