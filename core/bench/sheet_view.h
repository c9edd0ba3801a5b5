// Sheet views: the drawings of the plan sheet as lines and loops, before any paper. Lengths mm.
// Pure; any thread.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/bench/hidden_lines.h"
#include "core/bench/outline.h"
#include "core/cut/design.h"
#include "core/cut/placement.h"
#include "core/stone/stone.h"

namespace macle {

struct ViewLabel {
    Eigen::Vector2d at;
    std::string text;
};

// A view along an axis of a cut's frame, mm, origin on that stone's axis at mid-girdle. Table: x to
// the right, y up. Culet: the stone turned over about x. Side: x to the right, z up. End: y to the
// right, z up. Lists that do not apply are empty.
struct SheetView {
    enum class From { Table, Culet, Side, End, Across, Along };
    From from = From::Table;
    std::string title;  // "From the table", "Across the saw"
    std::vector<ViewEdge> visibleEdges;
    std::vector<ViewEdge> hiddenEdges;
    std::vector<ViewEdge> freshEdges;  // of facets worked in the step, visible
    std::vector<OutlineLoop> freshFacets;
    std::vector<OutlineLoop> roughOutline;  // or of the body before the step: what is not in
    std::vector<OutlineLoop> bodyOutline;   // the body after it goes off
    std::vector<OutlineLoop> defectOutlines;
    std::vector<OutlineLoop> saws;  // sections along a saw plane
    std::vector<ViewLabel> labels;
    double width_mm = 0.0;  // of the design, horizontally and vertically; 0: not dimensioned
    double height_mm = 0.0;

    bool fromSide() const { return from == From::Side || from == From::End; }
};

// The dimensioned views of one stone in its piece: three, or four where length and width differ.
// Edges between two girdle flats are left out of the side views, and hidden edges that fall on
// visible ones everywhere.
std::vector<SheetView> stoneViews(const Stone& piece, const Design& design,
                                  const Placement& placement);

struct ViewedStone {
    const Design* design = nullptr;
    Placement placement;
    std::string label;
};
struct ViewedSaw {
    std::vector<Eigen::Vector3d> section;  // corners round its way through the piece
    std::string label;
};
// The whole layout in the rough, from the table and the side of the first stone.
std::vector<SheetView> overviewOf(const Stone& stone, const std::vector<ViewedStone>& stones,
                                  const std::vector<ViewedSaw>& saws);

// Round where a plane goes through a surface: the convex hull of the section. Stone frame.
std::vector<Eigen::Vector3d> sectionHull(const TriangleMesh& surface, const Eigen::Vector3d& normal,
                                         double offset_mm);

// Two views of a step on a stone: from the table or the culet, where its facets are, and from the
// side. `worked` are all facets worked by then, of which `fresh` are new.
std::vector<SheetView> stepViews(const TriangleMesh& before, const TriangleMesh& after,
                                 const Design& design, const Placement& placement,
                                 const std::vector<std::string>& worked,
                                 const std::vector<std::string>& fresh);

// Two views of a saw: along its plane and square to it.
std::vector<SheetView> sawViews(const TriangleMesh& before,
                                const std::vector<const TriangleMesh*>& after,
                                const Eigen::Vector3d& normal, double offset_mm,
                                const std::vector<std::string>& labels);

}  // namespace macle
