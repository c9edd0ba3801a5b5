// AbsorptionSpectrum: how strongly a body colour absorbs at each wavelength, as the coefficient mu
// of exp(-mu * path), natural logarithm, per cm. Spectra are files: JSON (schema
// resources/schemas/spectrum.schema.json) or lines "wavelength_nm,per_cm" (CSV). Those in
// resources/spectra are models of the colours named, not measured stones.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace macle {

class AbsorptionSpectrum {
  public:
    struct Point {
        double wavelength_nm, per_cm;
    };
    struct Band {                                 // Gaussian
        double centre_nm, width_nm, peak_per_cm;  // full width at half height
    };
    struct Tail {  // per_cm * (at_nm / wavelength)^power
        double at_nm, per_cm, power;
    };

    std::string name;           // "pink"
    std::string title;          // "Pink"
    std::string source;         // where the figures come from
    std::vector<Point> points;  // ascending; straight between, level beyond the ends
    std::vector<Band> bands;
    std::vector<Tail> tails;
    double strength = 1.0;  // multiplies all

    double perCm(double wavelength_nm) const;
    double perMm(double wavelength_nm) const { return 0.1 * perCm(wavelength_nm); }
};

// Throws Error{BadInput} naming the fault: points that do not ascend, negative absorption, widths
// not above zero, nothing at all.
void check(const AbsorptionSpectrum& spectrum);

// The names in resources/spectra, in alphabetical order.
std::vector<std::string> spectrumNames();

// A name of those, or a file ending in .json or .csv. Throws Error{NotFound} with the names,
// Error{BadInput} naming file and fault, Error{Io}.
AbsorptionSpectrum loadSpectrum(const std::string& nameOrFile);

}  // namespace macle
