#include "core/bench/sheet_data.h"

#include <cmath>
#include <nlohmann/json.hpp>

#include "core/base/numbers.h"
#include "core/bench/plan_sheet.h"

namespace macle {

namespace {

using Json = nlohmann::ordered_json;

Json vector(const Eigen::Vector3d& v) {
    return Json::array({v.x(), v.y(), v.z()});
}

template <class T>
Json orNull(const std::optional<T>& value) {
    return value ? Json(*value) : Json(nullptr);
}

Json pairs(const SheetFigures& figures) {
    Json list = Json::array();
    for (const auto& [label, value] : figures)
        list.push_back({{"label", label}, {"value", value}});
    return list;
}

Json linesJson(const std::vector<FigureLine>& lines) {
    Json list = Json::array();
    for (const FigureLine& line : lines) {
        Json reasons = Json::array();
        for (const Reason& reason : line.reasons)
            reasons.push_back(reasonText(reason));
        list.push_back({{"title", line.title},
                        {"text", line.text},
                        {"known", line.known},
                        {"reasons", std::move(reasons)}});
    }
    return list;
}

Json sawJson(const SheetSaw& saw) {
    Json item = {{"number", saw.number},           {"piece", saw.saw.piece + 1},
                 {"new_piece", saw.newPiece + 1},  {"normal", vector(saw.saw.normal)},
                 {"offset_mm", saw.saw.offset_mm}, {"kerf_mm", saw.saw.kerf_mm}};
    if (saw.saw.v) {
        item["beam"] = vector(saw.saw.v->beam);
        item["exit_mm"] = saw.saw.v->exit_mm;
    }
    item["entering_ct"] = saw.entering_ct;
    item["kerf_ct"] = saw.kerf_ct;
    return item;
}

Json facetJson(const FacetRow& row) {
    return {{"place", row.step},
            {"facet", row.facet},
            {"count", row.count},
            {"angle_deg", row.angle_deg},
            {"azimuth_deg", row.azimuth_deg},
            {"centre_mm", row.centre_mm},
            {"from_table_mm", row.fromTable_mm}};
}

Json stoneJson(const SheetStone& stone) {
    const Eigen::Quaterniond& q = stone.placement.rotation;
    Json item = {{"name", stone.name},
                 {"piece", stone.piece + 1},
                 {"cut", stone.cut},
                 {"cut_title", stone.cutTitle},
                 {"quaternion_wxyz", Json::array({q.w(), q.x(), q.y(), q.z()})},
                 {"translation_mm", vector(stone.placement.translation_mm)},
                 {"size_mm", stone.placement.size_mm},
                 {"allowance_mm", stone.allowance_mm},
                 {"piece_ct", stone.piece_ct},
                 {"finished_ct", stone.appraisal.finished_ct},
                 {"loss_ct", stone.appraisal.loss_ct},
                 {"recovery_percent", stone.appraisal.recovery_percent},
                 {"inside", stone.appraisal.inside},
                 {"clarity", stone.appraisal.clarity},
                 {"figures", pairs(stone.figures)},
                 {"proportions", pairs(stone.proportions)},
                 {"changes", stone.changes},
                 {"reference_face", stone.referenceFace},
                 {"tolerance_worth", stone.toleranceWorth},
                 {"lines", linesJson(stone.lines)}};
    Json& facets = item["facets"] = Json::array();
    for (const FacetRow& row : stone.facets)
        facets.push_back(facetJson(row));
    Json& limits = item["limits"] = Json::array();
    for (const FitLimit& limit : stone.limits)
        limits.push_back({{"facet", limit.facet},
                          {"source", limit.source},
                          {"point_mm", vector(limit.point_mm)}});
    Json& staying = item["defects_staying"] = Json::array();
    for (const DefectInside& defect : stone.appraisal.defects)
        staying.push_back({{"name", defect.name},
                           {"kind", defect.kind},
                           {"severity", defect.severity},
                           {"zone", defect.zone},
                           {"largest_mm", defect.largest_mm},
                           {"depth_mm", defect.depth_mm},
                           {"forbidden", defect.forbidden}});
    Json& removed = item["defects_removed"] = Json::array();
    for (const DefectRemoved& defect : stone.removed)
        removed.push_back({{"name", defect.name},
                           {"kind", defect.kind},
                           {"severity", defect.severity},
                           {"step", defect.step > 0 ? Json(defect.step) : Json(nullptr)},
                           {"words", defect.words}});
    return item;
}

Json workJson(const FacetWork& work) {
    return {{"facet", work.facet},
            {"count", work.count},
            {"angle_deg", work.angle_deg},
            {"azimuth_deg", work.azimuth_deg},
            {"centre_mm", work.centre_mm},
            {"depth_mm", work.depth_mm},
            {"easy_deg", orNull(work.easy_deg)},
            {"grain", work.grain ? Json(work.grain->text) : Json(nullptr)},
            {"warned", work.grain && work.grain->warned}};
}

Json numberFrom0(int index) {
    return index < 0 ? Json(nullptr) : Json(index + 1);
}

Json stepJson(const BenchStep& step) {
    Json item = {{"number", step.number},
                 {"kind", stepKindName(step.kind)},
                 {"title", step.title},
                 {"what", step.what},
                 {"stone", numberFrom0(step.stone)},
                 {"piece", numberFrom0(step.piece)},
                 {"saw", numberFrom0(step.saw)},
                 {"entering_ct", step.entering_ct},
                 {"removed_ct", step.removed_ct},
                 {"left_ct", step.left_ct},
                 {"minutes", orNull(step.minutes)},
                 {"operations", step.operations},
                 {"defects_off", step.defectsOff},
                 {"cautions", step.cautions}};
    Json& facets = item["facets"] = Json::array();
    for (const FacetWork& work : step.facets)
        facets.push_back(workJson(work));
    return item;
}

// Rows of the CSV form.
class Rows {
  public:
    std::string text = "part,stone,step,name,figure,value,unit\r\n";

