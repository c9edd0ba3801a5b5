// macle divide STONE: the rough sawn into pieces, a second stone beside the first, and several
// stones at once.
#include <filesystem>

#include "app/terminal/divide_joint.h"
#include "app/terminal/fit.h"
#include "app/terminal/inputs.h"
#include "app/terminal/output.h"
#include "app/terminal/verbs.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/text_file.h"
#include "core/cut/library.h"
#include "core/divide/saw_file.h"
#include "core/divide/second_stone.h"
#include "core/stone/mesh_file.h"

namespace macle::app {

namespace {

constexpr double kWidestKerf_mm = 5.0;
constexpr double kWidestAllowance_mm = 5.0;

Json sawJson(const Saw& saw, double kerf_mm3, double kerf_ct) {
    Json object;
    object["piece"] = saw.piece + 1;
    object["normal"] = array(saw.normal);
    object["offset_mm"] = finite(saw.offset_mm);
    object["kerf_mm"] = finite(saw.kerf_mm);
    if (saw.v) {
        object["beam"] = array(saw.v->beam);
        object["exit_mm"] = finite(saw.v->exit_mm);
    }
    object["lost_mm3"] = finite(kerf_mm3);
    object["lost_ct"] = finite(kerf_ct);
    return object;
}

Json stoneJson(const std::string& cut, const Placement& placement, double weight_ct) {
    Json object;
    object["cut"] = cut;
    object["size_mm"] = finite(placement.size_mm);
    object["weight_ct"] = finite(weight_ct);
    object["placement"] = placementJson(placement);
    return object;
}

std::string sawText(const Saw& saw) {
    const auto number = [](double value) { return formatFixed(value, 4); };
    return "piece " + std::to_string(saw.piece + 1) + ", normal " + number(saw.normal.x()) + "  " +
           number(saw.normal.y()) + "  " + number(saw.normal.z()) + " at " +
           lengthText(saw.offset_mm) + ", kerf " + formatFixed(saw.kerf_mm, 3) +
           (saw.v ? " to " + formatFixed(saw.v->exit_mm, 3) : "") + " mm";
}

struct Second {
    std::string cut;
    SecondStone stone;
    double first_ct = 0.0, second_ct = 0.0;
};

// The second stone that --second asks for; nothing when none fits.
std::optional<Second> secondFor(const Arguments& arguments, const Stone& stone,
                                const RoughCutter& cutter, const Layout& layout, Console& console) {
    Second found;
    found.cut = *arguments.text("second");
    checkCutName(found.cut);
    const Design first = designOf(layout.main());
    const Design second = found.cut == layout.main().cut ? first : makeDesign(found.cut, {});
    SecondStoneRules rules;
    rules.kerf_mm = arguments.number("kerf", 0.0, kWidestKerf_mm).value_or(0.0);
    rules.mechanical = arguments.has("mechanical");
    rules.fit = layout.main().rules;
    if (const auto allowance = arguments.number("allowance", 0.0, kWidestAllowance_mm))
        rules.fit.allowance_mm = *allowance;
    rules.firstAllowance_mm = rules.fit.allowance_mm;
    if (arguments.has("level"))
        rules.only = {layout.main().placement.rotation * Eigen::Vector3d::UnitZ()};
    const auto stoneFound =
        findSecondStone(stone, cutter, first, layout.main().placement, second, rules,
                        searchOptionsFrom(arguments), &console.phase("Looking for a second stone"));
    if (!stoneFound) return std::nullopt;
    found.stone = *stoneFound;
    found.first_ct =
        caratsOf(stone, cutter.finish(first, layout.main().placement, false).volume_mm3);
    found.second_ct = caratsOf(stone, found.stone.volume_mm3);
    return found;
}

void writePieces(const Division& division, const std::string& prefix) {
    for (std::size_t i = 0; i < division.pieces.size(); ++i)
        writeMeshFile(division.pieces[i].mesh, prefix + "_" + std::to_string(i + 1) + ".stl");
}

void divideVerbRun(const Arguments& arguments, Console& console) {
    if (asksForStones(arguments)) return divideIntoStones(arguments, console);
    const std::string& input = arguments.soleInput("a stone");
    for (const char* other : {"fewer", "exit", "different", "seek"})
        if (arguments.has(other))
            throw Error(ErrorCode::BadUsage,
                        std::string("--") + other + " goes with several stones sought at once.",
                        "Add --stones CUT,CUT or --count N, or leave it out.");
    const auto sawFile = arguments.text("saws");
    if (sawFile.has_value() == arguments.has("second"))
        throw Error(
            ErrorCode::BadUsage, "It is not said how to divide the rough.",
            "Add --saws FILE to saw by hand, --second CUT to look for a second stone beside "
            "the first, or --stones CUT,CUT for all of them at once; only one of these.");
    std::vector<Saw> saws;
    if (sawFile) saws = readSaws(*sawFile);
    StoneFile file = openStoneArgument(arguments, input, console);
    std::optional<Layout> layout;
    if (!sawFile) layout = chosenLayout(arguments, file);
    const Stone& stone = file.stone;
    const RoughCutter cutter(stone.rough);
    std::optional<Second> second;
    if (!sawFile) {
        if (!layout)
            throw Error(ErrorCode::BadUsage, "It is not known where the first stone sits.",
                        "Add --placement FILE.json, as written by `macle fit --out`.");
        second = secondFor(arguments, stone, cutter, *layout, console);
        if (!second)
            throw Error(ErrorCode::NoSolution,
                        "No second stone of " + findCut(*arguments.text("second")).title +
                            " fits beside the first.",
                        "Try another cut, another kerf or another place for the first.");
        saws = {second->stone.saw};
    }
    const Division division = divide(stone.rough, cutter, saws, &console.phase("Sawing"));
    if (const auto out = arguments.text("out")) writeTextFile(*out, "list of saws", sawsText(saws));
    if (const auto prefix = arguments.text("pieces")) writePieces(division, *prefix);

    const double rough_ct = caratsOf(stone, stone.rough.volume_mm3);
    double kerf_mm3 = 0.0;
    for (const double one : division.kerf_mm3)
        kerf_mm3 += one;
    const double finished_ct = second ? second->first_ct + second->second_ct : 0.0;
    if (arguments.json()) {
        Json object;
        object["rough_ct"] = finite(rough_ct);
        object["saws"] = Json::array();
        for (std::size_t s = 0; s < saws.size(); ++s)
            object["saws"].push_back(
                sawJson(saws[s], division.kerf_mm3[s], caratsOf(stone, division.kerf_mm3[s])));
        object["pieces"] = Json::array();
        for (const Piece& piece : division.pieces)
            object["pieces"].push_back({{"saw", piece.saw + 1},
                                        {"volume_mm3", finite(piece.volume_mm3)},
                                        {"weight_ct", finite(caratsOf(stone, piece.volume_mm3))},
                                        {"lumps", piece.lumps}});
        object["kerf_ct"] = finite(caratsOf(stone, kerf_mm3));
        if (second) {
            object["first"] =
                stoneJson(layout->main().cut, layout->main().placement, second->first_ct);
            object["second"] = stoneJson(second->cut, second->stone.placement, second->second_ct);
            object["together_ct"] = finite(finished_ct);
            object["recovery_percent"] = finite(100.0 * finished_ct / rough_ct);
            object["poses"] = second->stone.poses;
        }
        addWeightBasis(object, stone);
        printJson(object);
        return;
    }
    std::vector<std::pair<std::string, std::string>> rows = {
        {"Stone", stone.name + ", " + caratText(rough_ct)}};
    if (second) {
        rows.emplace_back("First", findCut(layout->main().cut).title + ", " +
                                       lengthText(layout->main().placement.size_mm) + ", " +
                                       caratText(second->first_ct));
        rows.emplace_back("Second", findCut(second->cut).title + ", " +
                                        lengthText(second->stone.placement.size_mm) + ", " +
                                        caratText(second->second_ct));
        rows.emplace_back("Together", caratText(finished_ct) + ", " +
                                          formatFixed(100.0 * finished_ct / rough_ct, 2) +
                                          " % of the rough");
    }
    rows.emplace_back("Lost to kerfs", caratText(caratsOf(stone, kerf_mm3)));
    std::string text = fields(rows) + "\n";
    for (std::size_t s = 0; s < saws.size(); ++s)
        text += "Saw " + std::to_string(s + 1) + ": " + sawText(saws[s]) + "\n";
    std::vector<std::vector<std::string>> pieces;
    for (std::size_t i = 0; i < division.pieces.size(); ++i) {
        const Piece& piece = division.pieces[i];
        pieces.push_back({std::to_string(i + 1), formatFixed(piece.volume_mm3, 3),
                          formatFixed(caratsOf(stone, piece.volume_mm3), 3),
                          std::to_string(piece.lumps)});
    }
    print(text + "\n" + table({"Piece", "Volume mm3", "Weight ct", "Bodies"}, pieces) +
          "\nSawing with blades or lasers is work for trained hands behind guards and with eye "
          "protection;\nlocal codes and licensed practice come first.\n");
}

}  // namespace

Verb divideVerb() {
    std::vector<OptionSpec> options = {
        {"saws", "FILE", "saw along the planes of this list (JSON)"},
        {"second", "CUT", "look for the heaviest second stone beside the first and saw between"},
        {"kerf", "MM", "width of the kerf between stones (0)"},
        {"mechanical", "", "saw along cube or dodecahedron planes only"},
        {"level", "", "saw parallel to the table of the first stone only"},
        {"allowance", "MM", "kept between facets and skin, defects or saw (as in the layout)"},
        {"seconds", "S", "look for so long (10, for stones at once 20; no limit with --poses)"},
        {"poses", "N",
         "about N pose queries, with --second for each plane: same input and seed, same result"},
        {"seed", "N", "start of the random choices (1)"},
        {"threads", "N", "0: as many as the machine has"},
        {"out", "FILE", "write the saws as such a list, of stones at once the layouts"},
        {"pieces", "PREFIX", "write each piece as PREFIX_1.stl, PREFIX_2.stl ..."}};
    for (const auto& more : {jointOptions(), layoutOptions()})
        options.insert(options.end(), more.begin(), more.end());
    return {"divide",
            "STONE",
            "Saw a rough into pieces, or find the stones and saws that use it best.",
            "macle divide stone.macle --stones round,oval --kerf 0.08 --out layouts.json",
            options,
            divideVerbRun};
}

}  // namespace macle::app
