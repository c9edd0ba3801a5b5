// Materials: what a stone is made of. Read from resources/materials/*.json, each value with its
// source. Sellmeier form: n^2 = 1 + sum b_i L^2 / (L^2 - c_i), L in micrometres.
#pragma once

#include <string>
#include <vector>

namespace macle {

struct SellmeierTerm {
    double b;
    double c_um2;
};

struct Material {
    std::string name;  // "diamond"
    double density_g_cm3 = 0.0;
    std::vector<SellmeierTerm> sellmeier;
    std::string source;
};

// Throws Error{NotFound} with the names that exist, Error{BadInput} for a faulty file.
Material loadMaterial(const std::string& name);

// Refractive index at a vacuum wavelength. Throws Error{BadInput} when the material has no terms.
double refractiveIndex(const Material& material, double wavelength_nm);

}  // namespace macle
