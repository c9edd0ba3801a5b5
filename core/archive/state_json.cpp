#include "core/archive/state_json.h"

#include <cmath>

#include "core/base/error.h"
#include "core/cut/facet_edit_json.h"
#include "core/cut/library.h"
#include "core/divide/saw_json.h"

namespace macle::archive {
namespace {

using defect_json::allowOnly;
using defect_json::asJson;
using defect_json::FindSurface;
using defect_json::named;
using defect_json::need;
using defect_json::numberOf;
using defect_json::Place;
using defect_json::pointOf;
using defect_json::reject;
using defect_json::textOf;
using defect_json::wholeOf;

constexpr const char* kSource = "The stored state";
constexpr const char* kDamaged = "Use a copy of the file or take the stone in again.";

constexpr const char* kTrusted[] = {"scan", "scale"};

Json axesJson(const CrystalAxes& axes) {
    Json faces = Json::array();
    for (const NaturalFace& face : axes.faces)
        faces.push_back({{"form", formName(face.form)}, {"normal", asJson(face.normal)}});
    return {{"rotation_wxyz", asJson(axes.rotation)}, {"faces", faces}};
}

CrystalAxes axesFrom(const Json& json, const Place& place) {
    allowOnly(json, place, {"rotation_wxyz", "faces"});
    CrystalAxes axes;
    axes.rotation =
        defect_json::rotationOf(need(json, place, "rotation_wxyz"), place.inside("rotation_wxyz"));
    for (const Json& item : need(json, place, "faces")) {
        const Place here = place.inside("faces").item(axes.faces.size());
        allowOnly(item, here, {"form", "normal"});
        NaturalFace face;
        face.form = named(need(item, here, "form"), here.inside("form"), formFromName);
        face.normal = pointOf(need(item, here, "normal"), here.inside("normal"));
        if (!(std::abs(face.normal.norm() - 1.0) < 1e-6))
            reject(here, "the normal is not of unit length.", kDamaged);
        axes.faces.push_back(face);
    }
    return axes;
}

Json colourJson(const ColourRecord& colour, const defect_json::KeepSurface& keep) {
    Json zones = Json::array();
    for (const ColourZone& zone : colour.zones) {
        defect_json::Shape shape;
        std::visit([&](const auto& body) { shape = body; }, zone.shape);
        zones.push_back({{"name", zone.name},
                         {"hue", zone.hue},
                         {"strength", zone.strength},
                         {"shape", asJson(shape, keep)}});
    }
    return {{"letter", colour.body.letter},
            {"hue", colour.body.hue},
            {"fluorescence", fluorescenceName(colour.fluorescence.strength)},
            {"fluorescence_colour", colour.fluorescence.colour},
            {"zones", zones}};
}

ColourRecord colourFrom(const Json& json, const Place& place, const FindSurface& find) {
    allowOnly(json, place, {"letter", "hue", "fluorescence", "fluorescence_colour", "zones"});
    ColourRecord colour;
    colour.body.letter = textOf(need(json, place, "letter"), place.inside("letter"));
    colour.body.hue = textOf(need(json, place, "hue"), place.inside("hue"));
    colour.fluorescence.strength = named(need(json, place, "fluorescence"),
                                         place.inside("fluorescence"), fluorescenceFromName);
    colour.fluorescence.colour =
        textOf(need(json, place, "fluorescence_colour"), place.inside("fluorescence_colour"));
    for (const Json& item : need(json, place, "zones")) {
        const Place here = place.inside("zones").item(colour.zones.size());
        allowOnly(item, here, {"name", "hue", "strength", "shape"});
        ColourZone zone;
        zone.name = textOf(need(item, here, "name"), here.inside("name"));
        zone.hue = textOf(need(item, here, "hue"), here.inside("hue"));
        zone.strength = wholeOf(need(item, here, "strength"), here.inside("strength"), 1, 5);
        defect_json::Shape shape =
            defect_json::shapeOf(need(item, here, "shape"), here.inside("shape"), find);
        if (auto* ellipsoid = std::get_if<Ellipsoid>(&shape))
            zone.shape = *ellipsoid;
        else if (auto* mesh = std::get_if<TriangleMesh>(&shape))
            zone.shape = std::move(*mesh);
        else
            reject(here.inside("shape"), "a sheet has no volume.", kDamaged);
        colour.zones.push_back(std::move(zone));
    }
    check(colour);
    return colour;
}

}  // namespace

Json parse(const std::string& text, const char* what) {
    // Far deeper than any state; what follows walks the tree by calling itself.
    constexpr int kDeepest = 64;
    const auto shallow = [what](int depth, Json::parse_event_t, Json&) {
        if (depth > kDeepest)
            throw Error(ErrorCode::BadInput, std::string("The ") + what + " is nested too deeply.",
                        kDamaged);
        return true;
    };
    try {
        return Json::parse(text, shallow);
    } catch (const Json::exception& fault) {
        throw Error(ErrorCode::BadInput,
                    std::string("The ") + what + " cannot be read (" + fault.what() + ").",
                    kDamaged);
    }
}

Json stoneJson(const Stone& stone, SurfaceShelf& shelf) {
    const defect_json::KeepSurface keep = [&](const TriangleMesh& mesh) {
        return shelf.keep(mesh);
    };
    Json defects = Json::array();
    for (const Defect& defect : stone.defects) {
        Json entry = asJson(defect, keep);
        entry["cluster"] = defect.cluster;
        defects.push_back(std::move(entry));
    }
    Json clusters = Json::array();
    for (const DefectCluster& cluster : stone.clusters)
        clusters.push_back(cluster.name);
    return {{"name", stone.name},
            {"material", stone.material.name},
            {"scale_ct", stone.scale_ct ? Json(*stone.scale_ct) : Json()},
            {"trusted", kTrusted[static_cast<int>(stone.trusted)]},
            {"axes", stone.axes ? axesJson(*stone.axes) : Json()},
            {"colour", colourJson(stone.colour, keep)},
            {"defects", defects},
            {"clusters", clusters}};
}

void readStone(const Json& json, const SurfaceShelf& shelf, Stone& stone) {
    const Place place{kSource, 0, ""};
    const FindSurface find = [&](const std::string& name) { return shelf.find(name); };
    allowOnly(json, place,
              {"name", "material", "scale_ct", "trusted", "axes", "colour", "defects", "clusters"});
    stone.name = textOf(need(json, place, "name"), place.inside("name"));
    stone.material = named(need(json, place, "material"), place.inside("material"), loadMaterial);
    const Json& scale = need(json, place, "scale_ct");
    stone.scale_ct.reset();
    if (!scale.is_null()) {
        stone.scale_ct = numberOf(scale, place.inside("scale_ct"));
        if (!(*stone.scale_ct > 0.0))
            reject(place.inside("scale_ct"), "it must be above zero.", kDamaged);
    }
    const std::string trusted = textOf(need(json, place, "trusted"), place.inside("trusted"));
    if (trusted != kTrusted[0] && trusted != kTrusted[1])
        reject(place.inside("trusted"), "it must be scan or scale.", kDamaged);
    stone.trusted = trusted == kTrusted[0] ? TrustedWeight::Scan : TrustedWeight::Scale;
    const Json& axes = need(json, place, "axes");
    stone.axes.reset();
    if (!axes.is_null()) stone.axes = axesFrom(axes, place.inside("axes"));
    stone.colour = colourFrom(need(json, place, "colour"), place.inside("colour"), find);

    stone.clusters.clear();
    for (const Json& name : need(json, place, "clusters"))
        stone.clusters.push_back({textOf(name, place.inside("clusters")), {}});
    stone.defects.clear();
    const int clusters = static_cast<int>(stone.clusters.size());
    for (const Json& item : need(json, place, "defects")) {
        const Place here{kSource, stone.defects.size() + 1, ""};
        if (!item.is_object()) reject(here, "it must be an object.", kDamaged);
        Json entry = item;
        const int cluster =
            wholeOf(need(entry, here, "cluster"), here.inside("cluster"), -1, clusters - 1);
        entry.erase("cluster");
        Defect defect = defect_json::defectOf(entry, here, find);
        defect.cluster = cluster;
        if (cluster >= 0)
            stone.clusters[static_cast<std::size_t>(cluster)].members.push_back(
                static_cast<int>(stone.defects.size()));
        stone.defects.push_back(std::move(defect));
    }
}

namespace {

Json plannedJson(const PlannedStone& stone) {
    Json json = {{"cut", stone.cut},
                 {"proportions", stone.proportions},
                 {"placement",
                  {{"quaternion_wxyz", asJson(stone.placement.rotation)},
                   {"translation_mm", asJson(stone.placement.translation_mm)},
                   {"size_mm", stone.placement.size_mm}}},
                 {"allowance_mm", stone.rules.allowance_mm}};
    if (const auto files = cutFiles(stone.cut); !files.empty()) json["cut_files"] = files;
    // These only where there are some: what was approved before there were any stays as it was.
    for (const FacetEdit& edit : stone.edits)
        json["facet_edits"].push_back(Json(facetEditJson(edit)));
    if (stone.piece != 0) json["piece"] = stone.piece + 1;
    return json;
}

}  // namespace

Json layoutJson(const Layout& layout) {
    Json json = plannedJson(layout.main());
    json["name"] = layout.name;
    if (!layout.saws.empty()) json["saws"] = saw_json::asJson(layout.saws);
    for (std::size_t i = 1; i < layout.stones.size(); ++i)
        json["more_stones"].push_back(plannedJson(layout.stones[i]));
    return json;
}

Json layoutsJson(const std::vector<Layout>& layouts) {
    Json list = Json::array();
    for (const Layout& layout : layouts)
        list.push_back(layoutJson(layout));
    return list;
}

namespace {

PlannedStone plannedFrom(const Json& json, const Place& place, int pieces) {
    PlannedStone stone;
    if (json.contains("piece"))
        stone.piece = wholeOf(json.at("piece"), place.inside("piece"), 1, pieces) - 1;
    stone.cut = textOf(need(json, place, "cut"), place.inside("cut"));
    const Json& proportions = need(json, place, "proportions");
    if (!proportions.is_object()) reject(place.inside("proportions"), "it must be an object.");
    for (const auto& [key, value] : proportions.items())
        stone.proportions[key] = numberOf(value, place.inside("proportions").inside(key));
    if (json.contains("facet_edits")) {
        const Place list = place.inside("facet_edits");
        if (!json.at("facet_edits").is_array()) reject(list, "it must be a list.");
        for (const Json& item : json.at("facet_edits")) {
            try {
                stone.edits.push_back(facetEditFrom(nlohmann::ordered_json(item)));
            } catch (const Error& fault) {
                reject(list.item(stone.edits.size()), fault.message(), fault.remedy());
            }
        }
    }
    const Json& pose = need(json, place, "placement");
    const Place here = place.inside("placement");
    allowOnly(pose, here, {"quaternion_wxyz", "translation_mm", "size_mm"});
    stone.placement.rotation = defect_json::rotationOf(need(pose, here, "quaternion_wxyz"),
                                                       here.inside("quaternion_wxyz"));
    stone.placement.translation_mm =
        pointOf(need(pose, here, "translation_mm"), here.inside("translation_mm"));
    stone.placement.size_mm = numberOf(need(pose, here, "size_mm"), here.inside("size_mm"));
    if (!(stone.placement.size_mm > 0.0)) reject(here.inside("size_mm"), "it must be above zero.");
    stone.rules.allowance_mm =
        numberOf(need(json, place, "allowance_mm"), place.inside("allowance_mm"));
    if (!(stone.rules.allowance_mm >= 0.0))
        reject(place.inside("allowance_mm"), "it must not be below zero.");
    return stone;
}

}  // namespace

Layout layoutFrom(const Json& json, const Place& place) {
    allowOnly(json, place,
              {"name", "cut", "cut_files", "proportions", "facet_edits", "placement",
               "allowance_mm", "piece", "saws", "more_stones"});
    Layout layout;
    layout.name = textOf(need(json, place, "name"), place.inside("name"));
    if (json.contains("saws"))
        layout.saws = saw_json::sawsFrom(json.at("saws"), place.inside("saws"));
    const int pieces = static_cast<int>(layout.saws.size()) + 1;
    for (std::size_t i = 0; i < layout.saws.size(); ++i)
        if (layout.saws[i].piece > static_cast<int>(i))
            reject(place.inside("saws").item(i), "it divides a piece that is not there yet.");
    layout.main() = plannedFrom(json, place, pieces);
    if (!json.contains("more_stones")) return layout;
    const Place list = place.inside("more_stones");
    const Json& more = json.at("more_stones");
    if (!more.is_array() || more.size() >= kMostStones)
        reject(list, "it must be a list of at most " + std::to_string(kMostStones - 1) + ".");
    for (const Json& item : more) {
        const Place here = list.item(layout.stones.size() - 1);
        allowOnly(item, here,
                  {"cut", "cut_files", "proportions", "facet_edits", "placement", "allowance_mm",
                   "piece"});
        layout.stones.push_back(plannedFrom(item, here, pieces));
    }
    return layout;
}

std::vector<std::string> learnCutsOf(const Json& layout, const Place& place) {
    std::vector<std::string> replaced;
    const auto learn = [&](const Json& stone, const Place& whose) {
        if (!stone.contains("cut_files")) return;
        const Place here = whose.inside("cut_files");
        const Json& list = stone.at("cut_files");
        if (!list.is_array()) reject(here, "it must be a list.");
        std::vector<std::string> files;
        for (const Json& file : list)
            files.push_back(textOf(file, here.item(files.size())));
        try {
            const auto known = learnCuts(files, "a cut kept with the layout");
            replaced.insert(replaced.end(), known.begin(), known.end());
        } catch (const Error& fault) {
            reject(here, fault.message(), fault.remedy());
        }
    };
    learn(layout, place);
    if (layout.contains("more_stones"))
        for (const Json& stone : layout.at("more_stones"))
            learn(stone, place.inside("more_stones"));
    return replaced;
}

std::vector<Layout> layoutsFrom(const Json& json, const std::string& source,
                                std::vector<std::string>* replaced) {
    if (!json.is_array()) reject({source, 0, "layouts"}, "it must be a list.");
    std::vector<Layout> layouts;
    for (const Json& item : json) {
        const Place place{source, layouts.size() + 1, "", "layout"};
        layouts.push_back(layoutFrom(item, place));
        const auto known = learnCutsOf(item, place);
        if (replaced) replaced->insert(replaced->end(), known.begin(), known.end());
    }
    return layouts;
}

}  // namespace macle::archive
