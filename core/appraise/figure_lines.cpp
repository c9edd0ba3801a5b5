// The figures of an appraisal as words.
#include <algorithm>

#include "core/appraise/clarity_grades.h"
#include "core/appraise/layout_appraisal.h"
#include "core/base/numbers.h"

namespace macle {

namespace {

FigureLine missing(const std::string& title, const std::string& why) {
    return {title, why, false, {}};
}

FigureLine weightLine(const Appraisal& a) {
    return {"Weight",
            formatFixed(a.finished_ct, 3) + " ct, " + formatFixed(a.recovery_percent, 1) +
                " % of the rough" +
                (a.inside ? "" : "; the cut reaches out of the rough, so naturals are left"),
            true,
            {{"Rough", a.rough_ct, "ct", 3},
             {"Lost outside the cut", a.loss_outside_ct, "ct", 3},
             {"Lacking, for the cut reaches out of the rough", a.loss_missing_ct, "ct", 3},
             {"Naturals left", a.naturals_mm2, "mm2", 2}}};
}

FigureLine bandsLine(const LayoutAppraisal& a) {
    if (a.worstBand == 0)
        return missing("Proportions", "No published bands are known for this cut.");
    const auto worst = std::max_element(
        a.bands.begin(), a.bands.end(),
        [](const BandReading& x, const BandReading& y) { return x.band < y.band; });
    FigureLine line{"Proportions", "", true, {}};
    line.text = a.worstBand > worst->bands
                    ? "outside the published bands: " + worst->what
                    : "within published band " + std::to_string(a.worstBand) + " of " +
                          std::to_string(worst->bands) + " (1 the narrowest)";
    for (const BandReading& r : a.bands)
        line.reasons.push_back(
            {r.what + (r.band > r.bands ? " (outside)" : " (band " + std::to_string(r.band) + ")"),
             r.value, r.unit, 2});
    return line;
}

FigureLine clarityLine(const LayoutAppraisal& a) {
    if (!a.clarity.figure) return missing("Clarity", a.clarity.missing);
    FigureLine line{"Clarity", a.clarity.figure->text, true, a.clarity.figure->reasons};
    for (const DefectInside& defect : a.weight.defects)
        if (defect.forbidden)
            line.reasons.push_back(
                {defect.name + " remains, though by its policy it must not stay there", {}, "", 0});
    return line;
}

FigureLine valueLine(const Known<ValueFigure>& value) {
    if (!value.figure) return missing("Value", value.missing);
    const ValueFigure& v = *value.figure;
    return {"Value",
            formatFixed(*v.value, 0) + " " + v.currency + (v.next ? "; " + v.next->text : ""), true,
            v.reasons};
}

FigureLine workLine(const Known<WorkEstimate>& work) {
    if (!work.figure) return missing("Work", work.missing);
    const WorkEstimate& w = *work.figure;
    FigureLine line{
        "Work",
        formatFixed(w.days, 1) + " working days, " + formatFixed(w.cost, 0) + " " + w.currency,
        true,
        {}};
    for (const WorkStep& step : w.steps)
        line.reasons.push_back({step.label + ", takes off " + formatFixed(step.removed_ct, 3) +
                                    " ct, costs " + formatFixed(step.cost, 0) + " " + w.currency,
                                step.minutes, "min", 0});
    line.reasons.insert(line.reasons.end(), w.reasons.begin(), w.reasons.end());
    return line;
}

FigureLine marginLine(const Known<Margin>& margin) {
    if (!margin.figure) return missing("Value less work", margin.missing);
    return {"Value less work",
            formatFixed(margin.figure->margin, 0) + " " + margin.figure->currency, true,
            margin.figure->reasons};
}

FigureLine lightLine(const Known<LightFigure>& light) {
    if (!light.figure) return missing("Light", light.missing);
    const LightFigure& l = *light.figure;
    return {"Light",
            "weighted return " + formatFixed(100.0 * l.weightedReturn, 1) + " %, leaks " +
                formatFixed(100.0 * l.leaked, 1) + " %, contrast " + formatFixed(l.contrast, 2),
            true, l.reasons};
}

FigureLine faceColourLine(const Known<FaceColourFigure>& colour) {
    if (!colour.figure) return missing("Face-up colour", colour.missing);
    const FaceColourFigure& c = *colour.figure;
    return {"Face-up colour",
            c.spectrum + ": L* " + formatFixed(c.lab.lightness, 1) + ", C* " +
                formatFixed(c.lab.chroma(), 1) + ", hue " + formatFixed(c.lab.hue_deg(), 0) +
                " deg",
            true, c.reasons};
}

FigureLine grainLine(const Known<GrainReading>& grain) {
    if (!grain.figure) return missing("Grain", grain.missing);
    const GrainReading& g = *grain.figure;
    FigureLine line{"Grain", "", true, g.reasons};
    line.text = std::string(pointName(g.table.nearest)) + ", " + formatFixed(g.table.off_deg, 1) +
                " deg off; ";
    line.text += g.warned == 0 ? "no facet warned of, least " + formatFixed(g.worst_deg, 1) +
                                     " deg at " + g.worstFacet
                               : std::to_string(g.warned) + (g.warned == 1 ? " facet" : " facets") +
                                     " hardly polishable, least " + formatFixed(g.worst_deg, 1) +
                                     " deg at " + g.worstFacet;
    for (const FacetGrain& facet : g.facets)
        if (facet.warned) line.reasons.push_back({facet.facet + ": " + facet.text, {}, "", 0});
    return line;
}

FigureLine turnLine(const Known<GrainTurns>& turns) {
    if (!turns.figure) return missing("Turning against the grain", turns.missing);
    const GrainTurns& t = *turns.figure;
    const GrainTurn& now = t.turns.front();
    const GrainTurn& then = t.turns[static_cast<std::size_t>(t.advised)];
    FigureLine line{"Turning against the grain", "", true, t.reasons};
    if (t.advised == 0)
        line.text = "no other turn is better";
    else
        line.text = "by " + formatFixed(then.turn_deg, 1) + " deg: " + std::to_string(then.warned) +
                    " instead of " + std::to_string(now.warned) + " facets warned of, " +
                    (t.gains_ct >= 0.0 ? "+" : "") + formatFixed(t.gains_ct, 3) + " ct";
    return line;
}

FigureLine doubtLine(const Known<DoubtFigure>& doubt) {
    if (!doubt.figure) return missing("Doubt", doubt.missing);
    FigureLine line{"Doubt", doubt.figure->text, true, doubt.figure->reasons};
    for (std::size_t i = 0; i < doubt.figure->grades.size(); ++i)
        if (doubt.figure->grades[i] > 0.0)
            line.reasons.push_back({"Clarity " + clarityName(static_cast<int>(i), true),
                                    100.0 * doubt.figure->grades[i], "%", 1});
    return line;
}

}  // namespace

std::vector<FigureLine> figureLines(const LayoutAppraisal& a) {
    return {weightLine(a.weight), bandsLine(a),
            clarityLine(a),       valueLine(a.value),
            workLine(a.work),     marginLine(a.margin),
            lightLine(a.light),   faceColourLine(a.faceColour),
            grainLine(a.grain),   turnLine(a.turns),
            doubtLine(a.doubt)};
}

}  // namespace macle
