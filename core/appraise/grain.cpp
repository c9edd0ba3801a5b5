#include "core/appraise/grain.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/tolerance.h"
#include "core/base/units.h"
#include "core/solid/prepared_design.h"

namespace macle {

namespace {

using Eigen::Vector3d;

// An axis is followed on a facet when it lies nearer to it than half-way between where it is known
// to help (35.26 degrees, octahedron face) and where it does not (45 degrees, dodecahedron face);
// in both senses below half-way to the octahedron face. The half-way points are our own choice.
constexpr double kFollowed_deg = 40.1;
constexpr double kBothWays_deg = 17.6;
constexpr double kWidest_deg = 54.74;  // from the cube axis to an octahedron normal
constexpr int kMostTurns = 16;

const std::array<const char*, 3> kAxisNames = {"[100]", "[010]", "[001]"};

std::string joined(const FacetGrain& grain) {
    std::string text =
        formatFixed(grain.toOctahedron_deg, 2) + " deg off the nearest octahedral plane";
    if (grain.warned) return text + ": takes hardly any polish there";
    if (grain.easy.empty()) return text + "; no easy direction known";
    text += "; easy along ";
    for (std::size_t i = 0; i < grain.easy.size(); ++i)
        text += (i == 0 ? "" : ", ") + grain.easy[i].axis +
                (grain.easy[i].bothWays ? " both ways" : " away from its corner");
    return text;
}

bool sameFacets(const ConvexPart& part, const ConvexPart& other, const Eigen::Matrix3d& turn) {
    return std::all_of(part.facets.begin(), part.facets.end(), [&](const Facet& facet) {
        const Vector3d normal = turn * facet.normal;
        return std::any_of(other.facets.begin(), other.facets.end(), [&](const Facet& f) {
            return std::abs(f.distance - facet.distance) <= tolerance::kMergeVertex_mm &&
                   (f.normal - normal).cwiseAbs().maxCoeff() <= tolerance::kMergeVertex_mm;
        });
    });
}

}  // namespace

FacetGrain facetGrain(const CrystalAxes& axes, const Vector3d& normal, const GrainRules& rules) {
    if (!(rules.warn_deg >= 0.0 && rules.warn_deg <= kWidest_deg))
        throw Error(
            ErrorCode::BadUsage,
            "The limit of the grain warning is " + formatExact(rules.warn_deg) + " degrees.",
            "Give a limit from 0 to " + formatExact(kWidest_deg) + " degrees.");
    FacetGrain grain;
    grain.toOctahedron_deg = angleToForm_deg(axes, FaceForm::Octahedron, normal);
    grain.toCube_deg = angleToForm_deg(axes, FaceForm::Cube, normal);
    grain.toDodecahedron_deg = angleToForm_deg(axes, FaceForm::Dodecahedron, normal);
    grain.warned = grain.toOctahedron_deg < rules.warn_deg;
    const Vector3d unit = normal.normalized();
    for (int k = 0; k < 3 && !grain.warned; ++k) {
        const Vector3d axis = axes.rotation * Vector3d::Unit(k);
        const double rise = axis.dot(unit);
        EasyDirection easy;
        easy.axis = kAxisNames[static_cast<std::size_t>(k)];
        easy.axisOff_deg = degrees(std::asin(std::min(1.0, std::abs(rise))));
        if (easy.axisOff_deg > kFollowed_deg) continue;
        easy.bothWays = easy.axisOff_deg < kBothWays_deg;
        // Away from the corner where this axis comes out of the octahedron face.
        easy.direction = ((rise > 0.0 ? -1.0 : 1.0) * (axis - rise * unit)).normalized();
        grain.easy.push_back(easy);
    }
    std::stable_sort(grain.easy.begin(), grain.easy.end(),
                     [](const EasyDirection& a, const EasyDirection& b) {
                         return a.axisOff_deg < b.axisOff_deg;
                     });
    grain.text = joined(grain);
    return grain;
}

GrainReading readGrain(const CrystalAxes& axes, const Design& design, const Placement& placement,
                       const GrainRules& rules) {
    GrainReading reading;
    reading.table = tableInCrystal(axes, placement.rotation * Vector3d::UnitZ());
    reading.worst_deg = kWidest_deg;
    const auto prepared = prepareDesign(design);
    for (std::size_t p = 0; p < prepared->singles; ++p)
        for (const Facet& facet : prepared->parts[p].facets) {
            FacetGrain grain = facetGrain(axes, placement.rotation * facet.normal, rules);
            grain.facet = facet.name;
            grain.kind = facet.kind;
            grain.part = static_cast<int>(p);
            grain.polished = facet.kind != FacetKind::Girdle;
            grain.warned = grain.warned && grain.polished;
            if (!grain.polished) grain.text += " (girdle: rounded, not polished flat)";
            if (grain.polished && grain.toOctahedron_deg < reading.worst_deg) {
                reading.worst_deg = grain.toOctahedron_deg;
                reading.worstFacet = grain.facet;
            }
            if (grain.warned) ++reading.warned;
            reading.facets.push_back(std::move(grain));
        }
    reading.reasons = {
        {std::string("Table nearest to ") + pointName(reading.table.nearest) + ", off by",
         reading.table.off_deg, "deg", 2},
        {"Least angle to an octahedral plane, at " + reading.worstFacet, reading.worst_deg, "deg",
         2},
        {"Warned below", rules.warn_deg, "deg", 1},
        {"Facets warned of", static_cast<double>(reading.warned), "", 0}};
    return reading;
}

int turnsOf(const Design& design) {
    for (int turns = kMostTurns; turns > 1; --turns) {
        const Eigen::Matrix3d turn =
            Eigen::AngleAxisd(2.0 * std::numbers::pi / turns, Vector3d::UnitZ()).matrix();
        const bool same =
            std::all_of(design.parts.begin(), design.parts.end(), [&](const ConvexPart& part) {
                return std::any_of(
                    design.parts.begin(), design.parts.end(),
                    [&](const ConvexPart& other) { return sameFacets(part, other, turn); });
            });
        if (same) return turns;
    }
    return 1;
}

}  // namespace macle
