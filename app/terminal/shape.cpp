// macle shape CUT: a cut's solid by itself.
#include <cmath>
#include <filesystem>
#include <set>

#include "app/terminal/inputs.h"
#include "app/terminal/output.h"
#include "app/terminal/picture_options.h"
#include "app/terminal/shape_measure.h"
#include "app/terminal/verbs.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/text_file.h"
#include "core/base/units.h"
#include "core/cut/library.h"
#include "core/solid/convex_solid.h"
#include "core/solid/outer_surface.h"
#include "core/stone/mesh_file.h"
#include "render/picture.h"
#include "render/scene.h"

namespace macle::app {

namespace {

void list(bool json) {
    Json cuts = Json::array();
    std::string text;
    for (const CutInfo& cut : cutLibrary()) {
        Json proportions = Json::array();
        std::vector<std::vector<std::string>> rows;
        for (const ProportionInfo& p : cut.proportions) {
            proportions.push_back({{"key", p.key},
                                   {"option", p.option},
                                   {"label", p.label},
                                   {"unit", p.unit},
                                   {"standard", finite(p.standard)},
                                   {"low", finite(p.low)},
                                   {"high", finite(p.high)}});
            rows.push_back({"--" + p.option, p.label, formatExact(p.standard), formatExact(p.low),
                            formatExact(p.high), p.unit});
        }
        cuts.push_back({{"cut", cut.name},
                        {"title", cut.title},
                        {"note", cut.note},
                        {"file", cut.file},
                        {"proportions", proportions}});
        text += (text.empty() ? "" : "\n") + cut.name + ": " + cut.title + "\n" +
                (cut.note.empty() ? "" : cut.note + "\n") +
                table({"Option", "Proportion", "Standard", "Least", "Most", "Unit"}, rows);
    }
    if (json)
        printJson({{"cuts", cuts}});
    else
        print(text);
}

Json facetsJson(const ConvexPart& part, double size_mm) {
    Json facets = Json::array();
    for (const Facet& facet : part.facets)
        facets.push_back({{"name", facet.name},
                          {"angle_deg", finite(facetAngle_deg(facet))},
                          {"azimuth_deg", finite(facetAzimuth_deg(facet))},
                          {"normal", array(facet.normal)},
                          {"distance_mm", finite(facet.distance * size_mm)}});
    return facets;
}

// The edits of --edits; with --save the edited cut is kept as a new one.
std::vector<FacetEdit> facetEdits(const Arguments& arguments, const std::string& cut,
                                  const std::map<std::string, double>& given) {
    std::vector<FacetEdit> edits = givenEdits(arguments);
    const auto save = arguments.text("save");
    if (!save) return edits;
    const std::string name = std::filesystem::path(*save).stem().string();
    const std::string text =
        editedCutFile(cut, name, arguments.text("title").value_or(name), given, edits);
    (void)designVolume(makeDesign(cut, given, edits));  // only a solid is kept
    writeTextFile(*save, "cut file", text);
    return edits;
}

void drawPicture(const Design& design, double size_mm, const Arguments& arguments) {
    const std::string file = *arguments.text("picture");
    if (std::filesystem::path(file).extension() != ".png")
        throw Error(ErrorCode::BadUsage, "A picture is written as PNG.", "Add --picture FILE.png.");
    const auto [width, height] = pixels(arguments, "pixels", {800, 600});
    const render::ViewFrom from = viewFrom(arguments, "from");
    const render::PictureSupport support = render::pictureSupport();
    if (!support.available)
        throw Error(ErrorCode::Io, "No picture can be made on this machine: " + support.reason,
                    "Leave out --picture.");
    render::Scene scene;
    scene.setTheme(arguments.has("dark") ? render::Theme::Dark : render::Theme::Light);
    scene.setQuality(render::Quality::Rest);
    std::vector<ConvexSolid> parts;
    for (const ConvexPart& part : design.parts)
        parts.push_back(makeSolid(part));
    scene.setDesign(parts);
    Placement placement;
    placement.size_mm = size_mm;
    scene.setPlacement(placement);
    scene.look(from);
    scene.frame();
    render::writePicture(scene, width, height, file);
}

void shape(const Arguments& arguments, Console& console) {
    if (arguments.has("list")) {
        arguments.expectNoInput();
        list(arguments.json());
        return;
    }
    if (arguments.has("measure")) {
        measureScan(arguments, console);
        return;
    }
    const std::string& cut = arguments.soleInput("a cut");
    checkCutName(cut);
    const auto size = sizeOption(arguments);
    if (!size)
        throw Error(ErrorCode::BadUsage, "`macle shape` needs a size.",
                    "Add --size MM, the mean girdle diameter or width.");
    const auto given = givenProportions(arguments, cut);
    const Design design = makeDesign(cut, given, facetEdits(arguments, cut, given));
    const Material material = givenMaterial(arguments, loadMaterial("diamond"));
    const double volume_mm3 = designVolume(design) * std::pow(*size, 3);
    const double weight_ct = carats(volume_mm3, material.density_g_cm3);
    const Eigen::Vector3d extent = bounds(outerSurface(design, *size)).extent();
    if (const auto out = arguments.text("out")) writeMeshFile(outerSurface(design, *size), *out);
    if (arguments.text("picture")) drawPicture(design, *size, arguments);

    if (arguments.json()) {
        Json object;
        object["cut"] = cut;
        object["size_mm"] = finite(*size);
        object["volume_mm3"] = finite(volume_mm3);
        object["weight_ct"] = finite(weight_ct);
        object["proportions"] = Json::object();
        for (const auto& [key, value] : design.proportions)
            object["proportions"][key] = finite(value);
        object["proportions"]["total_height_percent"] = finite(100.0 * extent.z() / *size);
        object["facets"] = Json::array();
        Json parts = Json::array();
        std::set<std::string> named;  // parts share facets
        for (const ConvexPart& part : design.parts) {
            const Json facets = facetsJson(part, *size);
            for (const Json& facet : facets)
                if (named.insert(facet["name"]).second) object["facets"].push_back(facet);
            parts.push_back({{"facets", facets}});
        }
        if (design.parts.size() > 1) object["parts"] = parts;
        printJson(object);
        return;
    }
    std::vector<std::pair<std::string, std::string>> rows = {
        {"Cut", findCut(cut).title},
        {"Size", lengthText(*size)},
        {"Extent", formatFixed(extent.x(), 3) + " x " + formatFixed(extent.y(), 3) + " x " +
                       lengthText(extent.z())},
        {"Volume", formatFixed(volume_mm3, 3) + " mm3"},
        {"Weight", caratText(weight_ct) + " (" + material.name + ")"}};
    for (const ProportionInfo& p : findCut(cut).proportions)
        if (const auto value = design.proportions.find(p.key); value != design.proportions.end())
            rows.emplace_back(p.label, formatFixed(value->second, 2) + " " + p.unit);
    for (const std::string& change : design.changes)
        rows.emplace_back("Changed", change);
    rows.emplace_back("Total height", formatFixed(100.0 * extent.z() / *size, 2) + " %");
    std::vector<std::vector<std::string>> facets;
    std::set<std::string> named;
    for (const ConvexPart& part : design.parts)
        for (const Facet& facet : part.facets)
            if (named.insert(facet.name).second)
                facets.push_back({facet.name, formatFixed(facetAngle_deg(facet), 3),
                                  formatFixed(facetAzimuth_deg(facet), 3),
                                  formatFixed(facet.distance * *size, 4)});
    print(fields(rows) + "\n" +
          table({"Facet", "Angle deg", "Azimuth deg", "Distance mm"}, facets));
}

}  // namespace

Verb shapeVerb() {
    std::vector<OptionSpec> options = {{"size", "MM", "mean girdle diameter or width"},
                                       {"list", "", "list the cuts and their proportions"},
                                       {"out", "FILE", "write the solid (.stl, .ply, .obj)"},
                                       {"edits", "FILE", "change facets: a JSON list of edits"},
                                       {"save", "FILE", "keep the changed cut, named as the file"},
                                       {"title", "TEXT", "title of the kept cut"},
                                       {"picture", "FILE.png", "draw it"},
                                       {"from", "VIEW", "table, side, end, culet or oblique"},
                                       {"pixels", "WxH", "size of the picture (800x600)"},
                                       {"dark", "", "picture on a dark ground"},
                                       {"measure", "SCAN", "measure a polished stone instead"},
                                       {"noise", "MM", "of that scan (0.01)"},
                                       materialOption()};
    const auto more = proportionOptions();
    options.insert(options.end(), more.begin(), more.end());
    return {"shape",
            "CUT",
            "Give a cut's solid, proportions and weight at a size.",
            "macle shape round --size 6.5 --crown 34 --out round.stl",
            options,
            shape};
}

}  // namespace macle::app
