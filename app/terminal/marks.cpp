// macle marks STONE: the reference face and the saws as lines on the skin.
#include "core/bench/marks.h"

#include <numeric>

#include "app/terminal/inputs.h"
#include "app/terminal/output.h"
#include "app/terminal/verbs.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/text_file.h"
#include "core/bench/marks_file.h"
#include "core/divide/saw_file.h"

namespace macle::app {

namespace {

constexpr long long kMostStoneNumber = static_cast<long long>(kMostStones);

const char* kindName(MarkKind kind) {
    switch (kind) {
        case MarkKind::Reference:
            return "reference face";
        case MarkKind::SawMiddle:
            return "saw middle";
        case MarkKind::KerfBelow:
            return "kerf edge below";
        case MarkKind::KerfAbove:
            return "kerf edge above";
        case MarkKind::Girdle:
            return "girdle";
    }
    return "";
}

std::string pointName(std::size_t index) {
    return std::string(1, static_cast<char>('A' + index));
}

Json referenceJson(const ReferenceFace& face) {
    Json object;
    object["stone"] = face.stone + 1;
    object["saw"] = face.saw + 1;
    object["facet"] = face.facet;
    object["normal"] = array(face.plane.normal);
    object["offset_mm"] = finite(face.plane.offset_mm);
    object["index0"] = array(face.index0);
    object["to_table_mm"] = finite(face.toTable_mm);
    object["to_table_deg"] = finite(face.toTable_deg);
    object["to_grind_mm"] = finite(face.toGrind_mm);
    object["meets_skin"] = face.meetsSkin;
    object["points"] = Json::array();
    for (std::size_t p = 0; p < face.points.size(); ++p) {
        const ReferencePoint& point = face.points[p];
        Json faces = Json::array();
        for (const int one : point.point.faces)
            faces.push_back(one + 1);
        object["points"].push_back({{"name", pointName(p)},
                                    {"what", point.point.words()},
                                    {"natural_faces", faces},
                                    {"place_mm", array(point.point.place_mm)},
                                    {"below_mm", finite(point.below_mm)},
                                    {"decides", point.decides}});
    }
    object["angles"] = Json::array();
    for (const ReferenceAngle& angle : face.angles)
        object["angles"].push_back({{"face", angle.face},
                                    {"between_deg", finite(angle.between_deg)},
                                    {"same_side", angle.sameWay},
                                    {"area_mm2", finite(angle.area_mm2)},
                                    {"unevenness_mm", finite(angle.unevenness_mm)}});
    if (face.firmness)
        object["firmness"] = {{"gauge_mm", tolerance::kGauge_mm},
                              {"tilt_deg", finite(face.firmness->tilt_deg)},
                              {"shift_mm", finite(face.firmness->shift_mm)},
                              {"border_mm", finite(face.firmness->edge_mm)}};
    else
        object["firmness"] = nullptr;
    object["remarks"] = face.remarks;
    return object;
}

Json curveJson(const MarkCurve& curve) {
    Json object;
    object["name"] = curve.name;
    object["layer"] = markLayer(curve);
    object["kind"] = kindName(curve.kind);
    object["saw"] = curve.saw + 1;
    object["stone"] = curve.stone + 1;
    object["piece"] = curve.piece + 1;
    object["normal"] = array(curve.plane.normal);
    object["offset_mm"] = finite(curve.plane.offset_mm);
    object["length_mm"] = finite(curve.length_mm);
    object["skin_mm"] = finite(curve.skin_mm);
    object["loops"] = Json::array();
    for (const SectionLoop& loop : curve.loops) {
        Json stretches = Json::array();
        for (const MarkStretch& stretch : stretchesOf(curve, loop))
            stretches.push_back(
                {{"on",
                  stretch.saw < 0 ? "skin" : "face of saw " + std::to_string(stretch.saw + 1)},
                 {"length_mm", finite(stretch.length_mm)}});
        object["loops"].push_back({{"length_mm", finite(loop.length_mm())},
                                   {"skin_mm", finite(loop.skin_mm())},
                                   {"area_mm2", finite(loop.area_mm2(curve.plane.normal))},
                                   {"points", loop.points.size()},
                                   {"stretches", stretches}});
    }
    return object;
}

// FILE.dxf or FILE.svg, or both of them as PREFIX.dxf and PREFIX.svg.
std::vector<std::string> writeMarks(const std::string& out, const Marks& marks, const Stone& stone,
                                    const std::string& layout) {
    const MarksHeading heading{stone.name, layout};
    const std::string ending = std::filesystem::path(out).extension().string();
    std::vector<std::string> files;
    if (ending != ".svg") {
        files.push_back(ending == ".dxf" ? out : out + ".dxf");
        writeTextFile(files.back(), "drawing", marksDxf(marks, heading));
    }
    if (ending != ".dxf") {
        files.push_back(ending == ".svg" ? out : out + ".svg");
        writeTextFile(files.back(), "drawing", marksSvg(marks, stone.rough.mesh, heading));
    }
    return files;
}

std::string words(const Marks& marks, const Stone& stone, const std::string& layout,
                  const std::vector<std::string>& files) {
    std::vector<std::pair<std::string, std::string>> rows = {{"Stone", stone.name},
                                                             {"Layout", layout}};
    for (const std::string& file : files)
        rows.emplace_back("Written", file);
    std::string text = fields(rows);
    for (const ReferenceFace& face : marks.references) {
        text += "\nReference face of stone " + std::to_string(face.stone + 1) + "\n";
        for (const std::string& line : referenceFaceWords(face))
            text += "  " + line + "\n";
    }
    std::vector<std::vector<std::string>> curves;
    for (const MarkCurve& curve : marks.curves)
        curves.push_back({curve.name, std::to_string(curve.piece + 1),
                          std::to_string(curve.loops.size()), formatFixed(curve.length_mm, 3),
                          formatFixed(curve.skin_mm, 3)});
    if (!curves.empty())
        text += "\n" + table({"Mark", "On piece", "Loops", "Length mm", "On skin mm"}, curves);
    for (const std::string& remark : marks.remarks)
        text += remark + "\n";
    text += "\n";
    for (const std::string& caution : marks.cautions)
        text += caution + "\n";
    return text;
}

void marksVerbRun(const Arguments& arguments, Console& console) {
    const std::string& input = arguments.soleInput("a stone");
    const auto sawFile = arguments.text("saws");
    std::optional<std::vector<Saw>> saws;
    if (sawFile) saws = readSaws(*sawFile);
    const StoneFile file = openStoneArgument(arguments, input, console);
    const Stone& stone = file.stone;
    std::optional<Layout> layout = chosenWholeLayout(arguments, file);
    MarkRequest request;
    request.girdles = arguments.has("girdles");
    if (!layout) {
        if (!saws)
            throw Error(ErrorCode::BadUsage, "There is nothing to mark: no layout and no saws.",
                        "Add --placement FILE.json, as written by `macle fit --out`, or "
                        "--saws FILE.");
        layout.emplace();
        layout->name = "saws only";
        request.stones.clear();
    } else if (arguments.has("every")) {
        request.stones.resize(layout->stones.size());
        std::iota(request.stones.begin(), request.stones.end(), 0U);
    } else if (const auto one = arguments.integer("stone", 1, kMostStoneNumber)) {
        request.stones = {static_cast<std::size_t>(*one - 1)};
    }
    if (saws) layout->saws = *saws;
    const RoughCutter cutter(stone.rough);
    const Division division = divide(stone.rough, cutter, layout->saws, &console.phase("Sawing"));
    console.phase("Marking");
    const Marks marks = marksOf(stone.rough.mesh, *layout, division, request);
    std::vector<std::string> files;
    if (const auto out = arguments.text("out"))
        files = writeMarks(*out, marks, stone, layout->name);
    if (!arguments.json()) {
        print(words(marks, stone, layout->name, files));
        return;
    }
    Json object;
    object["layout"] = layout->name;
    object["files"] = files;
    object["references"] = Json::array();
    for (const ReferenceFace& face : marks.references)
        object["references"].push_back(referenceJson(face));
    object["curves"] = Json::array();
    for (const MarkCurve& curve : marks.curves)
        object["curves"].push_back(curveJson(curve));
    object["off_plane_mm"] = finite(marks.offPlane_mm);
    object["off_skin_mm"] = finite(marks.offSkin_mm);
    object["remarks"] = marks.remarks;
    object["cautions"] = marks.cautions;
    printJson(object);
}

}  // namespace

Verb marksVerb() {
    std::vector<OptionSpec> options = {
        {"out", "FILE", "FILE.dxf or FILE.svg; any other name: both, with these endings"},
        {"saws", "FILE", "saw along the planes of this list (JSON) instead of the layout's"},
        {"girdles", "", "the girdle planes too"},
        {"every", "", "reference faces (and girdles) of every stone of the layout"}};
    const auto more = layoutOptions();
    options.insert(options.end(), more.begin(), more.end());
    return {"marks",
            "STONE",
            "Mark the reference face and the saws on the skin, as DXF and SVG.",
            "macle marks stone.macle --out marks --json",
            options,
            marksVerbRun};
}

}  // namespace macle::app
