// macle weigh FILE: is the scan sound, how large is it, what does it weigh.
#include "app/terminal/inputs.h"
#include "app/terminal/output.h"
#include "app/terminal/verbs.h"
#include "core/base/numbers.h"
#include "core/stone/intake.h"

namespace macle::app {

namespace {

void weigh(const Arguments& arguments, Console& console) {
    const std::string& file = arguments.soleInput("a mesh or stone file");
    constexpr double kHeaviest_ct = 1e6;
    const auto scaleGiven = arguments.number("scale", 1e-6, kHeaviest_ct);
    const Stone stone = openStoneArgument(arguments, file, console).stone;
    const IntakeReport& report = stone.rough.report;
    const double weight_ct = scanWeight_ct(stone);
    const Eigen::Vector3d extent = bounds(stone.rough.mesh).extent();
    const auto scale_ct = scaleGiven ? scaleGiven : stone.scale_ct;
    std::optional<WeighIn> compared;
    if (scale_ct)
        compared = weighIn(stone.rough.volume_mm3, stone.material.density_g_cm3, *scale_ct);

    if (arguments.json()) {
        Json object;
        object["triangles"] = stone.rough.mesh.triangles.size();
        object["closed"] = report.closed;
        object["volume_mm3"] = finite(stone.rough.volume_mm3);
        object["weight_ct"] = finite(weight_ct);
        object["trusted_ct"] = finite(caratsOf(stone, stone.rough.volume_mm3));
        addWeightBasis(object, stone);
        object["extent_mm"] = array(extent);
        object["report"] = Json::array();
        for (const Finding& finding : report.findings)
            object["report"].push_back(
                {{"what", finding.what}, {"count", finding.count}, {"action", finding.action}});
        if (compared)
            object["scale"] = {{"scale_ct", finite(compared->scale_ct)},
                               {"difference_percent", finite(compared->difference_percent)},
                               {"flagged", compared->flagged}};
        printJson(object);
        return;
    }
    std::vector<std::pair<std::string, std::string>> rows = {
        {"Stone", stone.name},
        {"Triangles", std::to_string(stone.rough.mesh.triangles.size())},
        {"Closed", report.closed ? "yes" : "no"},
        {"Extent", formatFixed(extent.x(), 3) + " x " + formatFixed(extent.y(), 3) + " x " +
                       lengthText(extent.z())},
        {"Volume", formatFixed(stone.rough.volume_mm3, 3) + " mm3"},
        {"Weight", caratText(weight_ct) + " (" + stone.material.name + ", " +
                       formatExact(stone.material.density_g_cm3) + " g/cm3)"}};
    if (compared) {
        rows.emplace_back("Scale", caratText(compared->scale_ct));
        rows.emplace_back("Scan against scale",
                          (compared->difference_percent > 0 ? "+" : "") +
                              formatFixed(compared->difference_percent, 2) + " %" +
                              (compared->flagged ? "  CHECK: scan and scale do not agree" : ""));
    }
    if (const std::string basis = weightBasis(stone); !basis.empty())
        rows.emplace_back("Basis", basis);
    std::string text = fields(rows);
    if (!report.findings.empty()) {
        std::vector<std::vector<std::string>> lines;
        for (const Finding& finding : report.findings)
            lines.push_back({std::to_string(finding.count), finding.what, finding.action});
        text += "\n" + table({"Count", "Found", "Action"}, lines);
    }
    print(text);
}

}  // namespace

Verb weighVerb() {
    return {"weigh",
            "FILE",
            "Check a scan and give its volume and weight.",
            "macle weigh stone.stl --scale 19.02",
            {{"scale", "CT", "weight on the scale, to compare with the scan"}, materialOption()},
            weigh};
}

}  // namespace macle::app
