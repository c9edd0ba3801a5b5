// ReferenceFace: the plane a stone is begun from, and how to find it again on its skin. Stone
// frame, mm, degrees.
//
// Common practice, no source: the table is ground first, and everything else is measured from it.
// Where the piece is sawn within tolerance::kSawnReference_deg of the table on the table's side,
// the sawn face is there already: it is the reference face, and the rest down to the table is
// ground from it. A cut without a table (rose) is begun from its largest facet, which then stands
// for the table here. Pure functions; any thread.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "core/bench/skin_faces.h"
#include "core/divide/division.h"
#include "core/divide/layout.h"

namespace macle {

namespace tolerance {
// The flanks of a V kerf lean by half a degree or less; a saw meant for another way leans more.
inline constexpr double kSawnReference_deg = 1.0;
// A plane is found with a gauge that is wrong by so much.
inline constexpr double kGauge_mm = 0.02;
}  // namespace tolerance

// A recognisable place and how far it is from the plane.
struct ReferencePoint {
    SkinPoint point;
    double below_mm = 0.0;  // square to the plane; below 0: above it, and so ground away
    bool decides = false;   // one of the three by which the plane is found; others are a check
    bool groundAway() const { return below_mm < 0.0; }
};

// A flat face and how it leans to the plane.
struct ReferenceAngle {
    std::string face;                                   // "natural face 2", "face of saw 1"
    Eigen::Vector3d normal = Eigen::Vector3d::UnitZ();  // outward
    double between_deg = 0.0;                           // between the two planes, 0..90
    bool sameWay = false;  // it looks to the plane's side: its slope rises to the plane
    Eigen::Vector3d middle_mm = Eigen::Vector3d::Zero();  // of a natural face
    double area_mm2 = 0.0;  // of a natural face, on this piece; 0 of a sawn one
    double unevenness_mm = 0.0;
};

// How well the deciding points fix the plane, each distance wrong by up to kGauge_mm in the worst
// way. First order: exact to about the square of the tilt.
struct ReferenceFirmness {
    double tilt_deg = 0.0;  // at most
    double shift_mm = 0.0;  // along the normal in the middle of the table, at most
    double edge_mm = 0.0;   // anywhere on the table's border, at most
};

struct ReferenceFace {
    Plane plane;               // outward normal, away from the stone
    std::string facet;         // which it is ground for: "table"
    int stone = 0;             // of the layout
    int saw = -1;              // whose face it is; -1: the table plane
    double toTable_mm = 0.0;   // from the plane down to the table, in the middle of the table
    double toTable_deg = 0.0;  // how the two lean
    double toGrind_mm = 0.0;   // from the highest place of the piece down to the table
    Eigen::Vector3d middle_mm = Eigen::Vector3d::Zero();  // of the table, laid on the plane
    Eigen::Vector3d index0 = Eigen::Vector3d::UnitX();    // azimuth 0 of the cut, laid on the plane
    bool meetsSkin = false;
    std::vector<ReferencePoint> points;  // the deciding first
    std::vector<ReferenceAngle> angles;
    std::optional<ReferenceFirmness> firmness;  // none: fewer than three points, or all in a row
    std::vector<std::string> remarks;           // what is missing, in words
};

// Of one stone of the layout, `division` being what its saws make of `skin`. Throws what designOf
// throws; Error{BadUsage} for a stone the layout has not, Error{BadInput} for a placement that is
// none.
ReferenceFace referenceFaceOf(const TriangleMesh& skin, const Layout& layout,
                              const Division& division, std::size_t stone = 0);

// What it is and how to find it, a line each: "The table ... grind 1.234 mm ...", "A: corner of
// natural faces 1, 2, 5 at (..) mm: 2.345 mm below the plane", "natural face 1: 54.74 deg".
std::vector<std::string> referenceFaceWords(const ReferenceFace& face);

// The plane from three points and their distances below it (not all in a row), of the two that fit
// the one whose normal is nearer to `towards`. Throws Error{NoSolution} when there is none.
Plane planeFromDistances(const std::array<Eigen::Vector3d, 3>& points,
                         const std::array<double, 3>& below_mm, const Eigen::Vector3d& towards);

}  // namespace macle
