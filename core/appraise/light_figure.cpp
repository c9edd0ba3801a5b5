#include "core/appraise/light_figure.h"

#include "core/appraise/defect_inside.h"
#include "core/base/part_progress.h"
#include "core/light/light_return.h"

namespace macle {

std::optional<AbsorptionSpectrum> spectrumOfHue(const std::string& hue) {
    constexpr std::pair<const char*, const char*> kModels[] = {
        {"yellow", "cape_yellow"}, {"pink", "pink"}, {"brown", "brown"}};
    std::optional<std::string> model;
    std::size_t last = 0;
    for (const auto& [word, name] : kModels) {
        const std::size_t at = hue.rfind(word);
        if (at == std::string::npos || (model && at < last)) continue;
        model = name;
        last = at;
    }
    if (!model) return std::nullopt;
    return loadSpectrum(*model);
}

std::vector<BodyInside> bodiesInside(const std::vector<Defect>& defects, const Design& design,
                                     const Placement& placement) {
    const PlacedDesign placed(design, placement);
    std::vector<BodyInside> bodies;
    for (const Defect& defect : defects)
        if (placed.glimpse(defect))
            bodies.emplace_back(inCutFrame(defect, placement), usualOpacity(defect.kind));
    return bodies;
}

LightAppraisal lightOf(const Stone& stone, const Design& design, const Placement& placement,
                       const std::optional<AbsorptionSpectrum>& spectrum, int threads,
                       Progress* progress) {
    const LightBody body(design, placement.size_mm, stone.material);
    FacePictureOptions options;
    options.pixels = kLightFigure_px;
    options.threads = threads;
    options.spectrum = spectrum;
    options.bodies = bodiesInside(stone.defects, design, placement);
    LightAppraisal found;
    LightFigure& light = found.light;
    PartProgress even(progress, 0.0, 0.45);
    light.picture = facePicture(body, options, &even);
    options.lighting = Lighting::DarkViewer;
    PartProgress dark(progress, 0.45, 0.9);
    light.contrast = facePicture(body, options, &dark).figures.contrast;
    LightReturnOptions returned;
    returned.threads = threads;
    PartProgress weighing(progress, 0.9, 1.0);
    light.weightedReturn = lightReturn(body, returned, &weighing).weighted;
    const FaceFigures& face = light.picture.figures;
    light.lightReturn = face.lightReturn;
    light.leaked = face.leaked;
    light.meanPath_mm = face.meanPath_mm;
    light.bodies = static_cast<int>(options.bodies.size());
    light.reasons = {
        {"Weighted return: diffuse light from above, counted from 1 straight up to 0 level, "
         "glare and absorption left out",
         100.0 * light.weightedReturn, "%", 1},
        {"Face-up under even light, of a perfect white", 100.0 * light.lightReturn, "%", 1},
        {"Lines of sight that end behind the stone", 100.0 * light.leaked, "%", 1},
        {"Contrast with the viewer's head dark", light.contrast, "", 2},
        {"Mean path in the stone", light.meanPath_mm, "mm", 2},
        {"Defects that light meets", static_cast<double>(light.bodies), "", 0}};
    if (spectrum) {
        FaceColourFigure colour;
        colour.lab = face.lab;
        colour.srgb = toSrgb(face.colour);
        colour.spectrum = spectrum->title;
        colour.reasons = {{"Body colour followed: " + spectrum->title + ", a model, strength",
                           spectrum->strength, "", 2},
                          {"Lightness L*", face.lab.lightness, "", 1},
                          {"Chroma C*", face.lab.chroma(), "", 1},
                          {"Hue angle", face.lab.hue_deg(), "deg", 0}};
        found.colour = std::move(colour);
    }
    return found;
}

}  // namespace macle
