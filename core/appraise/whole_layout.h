// Whole layout: every figure of a way of dividing the rough, all stones together: what becomes of
// each carat of it, how far the stones keep from skin, saw and one another, and what they are worth
// and cost. One call for the window, the command line and the sheet. Planning estimates. Stone
// frame; any thread.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "core/appraise/layout_appraisal.h"
#include "core/base/progress.h"
#include "core/divide/divided_stone.h"
#include "core/divide/layout.h"

namespace macle {

namespace tolerance {
// Of the rough's weight: what stones, kerfs and losses may miss it by.
inline constexpr double kWholeSum = 1e-9;
}  // namespace tolerance

// One stone of the layout in its piece.
struct WholeStone {
    int piece = 0;
    std::string cut;
    std::shared_ptr<const Stone> stone;         // its piece as a rough
    std::shared_ptr<const RoughCutter> cutter;  // of that
    Appraisal weight;
    std::optional<LayoutAppraisal> figures;  // nothing in the quick form
    // The cut lies wholly inside its piece.
    bool inside = true;
    std::optional<double> skin_mm;  // kept from the skin (core/fit/clearance.h); not quick
    std::optional<double> saw_mm;   // kept from the nearest side of a saw; below 0: reaches beyond
    int saw = -1;                   // which
};

struct WholePiece {
    double piece_ct = 0.0;
    double finished_ct = 0.0;
    double loss_ct = 0.0;     // piece less finished
    std::vector<int> stones;  // that are cut from it; none: it is left over
};

// Two stones of different pieces, or of one piece that no saw divides yet.
struct StonePair {
    int first = 0, second = 0;
    double distance_mm = 0.0;  // 0 where the planned cuts touch or overlap
    int saw = -1;              // that parts them; -1: none yet
    double kerf_mm = 0.0;      // of that saw; of a V its narrowest width
    bool apart = true;         // both lie on their side of the kerf
};

struct WholeValue {
    double value = 0.0;
    std::string currency;
    Reasons reasons;
};

struct WholeWork {
    std::vector<WorkStep> sawing;  // by the layout's own saws, in their order
    double minutes = 0.0;          // all one after another
    double days = 0.0;
    double cost = 0.0;
    std::string currency;
    Reasons reasons;
};

struct WholeLayout {
    std::string name;
    std::shared_ptr<const DividedStone> divided;
    std::vector<WholeStone> stones;  // in the order of the layout
    std::vector<WholePiece> pieces;  // in the order of the division
    std::vector<StonePair> pairs;
    std::vector<double> kerfs_ct;  // of each saw
    // rough = finished + kerf + outside + leftOver, to tolerance::kWholeSum.
    double rough_ct = 0.0;
    double finished_ct = 0.0;
    double kerf_ct = 0.0;
    double outside_ct = 0.0;   // lost outside the cuts, in pieces that give a stone
    double leftOver_ct = 0.0;  // pieces that give none
    double recovery_percent = 0.0;
    // What is not in order yet, in words: stones that no saw parts, that reach out of their piece
    // or into a kerf. Empty for a division that can be worked.
    std::vector<std::string> open;
    Known<WholeValue> value;
    Known<WholeWork> work;
    Known<Margin> margin;
};

// The quick form, for readouts while a stone is moved: weights, defects, pieces and distances, a
// few milliseconds for each stone. `divided` is that of the layout's saws; stone and cutter as for
// divideStone. Throws Error{BadUsage} for a stone in a piece that is not there, for two stones in
// one piece that overlap, for more than kMostStones or a division by other saws; Error{Internal}
// when the weights do not add up; what appraise throws.
WholeLayout weighWhole(std::shared_ptr<const DividedStone> divided, const Layout& layout,
                       Progress* progress = nullptr);
WholeLayout weighWhole(const Stone& stone, const RoughCutter& cutter, const Layout& layout,
                       Progress* progress = nullptr);

// All figures; seconds for each stone. `stone` and `cutter` must outlive the result where nothing
// is sawn. Throws beside that what appraiseLayout throws.
WholeLayout appraiseWhole(const Stone& stone, const RoughCutter& cutter, const Layout& layout,
                          const AppraisalInputs& inputs, Progress* progress = nullptr);

// Figures of all stones together, ready to show.
std::vector<FigureLine> figureLines(const WholeLayout& whole);

// "Stone 2".
std::string stoneName(std::size_t index);

}  // namespace macle
