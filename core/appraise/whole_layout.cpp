#include "core/appraise/whole_layout.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/part_progress.h"
#include "core/base/tolerance.h"
#include "core/fit/clearance.h"
#include "core/solid/separation.h"

namespace macle {

using Eigen::Vector3d;

namespace {

// Shares of the whole that are shown as done after each part.
constexpr double kAfterSawing = 0.1;
constexpr double kAfterWeights = 0.15;
constexpr double kAfterRoom = 0.2;

void checkLayout(const DividedStone& divided, const Layout& layout) {
    if (layout.stones.empty() || layout.stones.size() > kMostStones)
        throw Error(ErrorCode::BadUsage,
                    "A layout has between 1 and " + std::to_string(kMostStones) + " stones, not " +
                        std::to_string(layout.stones.size()) + ".",
                    "Add or remove stones.");
    if (divided.saws != layout.saws)
        throw Error(ErrorCode::BadUsage, "The pieces are those of other saws than the layout's.",
                    "Divide the stone by the saws of the layout.");
    const auto pieces = static_cast<int>(divided.pieces.size());
    for (std::size_t i = 0; i < layout.stones.size(); ++i) {
        const int piece = layout.stones[i].piece;
        if (piece >= 0 && piece < pieces) continue;
        throw Error(ErrorCode::BadUsage,
                    stoneName(i) + " is to be cut from piece " + std::to_string(piece + 1) +
                        ", but the saws leave only " + std::to_string(pieces) + ".",
                    "Name one of the pieces, or add the saw that makes it.");
    }
}

class Weighing {
  public:
    Weighing(std::shared_ptr<const DividedStone> divided, const Layout& layout)
        : divided_(*divided), layout_(layout) {
        whole_.name = layout.name;
        whole_.divided = std::move(divided);
    }

    WholeLayout run(Progress* progress) {
        checkLayout(divided_, layout_);
        const Stone& any = *divided_.pieces.front().stone;
        whole_.pieces.resize(divided_.pieces.size());
        for (std::size_t i = 0; i < layout_.stones.size(); ++i) {
            if (progress) progress->throwIfCancelled();
            addStone(i);
        }
        addPairs();
        for (const double kerf_mm3 : divided_.division.kerf_mm3) {
            whole_.kerfs_ct.push_back(caratsOf(any, kerf_mm3));
            whole_.kerf_ct += whole_.kerfs_ct.back();
        }
        addPieces();
        if (progress) progress->advanceTo(1.0);
        return std::move(whole_);
    }

  private:
    void addStone(std::size_t i) {
        const PlannedStone& planned = layout_.stones[i];
        const auto p = static_cast<std::size_t>(planned.piece);
        WholeStone one;
        one.piece = planned.piece;
        one.cut = planned.cut;
        one.stone = divided_.pieces[p].stone;
        one.cutter = divided_.pieces[p].cutter;
        designs_.push_back(designOf(planned));
        corners_.emplace_back();
        for (const auto& part : placedCorners(designs_.back(), planned.placement))
            corners_.back().insert(corners_.back().end(), part.begin(), part.end());
        try {
            one.weight = appraise(*one.stone, *one.cutter, designs_.back(), planned.placement);
        } catch (const Error& error) {
            if (error.code() != ErrorCode::NoSolution) throw;
            throw Error(ErrorCode::BadUsage,
                        stoneName(i) + " lies wholly outside its piece " +
                            std::to_string(planned.piece + 1) + ".",
                        "Move it into the piece, or name the piece it lies in.");
        }
        one.inside = one.weight.inside;
        const std::vector<HalfSpace>& sides = divided_.division.pieces[p].sides;
        for (std::size_t s = 0; s < sides.size(); ++s) {
            const double kept = sides[s].offset_mm - reachOf(corners_.back(), sides[s].normal);
            if (one.saw_mm && kept >= *one.saw_mm) continue;
            one.saw_mm = kept;
            one.saw = divided_.sawOfSide[p][s];
        }
        if (one.saw_mm && *one.saw_mm < -tolerance::kInside_mm)
            whole_.open.push_back(stoneName(i) + " reaches " + formatFixed(-*one.saw_mm, 3) +
                                  " mm into the kerf of saw " + std::to_string(one.saw + 1) +
                                  " or beyond.");
        else if (!one.inside)
            whole_.open.push_back(stoneName(i) + " reaches out of the rough.");
        whole_.pieces[p].stones.push_back(static_cast<int>(i));
        whole_.stones.push_back(std::move(one));
    }

