// macle picture STONE: a PNG of the stone and the cut in it, or of the cut seen face-up.
#include "render/picture.h"

#include "app/terminal/face_up.h"
#include "app/terminal/inputs.h"
#include "app/terminal/output.h"
#include "app/terminal/picture_options.h"
#include "app/terminal/verbs.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/cut/library.h"
#include "render/scene.h"

namespace macle::app {

namespace {

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
    StoneFile file = openStoneArgument(arguments, input, console);
    const auto layout = chosenLayout(arguments, file);
    if (!layout && arguments.has("cut"))
        throw Error(ErrorCode::BadUsage, "A cut is given but not where it sits.",
                    "Add --placement FILE.json, as written by `macle fit --out`.");

    console.phase("Drawing");
    render::Scene scene;
    scene.setTheme(arguments.has("dark") ? render::Theme::Dark : render::Theme::Light);
    scene.setQuality(render::Quality::Rest);
    scene.setStone(file.stone);
    if (layout) {
        std::vector<ConvexSolid> parts;
        for (const ConvexPart& part : designOf(layout->main()).parts)
            parts.push_back(makeSolid(part));
        scene.setDesign(parts);
        scene.setPlacement(layout->main().placement);
    }
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
            "Draw a stone, and the cut in it, as a PNG; or the cut as seen face-up.",
            "macle picture stone.stl --placement layout.json --from side --out side.png",
            options,
            picture};
}

}  // namespace macle::app
