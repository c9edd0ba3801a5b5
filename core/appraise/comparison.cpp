#include "core/appraise/comparison.h"

#include <algorithm>
#include <cmath>
#include <functional>

#include "core/appraise/clarity_grades.h"
#include "core/base/error.h"
#include "core/base/numbers.h"

namespace macle {

namespace {

// One layout's figure: a value, or why there is none.
struct Read {
    std::optional<double> value;
    std::string text;  // instead of the number, or why it is missing
};

const WholeStone& heaviest(const WholeLayout& layout) {
    return *std::max_element(layout.stones.begin(), layout.stones.end(),
                             [](const WholeStone& a, const WholeStone& b) {
                                 return a.weight.finished_ct < b.weight.finished_ct;
                             });
}

// A figure of every stone, in one number; missing where it is missing for one of them.
template <class Figure>
Read overStones(const WholeLayout& layout, const Known<Figure> LayoutAppraisal::*which,
                const std::function<double(const std::vector<const Figure*>&)>& together) {
    std::vector<const Figure*> figures;
    for (const WholeStone& stone : layout.stones) {
        if (!stone.figures) return {{}, "It was not asked for."};
        const Known<Figure>& known = (*stone.figures).*which;
        if (!known.figure) return {{}, known.missing};
        figures.push_back(&*known.figure);
    }
    return {together(figures), ""};
}

template <class Figure>
Read weightedMean(const WholeLayout& layout, const Known<Figure> LayoutAppraisal::*which,
                  const std::function<double(const Figure&)>& part) {
    return overStones<Figure>(layout, which, [&](const std::vector<const Figure*>& figures) {
        double sum = 0.0;
        for (std::size_t i = 0; i < figures.size(); ++i)
            sum += layout.stones[i].weight.finished_ct * part(*figures[i]);
        return sum / layout.finished_ct;
    });
}

Read clarityOf(const WholeLayout& layout) {
    std::string names;
    Read lowest = overStones<ClarityFigure>(
        layout, &LayoutAppraisal::clarity, [&](const std::vector<const ClarityFigure*>& figures) {
            int grade = 0;
            for (const ClarityFigure* one : figures) {
                grade = std::max(grade, one->grade);
                names += (names.empty() ? "" : ", ") + one->name;
            }
            return static_cast<double>(grade);
        });
    if (lowest.value) lowest.text = names;
    return lowest;
}

class Comparing {
  public:
    Comparing(const std::vector<WholeLayout>& layouts, std::size_t base)
        : layouts_(layouts), base_(base) {}

    Comparison run() {
        comparison_.base = base_;
        for (const WholeLayout& layout : layouts_) {
            comparison_.names.push_back(layout.name);
            comparison_.points.push_back(candidatePoint(layout));
        }
        weights();
        money();
        looks();
        work();
        return std::move(comparison_);
    }

  private:
    void row(const std::string& title, const std::string& unit, int decimals, Better better,
             const std::function<Read(const WholeLayout&)>& read, const std::string& note = "") {
        ComparedRow made{title, unit, decimals, better, note, {}};
        const double scale = std::pow(10.0, decimals);
        std::vector<std::optional<double>> shown;
        for (const WholeLayout& layout : layouts_) {
            const Read one = read(layout);
            ComparedCell cell;
            cell.value = one.value;
            cell.text = one.text;
            if (one.value && one.text.empty())
                cell.text = formatFixed(*one.value, decimals) + (unit.empty() ? "" : " " + unit);
            shown.push_back(one.value ? std::optional(std::round(*one.value * scale))
                                      : std::nullopt);
            made.cells.push_back(std::move(cell));
        }
        markBest(made, shown);
        const auto& from = made.cells[base_].value;
        for (std::size_t i = 0; i < made.cells.size(); ++i) {
            ComparedCell& cell = made.cells[i];
            if (i == base_ || !from || !cell.value) continue;
            cell.difference = *cell.value - *from;
            const std::string text = formatFixed(*cell.difference, decimals);
            const bool none = text.find_first_not_of("0.") == std::string::npos;
            cell.differenceText = (none || *cell.difference < 0.0 ? "" : "+") + text;
        }
        comparison_.rows.push_back(std::move(made));
    }