    Separation between(std::size_t a, std::size_t b, double smaller_mm) const {
        Placement other = layout_.stones[b].placement;
        other.size_mm = std::max(0.5 * other.size_mm, other.size_mm - smaller_mm);
        return separationOf(designs_[a], layout_.stones[a].placement, designs_[b], other);
    }

    void addPairs() {
        for (std::size_t a = 0; a < layout_.stones.size(); ++a)
            for (std::size_t b = a + 1; b < layout_.stones.size(); ++b) {
                StonePair pair;
                pair.first = static_cast<int>(a);
                pair.second = static_cast<int>(b);
                pair.distance_mm = between(a, b, 0.0).distance_mm;
                pair.saw =
                    partingSaw(divided_.saws, layout_.stones[a].piece, layout_.stones[b].piece);
                if (pair.saw < 0)
                    unparted(a, b, pair);
                else
                    parted(pair);
                whole_.pairs.push_back(pair);
            }
    }

    void unparted(std::size_t a, std::size_t b, const StonePair& pair) {
        const std::string both = stoneName(a) + " and " + stoneName(b) + " are both in piece " +
                                 std::to_string(layout_.stones[a].piece + 1);
        // Stones that only touch have room again when one is made smaller by what does not count.
        if (pair.distance_mm == 0.0 &&
            between(a, b, 2.0 * tolerance::kInside_mm).distance_mm == 0.0)
            throw Error(ErrorCode::BadUsage, both + " and overlap: the division is unfinished.",
                        "Move or shrink one of them, or saw between them.");
        whole_.open.push_back(both + ": no saw parts them yet.");
    }

    void parted(StonePair& pair) const {
        const Saw& saw = divided_.saws[static_cast<std::size_t>(pair.saw)];
        pair.kerf_mm = saw.v ? saw.v->exit_mm : saw.kerf_mm;
        for (const int stone : {pair.first, pair.second}) {
            const WholeStone& one = whole_.stones[static_cast<std::size_t>(stone)];
            pair.apart &= !one.saw_mm || *one.saw_mm >= -tolerance::kInside_mm;
        }
        pair.apart &= pair.distance_mm >= pair.kerf_mm - tolerance::kInside_mm;
    }

    void addPieces() {
        for (std::size_t p = 0; p < divided_.pieces.size(); ++p) {
            const Stone& stone = *divided_.pieces[p].stone;
            WholePiece& piece = whole_.pieces[p];
            piece.piece_ct = caratsOf(stone, stone.rough.volume_mm3);
            for (const int i : piece.stones)
                piece.finished_ct += whole_.stones[static_cast<std::size_t>(i)].weight.finished_ct;
            piece.loss_ct = piece.piece_ct - piece.finished_ct;
            whole_.finished_ct += piece.finished_ct;
            (piece.stones.empty() ? whole_.leftOver_ct : whole_.outside_ct) += piece.loss_ct;
        }
    }

