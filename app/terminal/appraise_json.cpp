#include "app/terminal/appraise_json.h"

#include "core/appraise/clarity_grades.h"

namespace macle::app {

namespace {

Json reasonsJson(const Reasons& reasons) {
    Json list = Json::array();
    for (const Reason& reason : reasons) {
        Json one = {{"what", reason.what}};
        if (reason.value) {
            one["value"] = finite(*reason.value);
            one["unit"] = reason.unit;
        }
        list.push_back(std::move(one));
    }
    return list;
}

Json percentilesJson(const Percentiles& p) {
    return {{"p5", finite(p.p5)},
            {"p50", finite(p.p50)},
            {"p95", finite(p.p95)},
            {"mean", finite(p.mean)},
            {"deviation", finite(p.deviation)}};
}

Json jsonOf(const ClarityFigure& c) {
    Json defects = Json::array();
    for (const SeenDefect& d : c.defects) {
        Json one = {{"name", d.name},
                    {"kind", d.kind},
                    {"zone", d.zone},
                    {"depth_mm", finite(d.depth_mm)},
                    {"seen_um", finite(d.seen_um)},
                    {"reflections", nullptr},
                    {"counts_um", finite(d.counts_um)},
                    {"reasons", reasonsJson(d.reasons)}};
        if (d.reflections) one["reflections"] = *d.reflections;
        defects.push_back(std::move(one));
    }
    return {{"grade", c.name},
            {"counts_um", finite(c.counts_um)},
            {"defects", std::move(defects)},
            {"text", c.text},
            {"reasons", reasonsJson(c.reasons)}};
}

Json jsonOf(const ValueFigure& v) {
    Json object = {{"value", finite(*v.value)},        {"currency", v.currency},
                   {"priced_ct", finite(v.priced_ct)}, {"price_per_ct", finite(*v.price_per_ct)},
                   {"factor", finite(v.factor)},       {"next_step", nullptr},
                   {"reasons", reasonsJson(v.reasons)}};
    if (v.next)
        object["next_step"] = {{"from_ct", finite(v.next->from_ct)},
                               {"short_ct", finite(v.next->short_ct)},
                               {"value", finite(v.next->value)},
                               {"gain", finite(v.next->gain)},
                               {"text", v.next->text}};
    return object;
}

Json jsonOf(const WorkEstimate& w) {
    Json steps = Json::array();
    for (const WorkStep& step : w.steps)
        steps.push_back({{"operation", step.operation},
                         {"label", step.label},
                         {"minutes", finite(step.minutes)},
                         {"cost", finite(step.cost)},
                         {"entering_ct", finite(step.entering_ct)},
                         {"removed_ct", finite(step.removed_ct)},
                         {"reasons", reasonsJson(step.reasons)}});
    return {{"minutes", finite(w.minutes)},
            {"days", finite(w.days)},
            {"cost", finite(w.cost)},
            {"currency", w.currency},
            {"sawn", w.sawn},
            {"steps", std::move(steps)},
            {"note", w.note},
            {"reasons", reasonsJson(w.reasons)}};
}

Json jsonOf(const Margin& m) {
    return {{"margin", finite(m.margin)},
            {"currency", m.currency},
            {"reasons", reasonsJson(m.reasons)}};
}

Json jsonOf(const GrainReading& g) {
    Json facets = Json::array();
    for (const FacetGrain& facet : g.facets) {
        Json easy = Json::array();
        for (const EasyDirection& direction : facet.easy)
            easy.push_back({{"axis", direction.axis},
                            {"direction", array(direction.direction)},
                            {"axis_off_deg", finite(direction.axisOff_deg)},
                            {"both_ways", direction.bothWays}});
        facets.push_back({{"facet", facet.facet},
                          {"to_octahedron_deg", finite(facet.toOctahedron_deg)},
                          {"to_cube_deg", finite(facet.toCube_deg)},
                          {"to_dodecahedron_deg", finite(facet.toDodecahedron_deg)},
                          {"polished", facet.polished},
                          {"warned", facet.warned},
                          {"easy", std::move(easy)},
                          {"text", facet.text}});
    }
    return {{"table", pointName(g.table.nearest)},
            {"table_off_deg", finite(g.table.off_deg)},
            {"worst_deg", finite(g.worst_deg)},
            {"worst_facet", g.worstFacet},
            {"warned", g.warned},
            {"facets", std::move(facets)},
            {"reasons", reasonsJson(g.reasons)}};
}

Json jsonOf(const GrainTurns& t) {
    Json turns = Json::array();
    for (const GrainTurn& turn : t.turns)
        turns.push_back({{"turn_deg", finite(turn.turn_deg)},
                         {"worst_deg", finite(turn.worst_deg)},
                         {"worst_facet", turn.worstFacet},
                         {"warned", turn.warned},
                         {"kept_ct", finite(turn.kept_ct)},
                         {"weight_ct", finite(turn.weight_ct)},
                         {"size_mm", finite(turn.placement.size_mm)},
                         {"placement", placementJson(turn.placement)}});
    return {{"advised", t.advised},
            {"gains_ct", finite(t.gains_ct)},
            {"turns", std::move(turns)},
            {"reasons", reasonsJson(t.reasons)}};
}

Json jsonOf(const DoubtFigure& d) {
    Json grades = Json::object();
    for (std::size_t i = 0; i < d.grades.size(); ++i)
        if (d.grades[i] > 0.0) grades[clarityName(static_cast<int>(i), true)] = finite(d.grades[i]);
    Json defects = Json::array();
    for (const DefectDoubt& defect : d.defects)
        defects.push_back({{"name", defect.name},
                           {"left_inside_as_planned", defect.planned},
                           {"shows", finite(defect.shows)}});
    Json object = {{"samples", d.samples},
                   {"redrawn", d.redrawn},
                   {"weight_ct", percentilesJson(d.weight_ct)},
                   {"value", nullptr},
                   {"unpriced", finite(d.unpriced)},
                   {"clarity", std::move(grades)},
                   {"clarity_p5", clarityName(d.grade.p5, true)},
                   {"clarity_p50", clarityName(d.grade.p50, true)},
                   {"clarity_p95", clarityName(d.grade.p95, true)},
                   {"step_ct", nullptr},
                   {"below_step", finite(d.belowStep)},
                   {"defects", std::move(defects)},
                   {"text", d.text},
                   {"reasons", reasonsJson(d.reasons)}};
    if (d.value) object["value"] = percentilesJson(*d.value);
    if (d.step_ct) object["step_ct"] = finite(*d.step_ct);
    return object;
}

Json jsonOf(const LightFigure& light) {
    return {{"weighted_light_return", finite(light.weightedReturn)},
            {"light_return", finite(light.lightReturn)},
            {"leaked", finite(light.leaked)},
            {"contrast", finite(light.contrast)},
            {"mean_path_mm", finite(light.meanPath_mm)},
            {"bodies_inside", light.bodies},
            {"reasons", reasonsJson(light.reasons)}};
}

Json jsonOf(const FaceColourFigure& colour) {
    return {{"spectrum", colour.spectrum},
            {"lightness", finite(colour.lab.lightness)},
            {"a", finite(colour.lab.a)},
            {"b", finite(colour.lab.b)},
            {"chroma", finite(colour.lab.chroma())},
            {"hue_deg", finite(colour.lab.hue_deg())},
            {"srgb", {colour.srgb[0], colour.srgb[1], colour.srgb[2]}},
            {"reasons", reasonsJson(colour.reasons)}};
}

template <class Figure>
Json known(const Known<Figure>& figure) {
    return figure.figure ? jsonOf(*figure.figure) : Json{{"missing", figure.missing}};
}

}  // namespace

Json appraisalJson(const Subject& subject, const LayoutAppraisal& a) {
    Json object;
    object["cut"] = subject.cut;
    object["size_mm"] = finite(subject.placement.size_mm);
    object["weight_ct"] = finite(a.weight.finished_ct);
    object["rough_ct"] = finite(a.weight.rough_ct);
    object["loss_ct"] = finite(a.weight.loss_ct);
    object["recovery_percent"] = finite(a.weight.recovery_percent);
    object["inside"] = a.weight.inside;
    object["naturals_mm2"] = finite(a.weight.naturals_mm2);
    object["bands"] = Json::array();
    for (const BandReading& r : a.bands)
        object["bands"].push_back({{"what", r.what},
                                   {"value", finite(r.value)},
                                   {"unit", r.unit},
                                   {"band", r.band},
                                   {"bands", r.bands}});
    object["worst_band"] = a.worstBand;
    object["clarity"] = known(a.clarity);
    object["value"] = known(a.value);
    object["work"] = known(a.work);
    object["margin"] = known(a.margin);
    object["light"] = known(a.light);
    object["face_colour"] = known(a.faceColour);
    object["grain"] = known(a.grain);
    object["turns"] = known(a.turns);
    object["doubt"] = known(a.doubt);
    object["note"] = kPlanningEstimate;
    return object;
}

}  // namespace macle::app
