// Colour as the CIE 1931 standard observer (2 degrees) sees it by daylight D65.
//
// Colour matching functions: the fit of C. Wyman, P.-P. Sloan, P. Shirley, "Simple analytic
// approximations to the CIE XYZ color matching functions", J. Computer Graphics Techniques 2(2)
// (2013) 1-11. D65: table of CIE 15:2004. CIELAB: ISO/CIE 11664-4. sRGB: IEC 61966-2-1. Thread
// contract: pure functions.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

namespace macle {

struct Xyz {
    double x = 0.0, y = 0.0, z = 0.0;
};

Xyz matchingFunctions(double wavelength_nm);
double daylight(double wavelength_nm);  // D65 relative to 100 at 560 nm; 0 outside 380..780
Xyz daylightWhite();                    // of a perfect white, y = 1

struct Lab {
    double lightness = 0.0;  // L*, 0 black .. 100 white
    double a = 0.0;          // green to red
    double b = 0.0;          // blue to yellow
    double chroma() const;   // C*
    double hue_deg() const;  // 0 .. 360; 0 when the chroma is 0
};

Lab toLab(const Xyz& colour);  // against daylightWhite()

// 8 bits each; what lies outside the range is clipped. `exposure` multiplies first.
std::array<std::uint8_t, 3> toSrgb(const Xyz& colour, double exposure = 1.0);

// Weights of a few wavelengths, so that the sum of weight times reflectance is the colour by
// daylight of a reflectance that runs straight between them and level beyond their ends. White, all
// ones, gives daylightWhite() exactly. Ascending wavelengths; throws Error{BadUsage} otherwise.
std::vector<Xyz> daylightWeights(const std::vector<double>& wavelengths_nm);

}  // namespace macle
