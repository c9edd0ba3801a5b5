#include "core/base/material.h"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "core/base/error.h"
#include "core/base/resources.h"

namespace macle {
namespace {

[[noreturn]] void unknown(const std::string& name) {
    std::vector<std::string> names;
    std::error_code ignored;
    for (const auto& item : std::filesystem::directory_iterator(resourcePath("materials"), ignored))
        if (item.path().extension() == ".json") names.push_back(item.path().stem().string());
    std::sort(names.begin(), names.end());
    std::string list;
    for (const std::string& one : names)
        list += (list.empty() ? "" : ", ") + one;
    throw Error(ErrorCode::NotFound, "There is no material called '" + name + "'.",
                list.empty() ? "Use the name of a file in resources/materials."
                             : "The materials are: " + list + ".");
}

}  // namespace

Material loadMaterial(const std::string& name) {
    const bool plain =
        !name.empty() && name.find_first_not_of("abcdefghijklmnopqrstuvwxyz_") == std::string::npos;
    if (!plain) unknown(name);
    const auto path = resourcePath("materials") / (name + ".json");
    if (!std::filesystem::is_regular_file(path)) unknown(name);
    try {
        std::ifstream file(path);
        const auto json = nlohmann::json::parse(file);
        Material material;
        material.name = json.at("name").get<std::string>();
        material.density_g_cm3 = json.at("density_g_cm3").get<double>();
        material.source = json.at("source").get<std::string>();
        for (const auto& term : json.at("sellmeier"))
            material.sellmeier.push_back(
                {term.at("b").get<double>(), term.at("c_um2").get<double>()});
        if (!(material.density_g_cm3 > 0.0 && material.density_g_cm3 < 30.0))
            throw Error(ErrorCode::BadInput,
                        "The density in " + path.string() + " is not between 0 and 30 g/cm3.",
                        "Correct the file.");
        return material;
    } catch (const nlohmann::json::exception& fault) {
        throw Error(ErrorCode::BadInput, path.string() + ": " + fault.what(), "Correct the file.");
    }
}

double refractiveIndex(const Material& material, double wavelength_nm) {
    if (material.sellmeier.empty())
        throw Error(ErrorCode::BadInput, "No refractive index is known for " + material.name + ".",
                    "Add Sellmeier terms to its file.");
    const double l2 = wavelength_nm * wavelength_nm * 1e-6;
    double n2 = 1.0;
    for (const SellmeierTerm& term : material.sellmeier)
        n2 += term.b * l2 / (l2 - term.c_um2);
    return std::sqrt(n2);
}

}  // namespace macle
