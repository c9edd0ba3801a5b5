#include "app/terminal/face_up.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "app/terminal/inputs.h"
#include "app/terminal/output.h"
#include "core/appraise/light_figure.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/part_progress.h"
#include "core/cut/library.h"
#include "core/light/face_picture.h"
#include "core/light/light_return.h"

namespace macle::app {

namespace {

constexpr int kStandard_px = 512;
constexpr int kTiltSeries_px = 96;  // its figures need no fine picture
constexpr double kSmallestWidth_mm = 0.1, kLargestWidth_mm = 200.0;

// What is to be drawn: a cut at its size, and what stays inside it.
struct Subject {
    Layout layout;
    Material material;
    std::vector<BodyInside> bodies;
};

Subject subjectOf(const Arguments& arguments, Console& console) {
    const auto width = arguments.number("width", kSmallestWidth_mm, kLargestWidth_mm);
    Subject subject;
    if (arguments.inputs().empty()) {
        subject.layout = layoutWithoutPlacement(arguments);
        if (!width)
            throw Error(ErrorCode::BadUsage, "It is not known how large the stone is.",
                        "Add --width MM, its mean girdle diameter or width.");
        subject.layout.main().placement.size_mm = *width;
        subject.material = givenMaterial(arguments, loadMaterial("diamond"));
        return subject;
    }
    StoneFile file = openStoneArgument(arguments, arguments.soleInput("a stone"), console);
    const auto layout = chosenLayout(arguments, file, width);
    if (!layout)
        throw Error(ErrorCode::BadUsage, "No placement is given.",
                    "Add --placement FILE.json, as written by `macle fit --out`; or leave out the "
                    "stone and give --cut and --width.");
    subject.layout = *layout;
    subject.material = file.stone.material;
    subject.bodies = bodiesInside(file.stone.defects, designOf(subject.layout.main()),
                                  subject.layout.main().placement);
    return subject;
}

Lighting lightOf(const Arguments& arguments) {
    const std::string name = arguments.text("light").value_or("even");
    if (name == "even") return Lighting::Even;
    if (name == "dark-viewer") return Lighting::DarkViewer;
    throw Error(ErrorCode::BadUsage, "There is no light called \"" + name + "\".",
                "Give even or dark-viewer.");
}

std::vector<double> wavelengthsOf(const std::string& text) {
    std::vector<double> wavelengths;
    std::size_t from = 0;
    while (from <= text.size()) {
        const std::size_t comma = std::min(text.find(',', from), text.size());
        const auto nm = parseNumber(std::string_view(text).substr(from, comma - from));
        if (!nm)
            throw Error(ErrorCode::BadUsage,
                        "Option --wavelengths: \"" + text + "\" is no list of wavelengths.",
                        "Give ascending numbers in nm with commas between: 450,550,650.");
        wavelengths.push_back(*nm);
        from = comma + 1;
    }
    return wavelengths;
}

int sideOf(const Arguments& arguments) {
    const auto text = arguments.text("size");
    if (!text) return kStandard_px;
    const std::size_t cross = text->find('x');
    const auto width = parseInteger(std::string_view(*text).substr(0, cross));
    const auto height = cross == std::string::npos
                            ? std::nullopt
                            : parseInteger(std::string_view(*text).substr(cross + 1));
    if (!width || width != height || *width < 16 || *width > 4096)
        throw Error(ErrorCode::BadUsage,
                    "Option --size: \"" + *text + "\" is no size of a face-up picture.",
                    "Give equal sides of 16 to 4096 pixels, as in 512x512.");
    return static_cast<int>(*width);
}

FacePictureOptions optionsOf(const Arguments& arguments) {
    FacePictureOptions options;
    options.pixels = sideOf(arguments);
    options.tilt_deg = arguments.number("tilt", 0.0, 80.0).value_or(0.0);
    options.tiltAzimuth_deg = arguments.number("towards", 0.0, 360.0).value_or(0.0);
    options.lighting = lightOf(arguments);
    if (const auto list = arguments.text("wavelengths"))
        options.wavelengths_nm = wavelengthsOf(*list);
    const auto strength = arguments.number("strength", 0.0, 1000.0);
    if (const auto spectrum = arguments.text("spectrum")) {
        options.spectrum = loadSpectrum(*spectrum);
        options.spectrum->strength = strength.value_or(1.0);
    } else if (strength) {
        throw Error(ErrorCode::BadUsage, "A strength is given but no spectrum.",
                    "Add --spectrum NAME or a file.");
    }
    options.threads = static_cast<int>(arguments.integer("threads", 1, 256).value_or(0));
    return options;
}

const char* lightName(Lighting lighting) {
    return lighting == Lighting::Even ? "even" : "dark-viewer";
}

Json colourJson(const FaceFigures& figures) {
    const auto srgb = toSrgb(figures.colour);
    Json colour;
    colour["lightness"] = finite(figures.lab.lightness);
    colour["a"] = finite(figures.lab.a);
    colour["b"] = finite(figures.lab.b);
    colour["chroma"] = finite(figures.lab.chroma());
    colour["hue_deg"] = finite(figures.lab.hue_deg());
    colour["srgb"] = {srgb[0], srgb[1], srgb[2]};
    return colour;
}

std::string percentText(double share) {
    return formatFixed(100.0 * share, 1) + " %";
}

}  // namespace

std::vector<OptionSpec> faceUpOptions() {
    return {{"leaks", "", "face-up: show where the lines of sight end behind the stone"},
            {"width", "MM", "face-up: how large the cut is, where no stone says it"},
            {"tilt", "DEG", "face-up: lean the table away from the viewer, 0 to 80 (0)"},
            {"towards", "DEG", "face-up: the azimuth it leans to (0)"},
            {"tilt-series", "", "face-up: figures for 0 to 30 degrees in two directions too"},
            {"light", "NAME", "face-up: even, or dark-viewer with the viewer's head in it (even)"},
            {"wavelengths", "LIST", "face-up: in nm, as in 450,550,650 (nine from 400 to 700)"},
            {"spectrum", "NAME", "face-up: body colour: pink, cape_yellow, brown, or a file"},
            {"strength", "X", "face-up: how many times as strong the body colour is (1)"},
            {"exposure", "X", "face-up: brightness, 1 shows a white as white (1)"},
            {"threads", "N", "face-up: how many threads (all)"}};
}

void refuseFaceUpOptions(const Arguments& arguments) {
    for (const OptionSpec& option : faceUpOptions())
        if (arguments.has(option.name))
            throw Error(ErrorCode::BadUsage,
                        "Option --" + option.name + " belongs to a face-up picture.",
                        "Add --face-up, or leave it out.");
}

void drawFaceUp(const Arguments& arguments, Console& console) {
    for (const char* other : {"from", "dark"})
        if (arguments.has(other))
            throw Error(ErrorCode::BadUsage,
                        std::string("Option --") + other + " does not go with --face-up.",
                        "Leave one of them out.");
    FacePictureOptions options = optionsOf(arguments);
    const double exposure = arguments.number("exposure", 0.01, 100.0).value_or(1.0);
    const Subject subject = subjectOf(arguments, console);
    const Design design = designOf(subject.layout.main());
    const double size_mm = subject.layout.main().placement.size_mm;
    const std::string out = *arguments.text("out");

    Progress& progress = console.phase("Following the light");
    const bool series = arguments.has("tilt-series");
    PartProgress drawing(&progress, 0.0, series ? 0.6 : 0.9);
    const LightBody body(design, size_mm, subject.material);
    options.bodies = subject.bodies;
    const FacePicture picture = facePicture(body, options, &drawing);
    LightReturnOptions returnOptions;
    returnOptions.threads = options.threads;
    const LightReturn lightBack = lightReturn(body, returnOptions);
    std::vector<TiltFigures> tilts;
    if (series) {
        FacePictureOptions coarse = options;
        coarse.pixels = kTiltSeries_px;
        PartProgress tilting(&progress, 0.6, 1.0);
        tilts = tiltSeries(body, coarse, 30.0, 6, &tilting);
    }
    writePng(arguments.has("leaks") ? leakRaster(picture) : pictureRaster(picture, exposure), out);
    const FaceFigures& figures = picture.figures;

    if (arguments.json()) {
        Json object;
        object["file"] = out;
        object["width_px"] = picture.pixels;
        object["height_px"] = picture.pixels;
        object["shows"] = arguments.has("leaks") ? "leaks" : "light";
        object["cut"] = subject.layout.main().cut;
        object["size_mm"] = finite(size_mm);
        object["light"] = lightName(options.lighting);
        object["tilt_deg"] = finite(options.tilt_deg);
        object["tilt_azimuth_deg"] = finite(options.tiltAzimuth_deg);
        object["wavelengths_nm"] = options.wavelengths_nm;
        object["spectrum"] = options.spectrum ? Json(options.spectrum->name) : Json(nullptr);
        object["bodies_inside"] = options.bodies.size();
        object["light_return"] = finite(figures.lightReturn);
        object["leaked"] = finite(figures.leaked);
        object["given_up"] = finite(figures.remainder);
        object["contrast"] = finite(figures.contrast);
        object["mean_path_mm"] = finite(figures.meanPath_mm);
        object["face_area_mm2"] = finite(figures.faceArea_mm2);
        object["colour"] = colourJson(figures);
        object["weighted_light_return"] = finite(lightBack.weighted);
        if (series) {
            object["tilt_series"] = Json::array();
            for (const TiltFigures& tilt : tilts)
                object["tilt_series"].push_back({{"tilt_deg", finite(tilt.tilt_deg)},
                                                 {"azimuth_deg", finite(tilt.azimuth_deg)},
                                                 {"light_return", finite(tilt.lightReturn)},
                                                 {"leaked", finite(tilt.leaked)},
                                                 {"contrast", finite(tilt.contrast)}});
        }
        printJson(object);
        return;
    }
    std::vector<std::pair<std::string, std::string>> rows{
        {"Written", out},
        {"Size", std::to_string(picture.pixels) + " x " + std::to_string(picture.pixels) + " px"},
        {"Cut", findCut(subject.layout.main().cut).title + ", " + lengthText(size_mm)},
        {"Light return", percentText(figures.lightReturn) + " of a white's (estimate)"},
        {"Leaked behind", percentText(figures.leaked)},
        {"Contrast", formatFixed(figures.contrast, 2)},
        {"Weighted return", percentText(lightBack.weighted) + " (estimate, no absorption)"},
        {"Mean path", lengthText(figures.meanPath_mm)}};
    if (options.spectrum)
        rows.emplace_back("Colour, estimate", options.spectrum->title + ": L* " +
                                                  formatFixed(figures.lab.lightness, 1) + ", C* " +
                                                  formatFixed(figures.lab.chroma(), 1) + ", hue " +
                                                  formatFixed(figures.lab.hue_deg(), 0) + " deg");
    if (!options.bodies.empty())
        rows.emplace_back("Defects inside",
                          std::to_string(options.bodies.size()) + " (dimming only, an estimate)");
    std::string text = fields(rows);
    if (series) {
        std::vector<std::vector<std::string>> lines;
        for (const TiltFigures& t : tilts)
            lines.push_back({formatFixed(t.tilt_deg, 0), formatFixed(t.azimuth_deg, 0),
                             formatFixed(100.0 * t.lightReturn, 1),
                             formatFixed(100.0 * t.leaked, 1), formatFixed(t.contrast, 2)});
        text += "\nTilted\n" +
                table({"Tilt deg", "Azimuth deg", "Light return %", "Leaked %", "Contrast"}, lines);
    }
    print(text);
}

}  // namespace macle::app
