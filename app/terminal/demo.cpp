// macle demo: writes the sample stone of an invented scenario.
#include "app/terminal/output.h"
#include "app/terminal/verbs.h"
#include "core/archive/stone_file.h"
#include "core/base/error.h"
#include "core/stone/sample.h"

namespace macle::app {

namespace {

void demo(const Arguments& arguments, Console& console) {
    arguments.expectNoInput();
    const auto given = arguments.text("out");
    const std::filesystem::path file = given ? *given : "sample_stone.macle";
    if (file.extension() != ".macle")
        throw Error(ErrorCode::BadUsage,
                    "A stone file ends in .macle, not \"" + file.string() + "\".",
                    "Give --out FILE.macle.");
    std::error_code ignored;
    if (!given && std::filesystem::exists(file, ignored))
        throw Error(ErrorCode::Io, "The file " + file.string() + " is there already.",
                    "Give another name, or this one again, with --out FILE.macle.");
    console.phase("Making the sample stone");
    StoneFile content;
    content.stone = sampleStone();
    saveStoneFile(content, file);
    const Stone& stone = content.stone;
    if (arguments.json()) {
        Json object;
        object["file"] = file.string();
        object["name"] = stone.name;
        object["triangles"] = stone.rough.mesh.triangles.size();
        object["volume_mm3"] = finite(stone.rough.volume_mm3);
        object["weight_ct"] = finite(scanWeight_ct(stone));
        object["defects"] = stone.defects.size();
        printJson(object);
        return;
    }
    print(fields({{"Written", file.string()},
                  {"Stone", stone.name},
                  {"Triangles", std::to_string(stone.rough.mesh.triangles.size())},
                  {"Weight", caratText(scanWeight_ct(stone))},
                  {"Defects", std::to_string(stone.defects.size())}}));
}

}  // namespace

Verb demoVerb() {
    return {"demo",
            "",
            "Write a sample stone to try the other verbs on.",
            "macle demo --out sample.macle",
            {{"out", "FILE.macle", "where to (default: sample_stone.macle, if not there yet)"}},
            demo};
}

}  // namespace macle::app
