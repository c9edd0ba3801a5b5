// macle finish STONE: what is left when a design at a given placement meets the rough.
#include "app/terminal/inputs.h"
#include "app/terminal/output.h"
#include "app/terminal/verbs.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/units.h"
#include "core/cut/library.h"
#include "core/solid/finished_stone.h"
#include "core/stone/mesh_file.h"

namespace macle::app {

namespace {

void finish(const Arguments& arguments, Console& console) {
    const std::string& input = arguments.soleInput("a stone");
    const auto size = sizeOption(arguments);
    StoneFile file = openStoneArgument(arguments, input, console);
    const auto layout = chosenLayout(arguments, file, size);
    if (!layout)
        throw Error(ErrorCode::BadUsage, "No placement is given.",
                    "Add --placement FILE.json, as written by `macle fit --out`.");
    const Design design = designOf(layout->main());
    const RoughCutter cutter(file.stone.rough);
    const auto out = arguments.text("out");
    const FinishedStone finished = cutter.finish(design, layout->main().placement, out.has_value());
    if (out) writeMeshFile(finished.mesh, *out);
    const double weight_ct = caratsOf(file.stone, finished.volume_mm3);

    if (arguments.json()) {
        Json object;
        addWeightBasis(object, file.stone);
        object["volume_mm3"] = finite(finished.volume_mm3);
        object["weight_ct"] = finite(weight_ct);
        object["missing_mm3"] = finite(finished.missing_mm3);
        object["naturals"] = Json::array();
        for (const Natural& natural : finished.naturals)
            object["naturals"].push_back(
                {{"area_mm2", finite(natural.area_mm2)}, {"depth_mm", finite(natural.depth_mm)}});
        printJson(object);
        return;
    }
    std::vector<std::pair<std::string, std::string>> figures = {
        {"Cut", findCut(layout->main().cut).title},
        {"Size", lengthText(layout->main().placement.size_mm)},
        {"Inside the rough", finished.inside ? "yes" : "no"},
        {"Volume", formatFixed(finished.volume_mm3, 3) + " mm3"},
        {"Weight", caratText(weight_ct)},
        {"Missing", formatFixed(finished.missing_mm3, 3) + " mm3"}};
    if (const std::string basis = weightBasis(file.stone); !basis.empty())
        figures.emplace_back("Basis", basis);
    std::string text = fields(figures);
    std::vector<std::vector<std::string>> rows;
    for (const Natural& n : finished.naturals)
        rows.push_back({formatFixed(n.area_mm2, 3), formatFixed(n.depth_mm, 3),
                        n.girdleOnly ? "yes" : "no", formatFixed(n.place_mm.x(), 2),
                        formatFixed(n.place_mm.y(), 2), formatFixed(n.place_mm.z(), 2)});
    if (!rows.empty())
        text += "\nNaturals\n" +
                table({"Area mm2", "Depth mm", "Girdle only", "x mm", "y mm", "z mm"}, rows);
    print(text);
}

}  // namespace

Verb finishVerb() {
    std::vector<OptionSpec> options = {
        {"size", "MM", "mean girdle diameter or width (default: that of the placement)"},
        {"out", "FILE", "write the finished stone (.stl, .ply, .obj)"}};
    const auto more = layoutOptions();
    options.insert(options.end(), more.begin(), more.end());
    return {"finish",
            "STONE",
            "Cut a design out of a stone at a placement; report what is missing.",
            "macle finish stone.stl --cut round --size 6.4 --placement layout.json",
            options,
            finish};
}

}  // namespace macle::app
