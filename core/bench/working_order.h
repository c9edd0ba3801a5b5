// Working order: the steps of the work on a whole layout: the reference face, the saws in their
// order, then stone by stone the table, the girdle, the mains and the small facets (the order is
// common practice, no source). Each step tells what the piece is after it, what comes off, how
// long it takes, and how deep each facet goes. Stone frame, mm, degrees, ct, minutes. Planning
// estimates. Pure; any thread.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "core/appraise/grain.h"
#include "core/appraise/shop_rates.h"
#include "core/appraise/whole_layout.h"
#include "core/base/progress.h"

namespace macle {

namespace tolerance {
// Of the rough's weight: what the steps' losses may miss rough less finished by.
inline constexpr double kStepSum = 1e-9;
}  // namespace tolerance

// One facet, or the whole girdle when all its flats lie equally far from the axis.
struct FacetWork {
    std::string facet;  // "pavilion main 3", "girdle 1-64"
    int count = 1;      // facets in this row; above 1 they stand all round
    double angle_deg = 0.0;
    double azimuth_deg = 0.0;
    double centre_mm = 0.0;  // of the plane from the axis at mid-girdle
    // To take off along the facet's normal, from the surface as it is when the step begins: the
    // farthest the body then reaches that way, less the plane's place. Of several flats the most.
    double depth_mm = 0.0;
    std::optional<FacetGrain> grain;  // none without the crystal's axes, or for a row of flats
    // Of the easiest direction, in the facet: counter-clockwise seen from outside, from the level
    // line that runs counter-clockwise about the stone as seen from the table (on a level facet:
    // from index 0). 0..360; none without grain, or where no direction is easy.
    std::optional<double> easy_deg;
};

enum class BenchStepKind {
    ReferenceFace,
    Saw,
    LeftOver,  // pieces that no stone is cut from are laid aside
    Table,
    Girdle,
    FirstMains,
    FurtherMains,
    Culet,
    SmallFacets,
    GirdlePolish,
    Check
};

struct BenchStep {
    int number = 0;  // from 1
    BenchStepKind kind = BenchStepKind::Check;
    int stone = -1;     // of the layout; -1: the rough as a whole
    int piece = -1;     // that is worked; -1: the rough, or several
    int saw = -1;       // of the layout
    std::string title;  // "Further crown mains"
    std::string what;   // what to do, a sentence
    std::vector<FacetWork> facets;
    std::vector<std::string> works;  // every facet of the cut worked in it, by name
    double entering_ct = 0.0;        // of what is worked
    double removed_ct = 0.0;         // a saw: its kerf
    double left_ct = 0.0;            // a saw: both pieces
    // None without shop rates, or when they have no rate for it.
    std::optional<double> minutes;
    std::vector<std::string> operations;  // of the shop rates, whose minutes these are
    std::vector<std::string> defectsOff;  // defects that are gone after it
    std::vector<std::string> cautions;
    std::vector<TriangleMesh> shapes;  // after it, closed; a saw: both pieces; see OrderRequest
};

struct WorkingOrder {
    std::vector<BenchStep> steps;
    double rough_ct = 0.0;
    double kerf_ct = 0.0;
    double leftOver_ct = 0.0;
    double offPieces_ct = 0.0;  // ground, bruted and sawn off the pieces that become stones
    double finished_ct = 0.0;   // all stones
    std::optional<double> minutes;
    std::string minutesMissing;  // why there are none
    std::string grainMissing;
};

struct OrderRequest {
    const ShopRates* rates = nullptr;  // must outlive the call
    GrainRules grain;
    bool keepShapes = false;
    // Called with each step that takes something off, in order: what was worked on, before and
    // after. The step's number and facets are set by then, its minutes not.
    std::function<void(const BenchStep&, const std::vector<const TriangleMesh*>& before,
                       const std::vector<const TriangleMesh*>& after)>
        onStep;
};

// Minutes: those of estimateWork for each stone in its piece, each operation's shared among its
// steps by what its rates count (weight removed, facets; else evenly), so that a stone's steps add
// up to its estimate; a saw of the layout takes what the rate of sawing gives for the piece that
// enters it. `whole` must be weighed from this stone, cutter and layout. Throws Error{BadUsage}
// when two stones are cut from one piece, for there is no order to work them in; Error{Internal}
// when the losses of the steps do not add up to rough less finished, or minutes not to the
// estimates; what StageBodies, divide and readGrain throw; Error{Cancelled}.
WorkingOrder orderWork(const Stone& stone, const RoughCutter& cutter, const Layout& layout,
                       const WholeLayout& whole, const OrderRequest& request = {},
                       Progress* progress = nullptr);

const char* stepKindName(BenchStepKind kind);  // "reference face", "saw", ...

}  // namespace macle