    void at(const std::string& part, const std::string& stone, const std::string& step,
            const std::string& name) {
        where_ = cell(part) + "," + cell(stone) + "," + cell(step) + "," + cell(name) + ",";
    }
    void word(const std::string& figure, const std::string& value) { row(figure, value, ""); }
    void number(const std::string& figure, double value, const std::string& unit) {
        row(figure, formatExact(value), unit);
    }

  private:
    void row(const std::string& figure, const std::string& value, const std::string& unit) {
        text += where_ + cell(figure) + "," + cell(value) + "," + cell(unit) + "\r\n";
    }
    static std::string cell(const std::string& words) {
        // '#' at the start of a line would make it a note; blanks at the ends would be lost.
        const bool plain = words.find_first_of(",\"\r\n#") == std::string::npos &&
                           (words.empty() || (words.front() != ' ' && words.back() != ' '));
        if (plain) return words;
        std::string quoted = "\"";
        for (const char c : words)
            quoted += c == '"' ? std::string("\"\"") : std::string(1, c);
        return quoted + "\"";
    }
    std::string where_;
};

void lineRows(Rows& rows, const std::vector<FigureLine>& lines) {
    for (const FigureLine& line : lines)
        rows.word(line.title, (line.known ? "" : "not known: ") + line.text);
}

void sheetRows(Rows& rows, const PlanSheet& sheet) {
    rows.at("sheet", "", "", sheet.stoneName);
    rows.word("layout", sheet.layoutName);
    rows.word("state", sheet.state.state);
    if (!sheet.state.by.empty()) rows.word("approved by", sheet.state.by);
    if (!sheet.state.at_utc.empty()) rows.word("approved at", sheet.state.at_utc);
    rows.word("date", sheet.date);
    rows.word("sha256", sheet.hash);
    rows.number("rough", sheet.rough_ct, "ct");
    rows.number("finished", sheet.finished_ct, "ct");
    rows.number("loss", sheet.loss_ct(), "ct");
    rows.number("off the pieces", sheet.outside_ct, "ct");
    rows.number("kerfs", sheet.kerf_ct, "ct");
    rows.number("laid aside", sheet.leftOver_ct, "ct");
    rows.number("recovery", sheet.recovery_percent, "%");
    if (sheet.minutes)
        rows.number("minutes", *sheet.minutes, "min");
    else
        rows.word("minutes", "not known: " + sheet.minutesMissing);
    rows.number("tolerance of angles", sheet.tolerances.angle_deg, "deg");
    rows.number("tolerance of lengths", sheet.tolerances.length_mm, "mm");
    lineRows(rows, sheet.lines);
}

void sawRows(Rows& rows, const SheetSaw& saw) {
    rows.at("saw", "", "", "saw " + std::to_string(saw.number));
    rows.number("piece", saw.saw.piece + 1, "");
    rows.number("new piece", saw.newPiece + 1, "");
    rows.number("normal x", saw.saw.normal.x(), "");
    rows.number("normal y", saw.saw.normal.y(), "");
    rows.number("normal z", saw.saw.normal.z(), "");
    rows.number("offset", saw.saw.offset_mm, "mm");
    rows.number("kerf width", saw.saw.kerf_mm, "mm");
    if (saw.saw.v) rows.number("kerf width at exit", saw.saw.v->exit_mm, "mm");
    rows.number("entering", saw.entering_ct, "ct");
    rows.number("kerf", saw.kerf_ct, "ct");
}

void stoneRows(Rows& rows, const SheetStone& stone, const std::string& number) {
    rows.at("stone", number, "", stone.name);
    rows.number("piece", stone.piece + 1, "");
    rows.word("cut", stone.cutTitle);
    rows.number("size", stone.placement.size_mm, "mm");
    rows.number("allowance", stone.allowance_mm, "mm");
    rows.number("piece weight", stone.piece_ct, "ct");
    rows.number("finished", stone.appraisal.finished_ct, "ct");
    rows.number("loss", stone.appraisal.loss_ct, "ct");
    rows.number("recovery", stone.appraisal.recovery_percent, "%");
    rows.word("clarity", stone.appraisal.clarity);
    for (const auto& [label, value] : stone.proportions)
        rows.word(label, value);
    for (const std::string& change : stone.changes)
        rows.word("changed by hand", change);
    for (const std::string& line : stone.referenceFace)
        rows.word("reference face", line);
    rows.word("worth of the tolerances", stone.toleranceWorth);
    lineRows(rows, stone.lines);
    for (const FacetRow& row : stone.facets) {
        rows.at("facet", number, "", row.facet);
        rows.number("place", row.step, "");
        rows.number("count", row.count, "");
        rows.number("angle", row.angle_deg, "deg");
        rows.number("azimuth", row.azimuth_deg, "deg");
        rows.number("centre", row.centre_mm, "mm");
        rows.number("from table", row.fromTable_mm, "mm");
    }
    for (const FitLimit& limit : stone.limits) {
        rows.at("limit", number, "", limit.facet);
        rows.word("source", limit.source);
        rows.number("x", limit.point_mm.x(), "mm");
        rows.number("y", limit.point_mm.y(), "mm");
        rows.number("z", limit.point_mm.z(), "mm");
    }
    for (const DefectInside& defect : stone.appraisal.defects) {
        rows.at("defect", number, "", defect.name);
        rows.word("stays", defect.zone);
        rows.number("severity", defect.severity, "");
        rows.number("depth", defect.depth_mm, "mm");
    }
    for (const DefectRemoved& defect : stone.removed) {
        rows.at("defect", number, defect.step > 0 ? std::to_string(defect.step) : "", defect.name);
        rows.word("goes", defect.words);
        rows.number("severity", defect.severity, "");
    }
}

void stepRows(Rows& rows, const BenchStep& step) {
    const std::string stone = step.stone < 0 ? "" : std::to_string(step.stone + 1);
    const std::string number = std::to_string(step.number);
    rows.at("step", stone, number, step.title);
    rows.word("what", step.what);
    rows.number("entering", step.entering_ct, "ct");
    rows.number("removed", step.removed_ct, "ct");
    rows.number("left", step.left_ct, "ct");
    if (step.minutes) rows.number("minutes", *step.minutes, "min");
    for (const std::string& caution : step.cautions)
        rows.word("caution", caution);
    for (const FacetWork& work : step.facets) {
        rows.at("facet", stone, number, work.facet);
        rows.number("angle", work.angle_deg, "deg");
        rows.number("azimuth", work.azimuth_deg, "deg");
        rows.number("depth", work.depth_mm, "mm");
        if (work.easy_deg) rows.number("easy direction", *work.easy_deg, "deg");
        if (work.grain) rows.word("grain", work.grain->text);
    }
}

}  // namespace

std::string planSheetJson(const PlanSheet& sheet) {
    Json object = {
        {"stone", sheet.stoneName},
        {"layout", sheet.layoutName},
        {"state",
         {{"state", sheet.state.state},
          {"by", sheet.state.by},
          {"at_utc", sheet.state.at_utc},
          {"note", sheet.state.note},
          {"record", sheet.state.record}}},
        {"date", sheet.date},
        {"hash", sheet.hash},
        {"rough_ct", sheet.rough_ct},
        {"finished_ct", sheet.finished_ct},
        {"loss_ct", sheet.loss_ct()},
        {"outside_ct", sheet.outside_ct},
        {"kerf_ct", sheet.kerf_ct},
        {"left_over_ct", sheet.leftOver_ct},
        {"recovery_percent", sheet.recovery_percent},
        {"minutes", orNull(sheet.minutes)},
        {"minutes_missing", sheet.minutesMissing},
        {"grain_missing", sheet.grainMissing},
        {"tolerances",
         {{"angle_deg", sheet.tolerances.angle_deg}, {"length_mm", sheet.tolerances.length_mm}}},
        {"figures", pairs(sheet.figures)},
        {"lines", linesJson(sheet.lines)},
        {"open", sheet.open},
        {"cautions", sheet.cautions}};
    Json& saws = object["saws"] = Json::array();
    for (const SheetSaw& saw : sheet.saws)
        saws.push_back(sawJson(saw));
    Json& stones = object["stones"] = Json::array();
    for (const SheetStone& stone : sheet.stones)
        stones.push_back(stoneJson(stone));
    Json& steps = object["steps"] = Json::array();
    for (const SheetStep& step : sheet.steps)
        steps.push_back(stepJson(step.step));
    // Names come from files and may hold anything.
    return object.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

std::string planSheetCsv(const PlanSheet& sheet) {
    Rows rows;
    sheetRows(rows, sheet);
    for (const SheetSaw& saw : sheet.saws)
        sawRows(rows, saw);
    for (std::size_t i = 0; i < sheet.stones.size(); ++i)
        stoneRows(rows, sheet.stones[i], std::to_string(i + 1));
    for (const SheetStep& step : sheet.steps)
        stepRows(rows, step.step);
    for (const std::string& caution : sheet.cautions) {
        rows.at("caution", "", "", "");
        rows.word("caution", caution);
    }
    return rows.text;
}

}  // namespace macle