    static void markBest(ComparedRow& made, const std::vector<std::optional<double>>& shown) {
        if (made.better == Better::Neither) return;
        std::optional<double> low, high;
        for (const auto& one : shown) {
            if (!one) continue;
            low = low ? std::min(*low, *one) : *one;
            high = high ? std::max(*high, *one) : *one;
        }
        if (!low || *low == *high) return;
        const double best = made.better == Better::Higher ? *high : *low;
        for (std::size_t i = 0; i < shown.size(); ++i)
            made.cells[i].best = shown[i] == best;
    }

    void weights() {
        row("Weight", "ct", 3, Better::Higher, [](const WholeLayout& w) -> Read {
            return {w.finished_ct, ""};
        });
        row("Recovery", "%", 2, Better::Higher, [](const WholeLayout& w) -> Read {
            return {w.recovery_percent, ""};
        });
        row("Stones", "", 0, Better::Neither, [](const WholeLayout& w) -> Read {
            return {static_cast<double>(w.stones.size()), ""};
        });
        row("Heaviest stone", "ct", 3, Better::Higher, [](const WholeLayout& w) -> Read {
            return {heaviest(w).weight.finished_ct, ""};
        });
        row("Lost outside the cuts", "ct", 3, Better::Lower, [](const WholeLayout& w) -> Read {
            return {w.outside_ct, ""};
        });
        row("Lost to kerfs", "ct", 3, Better::Lower, [](const WholeLayout& w) -> Read {
            return {w.kerf_ct, ""};
        });
        row("Pieces without a stone", "ct", 3, Better::Lower, [](const WholeLayout& w) -> Read {
            return {w.leftOver_ct, ""};
        });
    }

    void money() {
        const auto currency = [this](const auto& known) -> std::string {
            for (const WholeLayout& layout : layouts_)
                if ((layout.*known).figure) return (layout.*known).figure->currency;
            return "";
        };
        row("Value", currency(&WholeLayout::value), 0, Better::Higher,
            [](const WholeLayout& w) -> Read {
                return w.value.figure ? Read{w.value.figure->value, ""} : Read{{}, w.value.missing};
            });
        row("Cost of the work", currency(&WholeLayout::work), 0, Better::Lower,
            [](const WholeLayout& w) -> Read {
                return w.work.figure ? Read{w.work.figure->cost, ""} : Read{{}, w.work.missing};
            });
        row("Value less work", currency(&WholeLayout::margin), 0, Better::Higher,
            [](const WholeLayout& w) -> Read {
                return w.margin.figure ? Read{w.margin.figure->margin, ""}
                                       : Read{{}, w.margin.missing};
            });
    }

    void looks() {
        row("Clarity", "", 0, Better::Lower, clarityOf,
            "of every stone; the lowest counts, in steps of the scale");
        const std::string mean = "mean over the stones by weight";
        row(
            "Light return, weighted", "%", 1, Better::Higher,
            [](const WholeLayout& w) {
                return weightedMean<LightFigure>(
                    w, &LayoutAppraisal::light,
                    [](const LightFigure& l) { return 100.0 * l.weightedReturn; });
            },
            mean);
        row(
            "Light that leaks", "%", 1, Better::Lower,
            [](const WholeLayout& w) {
                return weightedMean<LightFigure>(
                    w, &LayoutAppraisal::light,
                    [](const LightFigure& l) { return 100.0 * l.leaked; });
            },
            mean);
        row(
            "Contrast", "", 2, Better::Neither,
            [](const WholeLayout& w) {
                return weightedMean<LightFigure>(w, &LayoutAppraisal::light,
                                                 [](const LightFigure& l) { return l.contrast; });
            },
            mean);
        row(
            "Chroma face-up", "", 1, Better::Neither,
            [](const WholeLayout& w) {
                return weightedMean<FaceColourFigure>(
                    w, &LayoutAppraisal::faceColour,
                    [](const FaceColourFigure& c) { return c.lab.chroma(); });
            },
            mean);
    }

