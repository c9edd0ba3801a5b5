// The face-up picture: what a viewer far away sees of a stone under a stated light, by following
// each line of sight back through the stone to where its light comes from. Glare is left out.
// Figures are planning estimates under that light, not grades.
#pragma once

#include <functional>
#include <optional>
#include <vector>

#include "core/base/progress.h"
#include "core/light/body_inside.h"
#include "core/light/light_body.h"
#include "core/light/lighting.h"
#include "core/light/observer.h"
#include "core/light/png_file.h"
#include "core/light/spectrum.h"

namespace macle {

struct FacePictureOptions {
    int pixels = 512;  // along each side of the picture
    // The stone tilted out of the face-up view: by how much, and towards which azimuth of the cut
    // frame the table then leans, away from the viewer. 0..80 degrees.
    double tilt_deg = 0.0;
    double tiltAzimuth_deg = 0.0;
    Lighting lighting = Lighting::Even;
    // Each bent by its own index; colours run straight between them. Ascending.
    std::vector<double> wavelengths_nm{400, 437.5, 475, 512.5, 550, 587.5, 625, 662.5, 700};
    std::optional<AbsorptionSpectrum> spectrum;  // none: colourless
    std::vector<BodyInside> bodies;
    double leastPower = 5e-3;  // see TraceOptions; 3e-4 of the light is then given up in a round
    int threads = 0;
};

struct FaceFigures {
    double lightReturn = 0.0;   // mean luminance of the face; 1 is a perfect white
    double leaked = 0.0;        // share of the lines of sight that ends behind the stone
    double remainder = 0.0;     // share given up
    double contrast = 0.0;      // standard deviation over mean of the luminance (E. Peli, J. Opt.
                                // Soc. Am. A 7 (1990) 2032: root-mean-square contrast)
    double meanPath_mm = 0.0;   // inside the stone, of the light that returns
    double faceArea_mm2 = 0.0;  // outline seen, by counting pixels
    Xyz colour;                 // mean of the face by daylight
    Lab lab;
};

struct FacePicture {
    int pixels = 0;
    double pixel_mm = 0.0;
    // Row by row from the top. With no tilt x runs to the right and y up; a tilted stone keeps the
    // axis of its tilt in place.
    std::vector<Xyz> colour;    // 0 outside
    std::vector<float> leaked;  // 0..1
    std::vector<bool> face;     // whether the pixel shows the stone
    FaceFigures figures;
};

// The same at any thread count. Throws Error{BadUsage} for options out of range (pixels 8..4096, no
// wavelength, tilt), Error{Cancelled}.
FacePicture facePicture(const LightBody& body, const FacePictureOptions& options = {},
                        Progress* progress = nullptr);

// Brightness 1 stands for a perfect white at exposure 1. `ground` is the grey around the stone.
Raster pictureRaster(const FacePicture& picture, double exposure = 1.0, std::uint8_t ground = 46);
// Where the lines of sight end behind the stone: from black (none) to the bright end of the same
// perceptual ramp that shows defects (magma).
Raster leakRaster(const FacePicture& picture, std::uint8_t ground = 46);

struct TiltFigures {
    double tilt_deg = 0.0;
    double azimuth_deg = 0.0;
    double lightReturn = 0.0, leaked = 0.0, contrast = 0.0;
};

// The figures from 0 to `most_deg` in equal steps, towards azimuth 0 and towards 90.
std::vector<TiltFigures> tiltSeries(const LightBody& body, const FacePictureOptions& options,
                                    double most_deg = 30.0, int steps = 6,
                                    Progress* progress = nullptr);

}  // namespace macle
