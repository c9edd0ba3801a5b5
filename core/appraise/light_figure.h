// Light and colour of a layout as the appraisal tells them: how bright, how much leaks, how even,
// and the face-up colour that the recorded body colour takes in this cut.
#pragma once

#include <optional>
#include <string>

#include "core/appraise/reason.h"
#include "core/base/progress.h"
#include "core/cut/design.h"
#include "core/cut/placement.h"
#include "core/light/face_picture.h"
#include "core/light/spectrum.h"
#include "core/stone/colour.h"
#include "core/stone/stone.h"

namespace macle {

struct LightFigure {
    double weightedReturn = 0.0;  // see light_return.h; 0..1
    double lightReturn = 0.0;     // mean luminance of the face under even light, 1 a perfect white
    double leaked = 0.0;          // share of the lines of sight that ends behind the stone
    double contrast = 0.0;        // with the viewer's head dark
    double meanPath_mm = 0.0;
    int bodies = 0;       // defects inside that light meets
    FacePicture picture;  // as drawn for the figures, with the body colour where one is known
    Reasons reasons;
};

struct FaceColourFigure {
    Lab lab;
    std::array<std::uint8_t, 3> srgb{};
    std::string spectrum;  // title of the body colour that was followed
    Reasons reasons;
};

struct LightAppraisal {
    LightFigure light;
    std::optional<FaceColourFigure> colour;
};

// The model of resources/spectra that suits a recorded hue ("pinkish brown": its last word that
// names one); nothing when none does.
std::optional<AbsorptionSpectrum> spectrumOfHue(const std::string& hue);

inline constexpr int kLightFigure_px = 224;  // its figures are settled to about 0.002

// The defects that lie inside the placed design, wholly or in part, as light meets them.
std::vector<BodyInside> bodiesInside(const std::vector<Defect>& defects, const Design& design,
                                     const Placement& placement);

// Defects of the stone that lie inside block or scatter as usual for their kind. Same at any thread
// count. Throws what LightBody and facePicture throw (a material without refractive index:
// Error{BadInput}), Error{Cancelled}.
LightAppraisal lightOf(const Stone& stone, const Design& design, const Placement& placement,
                       const std::optional<AbsorptionSpectrum>& spectrum, int threads,
                       Progress* progress = nullptr);

}  // namespace macle
