// macle picture STONE: a PNG of the stone with the cuts and saws in it, or of a cut seen face-up.
#include "render/picture.h"

#include "app/terminal/face_up.h"
#include "app/terminal/inputs.h"
#include "app/terminal/output.h"
#include "app/terminal/picture_options.h"
#include "app/terminal/verbs.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/cut/library.h"
#include "core/divide/division.h"
#include "render/scene.h"

namespace macle::app {

namespace {

// All stones of the layout, the chosen one brightest, and its saws.
void stageLayout(render::Scene& scene, const Stone& stone, const Layout& layout,
                 std::size_t chosen) {
    std::vector<render::OtherStone> others;
    for (std::size_t k = 0; k < layout.stones.size(); ++k) {
        std::vector<ConvexSolid> parts;
        for (const ConvexPart& part : designOf(layout.stones[k]).parts)
            parts.push_back(makeSolid(part));
        if (k == chosen) {
            scene.setDesign(parts);
            scene.setPlacement(layout.stones[k].placement);
        } else {
            others.push_back({std::move(parts), layout.stones[k].placement});
        }
    }
    scene.setOtherStones(others);
    if (layout.saws.empty()) return;
    const RoughCutter cutter(stone.rough);
    scene.setSaws(render::sawOutlines(stone.rough.mesh, layout.saws,
                                      divide(stone.rough, cutter, layout.saws)));
}

void picture(const Arguments& arguments, Console& console) {
    const auto out = arguments.text("out");
    const auto needsFile = [&] {
        if (!out || std::filesystem::path(*out).extension() != ".png")
            throw Error(ErrorCode::BadUsage, "`macle picture` needs a file to write.",
                        "Add --out FILE.png.");
    };
    if (arguments.has("face-up")) {
        needsFile();
        drawFaceUp(arguments, console);
        return;
    }
    const std::string& input = arguments.soleInput("a stone");
    needsFile();
    refuseFaceUpOptions(arguments);
    const auto [width, height] = pixels(arguments, "size", {1200, 900});
    const render::ViewFrom from = viewFrom(arguments, "from");
    const render::PictureSupport support = render::pictureSupport();
    if (!support.available)
        throw Error(ErrorCode::Io, "No picture can be made on this machine: " + support.reason,
                    "The plan sheet needs no graphics: see `macle sheet`.");
    const StoneFile file = openStoneArgument(arguments, input, console);
    const auto layout = chosenWholeLayout(arguments, file);
    if (!layout && arguments.has("cut"))
        throw Error(ErrorCode::BadUsage, "A cut is given but not where it sits.",
                    "Add --placement FILE.json, as written by `macle fit --out`.");

    console.phase("Drawing");
    render::Scene scene;
    scene.setTheme(arguments.has("dark") ? render::Theme::Dark : render::Theme::Light);
    scene.setQuality(render::Quality::Rest);
    scene.setStone(file.stone);
    if (layout) stageLayout(scene, file.stone, *layout, chosenStone(arguments, *layout));
    scene.look(from);
    scene.frame();
    render::writePicture(scene, width, height, *out);

    if (arguments.json()) {
        Json object;
        object["file"] = *out;
        object["width_px"] = width;
        object["height_px"] = height;
        printJson(object);
    } else {
        print(fields({{"Written", *out},
                      {"Size", std::to_string(width) + " x " + std::to_string(height) + " px"}}));
    }
}

}  // namespace

Verb pictureVerb() {
    std::vector<OptionSpec> options = {
        {"from", "VIEW", "table, side, end, culet or oblique (oblique)"},
        {"size", "WxH", "picture size in pixels (1200x900)"},
        {"dark", "", "on a dark ground"},
        {"out", "FILE.png", "where to"},
        {"face-up", "", "what is seen of the cut from above, drawn from rays of light"}};
    for (const auto& more : {faceUpOptions(), layoutOptions()})
        options.insert(options.end(), more.begin(), more.end());
    return {"picture",
            "STONE",
            "Draw a stone, and the cuts and saws in it, as a PNG; or a cut as seen face-up.",
            "macle picture stone.stl --placement layout.json --from side --out side.png",
            options,
            picture};
}

}  // namespace macle::app
