#include "core/light/spectrum.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <sstream>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/resources.h"
#include "core/base/text_file.h"

namespace macle {
namespace {

constexpr std::uintmax_t kMostBytes = 4 << 20;

[[noreturn]] void refuse(const std::string& what, const std::string& remedy) {
    throw Error(ErrorCode::BadInput, what, remedy);
}

AbsorptionSpectrum fromJson(const std::string& text) {
    const auto json = nlohmann::json::parse(text);
    AbsorptionSpectrum spectrum;
    spectrum.name = json.at("name").get<std::string>();
    spectrum.title = json.value("title", spectrum.name);
    spectrum.source = json.at("source").get<std::string>();
    for (const auto& p : json.value("points", nlohmann::json::array()))
        spectrum.points.push_back({p.at("wavelength_nm").get<double>(), p.at("per_cm")});
    for (const auto& b : json.value("bands", nlohmann::json::array()))
        spectrum.bands.push_back({b.at("centre_nm"), b.at("width_nm"), b.at("peak_per_cm")});
    for (const auto& t : json.value("tails", nlohmann::json::array()))
        spectrum.tails.push_back({t.at("at_nm"), t.at("per_cm"), t.at("power")});
    return spectrum;
}

std::string trimmed(const std::string& text) {
    const auto from = text.find_first_not_of(" \t\r");
    if (from == std::string::npos) return "";
    return text.substr(from, text.find_last_not_of(" \t\r") - from + 1);
}

AbsorptionSpectrum fromCsv(const std::string& text, const std::filesystem::path& file) {
    AbsorptionSpectrum spectrum;
    spectrum.name = spectrum.title = file.stem().string();
    spectrum.source = file.string();
    std::istringstream lines(text);
    std::string line;
    for (int number = 1; std::getline(lines, line); ++number) {
        line = trimmed(line);
        if (line.empty() || line.front() == '#') continue;
        const auto comma = line.find(',');
        const auto nm = parseNumber(trimmed(line.substr(0, comma)));
        const auto per_cm = comma == std::string::npos
                                ? std::nullopt
                                : parseNumber(trimmed(line.substr(comma + 1)));
        if (nm && per_cm) {
            spectrum.points.push_back({*nm, *per_cm});
        } else if (number > 1 || nm) {  // the first line may be a heading
            refuse(file.string() + ", line " + std::to_string(number) + ": \"" +
                       line.substr(0, 40) + "\" is not a wavelength and an absorption.",
                   "Write lines like 415.2,0.35 (nm, per cm).");
        }
    }
    return spectrum;
}

bool sound(double value) {
    return std::isfinite(value) && value >= 0.0;
}

}  // namespace

double AbsorptionSpectrum::perCm(double wavelength_nm) const {
    double sum = 0.0;
    if (!points.empty()) {
        const auto above = std::upper_bound(
            points.begin(), points.end(), wavelength_nm,
            [](double nm, const Point& point) { return nm < point.wavelength_nm; });
        if (above == points.begin()) {
            sum = points.front().per_cm;
        } else if (above == points.end()) {
            sum = points.back().per_cm;
        } else {
            const Point &low = *(above - 1), &high = *above;
            const double part =
                (wavelength_nm - low.wavelength_nm) / (high.wavelength_nm - low.wavelength_nm);
            sum = low.per_cm * (1.0 - part) + high.per_cm * part;
        }
    }
    for (const Band& band : bands) {
        const double off = (wavelength_nm - band.centre_nm) / band.width_nm;
        sum += band.peak_per_cm * std::exp2(-4.0 * off * off);
    }
    for (const Tail& tail : tails)
        sum += tail.per_cm * std::pow(tail.at_nm / wavelength_nm, tail.power);
    return strength * sum;
}

void check(const AbsorptionSpectrum& s) {
    const std::string of = "The spectrum \"" + s.name + "\" ";
    if (s.points.empty() && s.bands.empty() && s.tails.empty())
        refuse(of + "is empty.", "Give points, bands or tails.");
    double before = 0.0;
    for (const auto& p : s.points) {
        if (!std::isfinite(p.wavelength_nm) || !(p.wavelength_nm > before))
            refuse(of + "has wavelengths that do not ascend at " + formatExact(p.wavelength_nm) +
                       " nm.",
                   "Sort its points, each wavelength once.");
        if (!sound(p.per_cm))
            refuse(of + "has an absorption below zero at " + formatExact(p.wavelength_nm) + " nm.",
                   "Give 0 or more per cm.");
        before = p.wavelength_nm;
    }
    for (const auto& b : s.bands)
        if (!(b.width_nm > 0.0) || !(b.centre_nm > 0.0) || !sound(b.width_nm) ||
            !sound(b.centre_nm) || !sound(b.peak_per_cm))
            refuse(of + "has a band without a width above zero or a peak of 0 or more.",
                   "Correct its bands.");
    for (const auto& t : s.tails)
        if (!(t.at_nm > 0.0) || !sound(t.at_nm) || !sound(t.per_cm) || !std::isfinite(t.power) ||
            std::abs(t.power) > 20.0)
            refuse(of +
                       "has a tail without a wavelength, an absorption of 0 or more and a power of "
                       "at most 20.",
                   "Correct its tails.");
    if (!sound(s.strength))
        refuse(of + "has a strength below zero.", "Give a strength of 0 or more.");
}

std::vector<std::string> spectrumNames() {
    std::vector<std::string> names;
    std::error_code ignored;
    for (const auto& entry : std::filesystem::directory_iterator(resourcePath("spectra"), ignored))
        if (entry.path().extension() == ".json") names.push_back(entry.path().stem().string());
    std::sort(names.begin(), names.end());
    return names;
}

AbsorptionSpectrum loadSpectrum(const std::string& nameOrFile) {
    std::filesystem::path file = nameOrFile;
    const auto names = spectrumNames();
    if (std::find(names.begin(), names.end(), nameOrFile) != names.end()) {
        file = resourcePath("spectra/" + nameOrFile + ".json");
    } else if (file.extension() != ".json" && file.extension() != ".csv") {
        std::string all;
        for (const std::string& name : names)
            all += (all.empty() ? "" : ", ") + name;
        throw Error(ErrorCode::NotFound, "There is no spectrum called \"" + nameOrFile + "\".",
                    "Give one of " + all + ", or a .json or .csv file.");
    }
    const std::string text = readTextFile(file, "spectrum file", kMostBytes);
    AbsorptionSpectrum spectrum;
    if (file.extension() == ".csv") {
        spectrum = fromCsv(text, file);
    } else {
        try {
            spectrum = fromJson(text);
        } catch (const nlohmann::json::exception& fault) {
            refuse(file.string() + ": " + fault.what(),
                   "See resources/schemas/spectrum.schema.json.");
        }
    }
    check(spectrum);
    return spectrum;
}

}  // namespace macle
