#include "app/terminal/picture_options.h"

#include <utility>
#include <vector>

#include "core/base/error.h"
#include "core/base/numbers.h"

namespace macle::app {

namespace {

constexpr int kLeast_px = 16;
constexpr int kMost_px = 8192;

}  // namespace

std::array<int, 2> pixels(const Arguments& arguments, const std::string& option,
                          std::array<int, 2> standard) {
    const auto text = arguments.text(option);
    if (!text) return standard;
    // 0 stands for what is no whole number: out of range like any other bad side.
    const std::size_t cross = text->find('x');
    const long long width = parseInteger(std::string_view(*text).substr(0, cross)).value_or(0);
    const long long height =
        cross == std::string::npos
            ? 0
            : parseInteger(std::string_view(*text).substr(cross + 1)).value_or(0);
    const auto sound = [](long long side) { return side >= kLeast_px && side <= kMost_px; };
    if (!sound(width) || !sound(height))
        throw Error(ErrorCode::BadUsage,
                    "Option --" + option + ": \"" + *text + "\" is no picture size.",
                    "Give WIDTHxHEIGHT in pixels, each 16 to 8192, as in 1200x900.");
    return {int(width), int(height)};
}

render::ViewFrom viewFrom(const Arguments& arguments, const std::string& option) {
    static const std::vector<std::pair<std::string, render::ViewFrom>> kViews = {
        {"table", render::ViewFrom::Table},
        {"side", render::ViewFrom::Side},
        {"end", render::ViewFrom::End},
        {"culet", render::ViewFrom::Culet},
        {"oblique", render::ViewFrom::Oblique}};
    const std::string name = arguments.text(option).value_or("oblique");
    std::vector<std::string> names;
    for (const auto& [view, value] : kViews) {
        if (view == name) return value;
        names.push_back(view);
    }
    const auto near = nearestWord(name, names);
    throw Error(ErrorCode::BadUsage, "There is no view from \"" + name + "\".",
                near ? "Did you mean --" + option + " " + *near + "?"
                     : "Give table, side, end, culet or oblique.");
}

}  // namespace macle::app