    const DividedStone& divided_;
    const Layout& layout_;
    std::vector<Design> designs_;
    std::vector<std::vector<Vector3d>> corners_;  // of all parts
    WholeLayout whole_;
};

// What the rough weighs is not taken from its pieces, so that this can fail.
void addUp(WholeLayout& whole, double rough_ct) {
    whole.rough_ct = rough_ct;
    whole.recovery_percent = 100.0 * whole.finished_ct / rough_ct;
    const double miss_ct =
        whole.finished_ct + whole.kerf_ct + whole.outside_ct + whole.leftOver_ct - rough_ct;
    if (!(std::abs(miss_ct) <= tolerance::kWholeSum * rough_ct))
        throw Error(ErrorCode::Internal,
                    "Stones, kerfs and losses miss the weight of the rough by " +
                        formatFixed(miss_ct, 9) + " ct, so no weights are given.",
                    "Move a saw by a little and report this.");
}

std::string shown(std::size_t i, const WholeStone& stone) {
    return stoneName(i) + ", " + stone.cut;
}

void addValue(WholeLayout& whole) {
    WholeValue sum;
    whole.value.missing.clear();
    for (std::size_t i = 0; i < whole.stones.size(); ++i) {
        const Known<ValueFigure>& one = whole.stones[i].figures->value;
        if (!one.figure) {
            whole.value.missing = whole.stones.size() == 1
                                      ? one.missing
                                      : stoneName(i) + " has no value: " + one.missing;
            return;
        }
        sum.value += *one.figure->value;
        sum.currency = one.figure->currency;
        sum.reasons.push_back(
            {shown(i, whole.stones[i]) + ", " + formatFixed(one.figure->priced_ct, 2) + " ct",
             *one.figure->value, one.figure->currency, 0});
    }
    sum.reasons.push_back({kPlanningEstimate, std::nullopt, "", 0});
    whole.value.figure = std::move(sum);
}

void addWork(WholeLayout& whole, const ShopRates* rates) {
    if (!rates) {
        whole.work.missing = "No shop rates are given.";
        return;
    }
    whole.work.missing.clear();
    WholeWork sum;
    sum.currency = rates->currency;
    const DividedStone& divided = *whole.divided;
    const std::vector<double> entering = enteringSaws_mm3(divided.saws, divided.division);
    for (std::size_t s = 0; s < divided.saws.size(); ++s) {
        auto step = sawingStep(*rates, caratsOf(*divided.pieces.front().stone, entering[s]),
                               whole.kerfs_ct[s]);
        if (!step) {
            whole.work.missing = "The shop rates say nothing of sawing.";
            return;
        }
        sum.minutes += step->minutes;
        sum.cost += step->cost;
        sum.reasons.push_back({"Saw " + std::to_string(s + 1) + ", " + step->label + ", costs " +
                                   formatFixed(step->cost, 0) + " " + sum.currency,
                               step->minutes, "min", 0});
        sum.sawing.push_back(std::move(*step));
    }
    for (std::size_t i = 0; i < whole.stones.size(); ++i) {
        const WorkEstimate& one = *whole.stones[i].figures->work.figure;
        sum.minutes += one.minutes;
        sum.cost += one.cost;
        sum.reasons.push_back(
            {shown(i, whole.stones[i]) + ", costs " + formatFixed(one.cost, 0) + " " + sum.currency,
             one.minutes, "min", 0});
    }
    sum.days = workingDays(sum.minutes, *rates);
    sum.reasons.push_back({"Working days, one piece of work after another", sum.days, "d", 1});
    const Reasons about = rateReasons(*rates);
    sum.reasons.insert(sum.reasons.end(), about.begin(), about.end());
    whole.work.figure = std::move(sum);
}

}  // namespace

std::string stoneName(std::size_t index) {
    return "Stone " + std::to_string(index + 1);
}

WholeLayout weighWhole(std::shared_ptr<const DividedStone> divided, const Layout& layout,
                       Progress* progress) {
    const double rough_mm3 = divided->rough_mm3;
    const std::shared_ptr<const DividedStone> kept = divided;
    WholeLayout whole = Weighing(std::move(divided), layout).run(progress);
    addUp(whole, caratsOf(*kept->pieces.front().stone, rough_mm3));
    whole.value.missing = whole.work.missing = whole.margin.missing = "It was not asked for.";
    return whole;
}

WholeLayout weighWhole(const Stone& stone, const RoughCutter& cutter, const Layout& layout,
                       Progress* progress) {
    PartProgress sawing(progress, 0.0, 0.5), weighing(progress, 0.5, 1.0);
    return weighWhole(
        std::make_shared<const DividedStone>(divideStone(stone, cutter, layout.saws, &sawing)),
        layout, &weighing);
}

WholeLayout appraiseWhole(const Stone& stone, const RoughCutter& cutter, const Layout& layout,
                          const AppraisalInputs& inputs, Progress* progress) {
    PartProgress sawing(progress, 0.0, kAfterSawing);
    const auto divided =
        std::make_shared<const DividedStone>(divideStone(stone, cutter, layout.saws, &sawing));
    PartProgress weighing(progress, kAfterSawing, kAfterWeights);
    WholeLayout whole = weighWhole(divided, layout, &weighing);
    PartProgress preparing(progress, kAfterWeights, kAfterRoom);
    const Obstacles skin = skinAlone(stone.rough, &preparing);
    const double each = (1.0 - kAfterRoom) / static_cast<double>(whole.stones.size());
    for (std::size_t i = 0; i < whole.stones.size(); ++i) {
        if (progress) progress->throwIfCancelled();
        const PlannedStone& planned = layout.stones[i];
        WholeStone& one = whole.stones[i];
        one.skin_mm = clearanceOf(skin, designOf(planned), planned.placement).clear_mm;
        const double from = kAfterRoom + each * static_cast<double>(i);
        PartProgress part(progress, from, from + each);
        one.figures = appraiseLayout({*one.stone, *one.cutter, planned.cut, planned.proportions,
                                      planned.placement, planned.rules, planned.edits},
                                     inputs, &part);
    }
    addValue(whole);
    addWork(whole, inputs.rates);
    std::optional<Amount> value, cost;
    if (whole.value.figure) value = Amount{whole.value.figure->value, whole.value.figure->currency};
    if (whole.work.figure) cost = Amount{whole.work.figure->cost, whole.work.figure->currency};
    whole.margin = marginOf(value, cost);
    if (progress) progress->advanceTo(1.0);
    return whole;
}

}  // namespace macle
