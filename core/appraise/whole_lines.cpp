// The figures of a whole layout as words.
#include <algorithm>

#include "core/appraise/whole_layout.h"
#include "core/base/numbers.h"

namespace macle {

namespace {

std::string number(int index) {
    return std::to_string(index + 1);
}

FigureLine missing(const std::string& title, const std::string& why) {
    return {title, why, false, {}};
}

std::string stonesText(std::size_t count) {
    return count == 1 ? "1 stone" : std::to_string(count) + " stones";
}

FigureLine weightLine(const WholeLayout& w) {
    FigureLine line{"Weight",
                    formatFixed(w.finished_ct, 3) + " ct in " + stonesText(w.stones.size()) + ", " +
                        formatFixed(w.recovery_percent, 1) + " % of the rough",
                    true,
                    {{"Rough", w.rough_ct, "ct", 3}}};
    for (std::size_t i = 0; i < w.stones.size(); ++i) {
        const WholeStone& one = w.stones[i];
        line.reasons.push_back(
            {stoneName(i) + ", " + one.cut + ", from piece " + number(one.piece) + " of " +
                 formatFixed(w.pieces[static_cast<std::size_t>(one.piece)].piece_ct, 3) + " ct",
             one.weight.finished_ct, "ct", 3});
    }
    return line;
}

FigureLine lossLine(const WholeLayout& w) {
    FigureLine line{"Loss",
                    formatFixed(w.rough_ct - w.finished_ct, 3) + " ct",
                    true,
                    {{"Outside the cuts", w.outside_ct, "ct", 3},
                     {"Kerfs", w.kerf_ct, "ct", 3},
                     {"Pieces without a stone", w.leftOver_ct, "ct", 3}}};
    for (std::size_t s = 0; s < w.kerfs_ct.size(); ++s)
        line.reasons.push_back(
            {"Kerf of saw " + number(static_cast<int>(s)), w.kerfs_ct[s], "ct", 3});
    for (std::size_t p = 0; p < w.pieces.size(); ++p)
        line.reasons.push_back({"Lost of piece " + number(static_cast<int>(p)) +
                                    (w.pieces[p].stones.empty() ? ", which gives no stone" : ""),
                                w.pieces[p].loss_ct, "ct", 3});
    return line;
}

FigureLine roomLine(const WholeLayout& w) {
    FigureLine line{"Room", "", true, {}};
    const auto inside = std::count_if(w.stones.begin(), w.stones.end(),
                                      [](const WholeStone& one) { return one.inside; });
    line.text = inside == static_cast<std::ptrdiff_t>(w.stones.size())
                    ? "every stone lies inside its piece"
                    : std::to_string(inside) + " of " + stonesText(w.stones.size()) +
                          " inside their pieces";
    for (std::size_t i = 0; i < w.stones.size(); ++i) {
        const WholeStone& one = w.stones[i];
        if (one.skin_mm)
            line.reasons.push_back({stoneName(i) + " keeps from the skin", *one.skin_mm, "mm", 3});
        if (one.saw_mm)
            line.reasons.push_back({stoneName(i) + " keeps from the kerf of saw " + number(one.saw),
                                    *one.saw_mm, "mm", 3});
    }
    for (const std::string& open : w.open)
        line.reasons.push_back({open, std::nullopt, "", 0});
    return line;
}

FigureLine apartLine(const WholeLayout& w) {
    if (w.pairs.empty()) return missing("Stones apart", "There is only one stone.");
    const auto least = std::min_element(
        w.pairs.begin(), w.pairs.end(),
        [](const StonePair& a, const StonePair& b) { return a.distance_mm < b.distance_mm; });
    FigureLine line{"Stones apart",
                    formatFixed(least->distance_mm, 3) + " mm at least, between stones " +
                        number(least->first) + " and " + number(least->second),
                    true,
                    {}};
    for (const StonePair& pair : w.pairs) {
        std::string what = "Stones " + number(pair.first) + " and " + number(pair.second);
        what += pair.saw < 0 ? ", parted by no saw"
                             : ", kerf of saw " + number(pair.saw) + " " +
                                   formatFixed(pair.kerf_mm, 3) + " mm";
        if (pair.saw >= 0 && !pair.apart) what += ", which one of them reaches into";
        line.reasons.push_back({what, pair.distance_mm, "mm", 3});
    }
    return line;
}

// Of the first stone's grade and so on: "VS1, SI2".
FigureLine clarityLine(const WholeLayout& w) {
    FigureLine line{"Clarity", "", true, {}};
    for (std::size_t i = 0; i < w.stones.size(); ++i) {
        if (!w.stones[i].figures) return missing("Clarity", "It was not asked for.");
        const Known<ClarityFigure>& one = w.stones[i].figures->clarity;
        if (!one.figure) return missing("Clarity", one.missing);
        line.text += (i == 0 ? "" : ", ") + one.figure->name;
        line.reasons.push_back({stoneName(i) + ": " + one.figure->text, std::nullopt, "", 0});
    }
    return line;
}

FigureLine valueLine(const WholeLayout& w) {
    if (!w.value.figure) return missing("Value", w.value.missing);
    return {"Value", formatFixed(w.value.figure->value, 0) + " " + w.value.figure->currency, true,
            w.value.figure->reasons};
}

FigureLine workLine(const WholeLayout& w) {
    if (!w.work.figure) return missing("Work", w.work.missing);
    return {"Work",
            formatFixed(w.work.figure->days, 1) + " working days, " +
                formatFixed(w.work.figure->cost, 0) + " " + w.work.figure->currency,
            true, w.work.figure->reasons};
}

FigureLine marginLine(const WholeLayout& w) {
    if (!w.margin.figure) return missing("Value less work", w.margin.missing);
    return {"Value less work",
            formatFixed(w.margin.figure->margin, 0) + " " + w.margin.figure->currency, true,
            w.margin.figure->reasons};
}

}  // namespace

std::vector<FigureLine> figureLines(const WholeLayout& w) {
    return {weightLine(w),  lossLine(w),  roomLine(w), apartLine(w),
            clarityLine(w), valueLine(w), workLine(w), marginLine(w)};
}

}  // namespace macle
