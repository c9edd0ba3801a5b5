#include "app/terminal/shape_measure.h"

#include <cmath>

#include "app/terminal/inputs.h"
#include "app/terminal/output.h"
#include "core/appraise/measured_proportions.h"
#include "core/appraise/reference_bands.h"
#include "core/base/numbers.h"
#include "core/cut/library.h"
#include "core/stone/intake.h"

namespace macle::app {

namespace {

constexpr const char* kNote =
    "Against published reference bands for a round brilliant. A planning estimate, not a grading "
    "report.";

using Rows = std::vector<std::pair<std::string, std::string>>;

void put(Json& object, Rows& rows, const std::string& key, const std::string& label,
         const std::optional<double>& value, const std::string& unit) {
    if (!value) return;
    object[key] = finite(*value);
    rows.emplace_back(label, formatFixed(*value, unit == "mm" ? 3 : 2) + " " + unit);
}

void put(Json& object, Rows& rows, const std::string& key, const std::string& label,
         const std::optional<Spread>& value, const std::string& unit) {
    if (!value) return;
    object[key] = {{"mean", finite(value->mean)},
                   {"least", finite(value->least)},
                   {"most", finite(value->most)}};
    rows.emplace_back(label, formatFixed(value->mean, 2) + " " + unit + " (" +
                                 formatFixed(value->least, 2) + " to " +
                                 formatFixed(value->most, 2) + ")");
}

Json measuredJson(const MeasuredProportions& m, Rows& rows) {
    Json object;
    put(object, rows, "width_mm", "Width", m.width_mm, "mm");
    put(object, rows, "length_mm", "Length", m.length_mm, "mm");
    put(object, rows, "depth_mm", "Depth", m.depth_mm, "mm");
    put(object, rows, "depth_percent", "Total depth", m.depth_percent, "%");
    object["length_to_width"] = finite(m.length_to_width);
    rows.emplace_back("Length to width", formatFixed(m.length_to_width, 3));
    put(object, rows, "table_percent", "Table", m.table_percent, "%");
    put(object, rows, "crown_deg", "Crown angle", m.crown_deg, "deg");
    put(object, rows, "crown_height_percent", "Crown height", m.crown_height_percent, "%");
    put(object, rows, "pavilion_deg", "Pavilion angle", m.pavilion_deg, "deg");
    put(object, rows, "pavilion_depth_percent", "Pavilion depth", m.pavilion_depth_percent, "%");
    put(object, rows, "girdle_percent", "Girdle thickness", m.girdle_percent, "%");
    put(object, rows, "culet_percent", "Culet width", m.culet_percent, "%");
    put(object, rows, "star_percent", "Star length", m.star_percent, "%");
    put(object, rows, "lower_half_percent", "Lower half length", m.lower_half_percent, "%");
    put(object, rows, "out_of_round_percent", "Out of round", m.out_of_round_percent, "%");
    put(object, rows, "table_offset_percent", "Table off the axis", m.table_offset_percent, "%");
    put(object, rows, "culet_offset_percent", "Culet off the axis", m.culet_offset_percent, "%");
    put(object, rows, "table_culet_percent", "Table from culet", m.table_culet_percent, "%");
    put(object, rows, "azimuth_deviation_deg", "Mains off their index", m.azimuth_deviation_deg,
        "deg");
    return object;
}

}  // namespace

void measureScan(const Arguments& arguments, Console& console) {
    constexpr double kUsualNoise_mm = 0.01;
    const double noise_mm = arguments.number("noise", 1e-6, 1.0).value_or(kUsualNoise_mm);
    const CutInfo* cut = nullptr;
    if (!arguments.inputs().empty()) {
        const std::string& name = arguments.soleInput("a cut");
        checkCutName(name);
        cut = &findCut(name);
    }
    const Rough scan = takeInFile(*arguments.text("measure"), &console.phase("Reading the scan"));
    const ScannedBody found = scannedBody(scan.mesh, noise_mm, &console.phase("Finding facets"));
    const MeasuredProportions measured = measureProportions(found.body);

    Json object;
    Rows rows;
    object["measured"] = measuredJson(measured, rows);
    object["facets"] = found.body.facets.size();
    object["flatness_mm"] = finite(found.flatness_mm);
    rows.emplace_back("Facets and girdle strips", std::to_string(found.body.facets.size()));
    rows.emplace_back("Skin off its facets", formatFixed(found.flatness_mm, 4) + " mm (rms)");
    std::string text = fields(rows);
    if (cut != nullptr) {
        object["cut"] = cut->name;
        object["proportions"] = Json::object();
        Rows own;
        const auto values = measuredFor(*cut, found.body);
        for (const ProportionInfo& p : cut->proportions)
            if (const auto value = values.find(p.key); value != values.end()) {
                object["proportions"][p.key] = finite(value->second);
                own.emplace_back(p.label, formatFixed(value->second, 2) + " " + p.unit);
            }
        text += "\nAs " + cut->title + "\n" + fields(own);
    }
    object["bands"] = Json::array();
    std::vector<std::vector<std::string>> bandRows;
    for (const BandReading& r : againstBands(measured)) {
        object["bands"].push_back({{"what", r.what},
                                   {"value", finite(r.value)},
                                   {"unit", r.unit},
                                   {"band", r.band},
                                   {"bands", r.bands},
                                   {"low", finite(r.low)},
                                   {"high", finite(r.high)}});
        bandRows.push_back(
            {r.what, formatFixed(r.value, 2), formatFixed(r.low, 2), formatFixed(r.high, 2), r.unit,
             r.band > r.bands ? "outside"
                              : std::to_string(r.band) + " of " + std::to_string(r.bands)});
    }
    if (!bandRows.empty()) {
        object["note"] = kNote;
        text += "\n" + table({"Figure", "Value", "Narrowest", "to", "Unit", "Band"}, bandRows) +
                kNote + "\n";
    }
    if (arguments.json())
        printJson(object);
    else
        print(text);
}

}  // namespace macle::app