    void work() {
        row("Working time", "min", 0, Better::Lower, [](const WholeLayout& w) -> Read {
            return w.work.figure ? Read{w.work.figure->minutes, ""} : Read{{}, w.work.missing};
        });
        row("Working days", "d", 1, Better::Lower, [](const WholeLayout& w) -> Read {
            return w.work.figure ? Read{w.work.figure->days, ""} : Read{{}, w.work.missing};
        });
        row(
            "Least angle to an octahedral plane", "deg", 1, Better::Higher,
            [](const WholeLayout& w) {
                return overStones<GrainReading>(w, &LayoutAppraisal::grain,
                                                [](const std::vector<const GrainReading*>& all) {
                                                    double worst = all.front()->worst_deg;
                                                    for (const GrainReading* one : all)
                                                        worst = std::min(worst, one->worst_deg);
                                                    return worst;
                                                });
            },
            "over the polished facets of all stones");
        row("Facets hardly polishable", "", 0, Better::Lower, [](const WholeLayout& w) {
            return overStones<GrainReading>(w, &LayoutAppraisal::grain,
                                            [](const std::vector<const GrainReading*>& all) {
                                                int warned = 0;
                                                for (const GrainReading* one : all)
                                                    warned += one->warned;
                                                return static_cast<double>(warned);
                                            });
        });
        row(
            "Doubt of the weight", "ct", 3, Better::Lower,
            [](const WholeLayout& w) {
                return overStones<DoubtFigure>(
                    w, &LayoutAppraisal::doubt, [](const std::vector<const DoubtFigure*>& all) {
                        double width = 0.0;
                        for (const DoubtFigure* one : all)
                            width += one->weight_ct.p95 - one->weight_ct.p5;
                        return width;
                    });
            },
            "5th to 95th percentile, as if all stones erred together");
    }

    const std::vector<WholeLayout>& layouts_;
    std::size_t base_;
    Comparison comparison_;
};

}  // namespace

const char* betterName(Better better) {
    switch (better) {
        case Better::Higher:
            return "higher";
        case Better::Lower:
            return "lower";
        case Better::Neither:
            return "neither";
    }
    return "neither";
}

Comparison compareLayouts(const std::vector<WholeLayout>& layouts, std::size_t base) {
    if (layouts.size() < 2 || layouts.size() > kMostCompared)
        throw Error(ErrorCode::BadUsage,
                    std::to_string(layouts.size()) + " layouts cannot be compared.",
                    "Choose 2 to " + std::to_string(kMostCompared) + ".");
    if (base >= layouts.size())
        throw Error(ErrorCode::BadUsage, "The layout to compare with is none of those compared.",
                    "Choose one of them.");
    for (const WholeLayout& layout : layouts)
        if (!(std::abs(layout.rough_ct - layouts.front().rough_ct) <=
              tolerance::kWholeSum * layouts.front().rough_ct))
            throw Error(ErrorCode::BadUsage,
                        "\"" + layout.name + "\" is not a layout of the same rough.",
                        "Compare layouts of one rough.");
    return Comparing(layouts, base).run();
}

CandidatePoint candidatePoint(const WholeLayout& layout) {
    CandidatePoint point;
    point.name = layout.name;
    point.stones = static_cast<int>(layout.stones.size());
    point.weight_ct = layout.finished_ct;
    point.recovery_percent = layout.recovery_percent;
    if (layout.value.figure) {
        point.value = layout.value.figure->value;
        point.currency = layout.value.figure->currency;
    }
    if (const Read clarity = clarityOf(layout); clarity.value)
        point.clarityRank = static_cast<int>(*clarity.value);
    const WholeStone& first = heaviest(layout);
    if (first.figures && first.figures->faceColour.figure)
        point.chroma = first.figures->faceColour.figure->lab.chroma();
    return point;
}

}  // namespace macle
