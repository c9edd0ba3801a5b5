// The relations below are identities of the construction; t is the table corner to corner, a the
// apothem of its octagon, s the star length, l the lower half length, all for D = 1, R = 1/2, and
// c1 = cos 11.25, c2 = cos 22.5 degrees:
//   crown height    h = (R - t/2) tan(crown),   pavilion depth  p = (R - culet/2) tan(pavilion)
//   star tip        at radius rs = a + s (R - a), on the edge between two crown mains
//   star            tan = tan(crown)    (rs c2 - t/2) / (rs - a)
//   upper half      tan = tan(crown)    (R - rs c2) / (c1 (R - rs))
//   lower half      tan = tan(pavilion) (R - rl c2) / (c1 (R - rl)),   rl = R (1 - l)
// A half passes through its two girdle points (main and half joint) and the tip.
#include "core/cut/round_brilliant.h"

#include <array>
#include <cmath>
#include <utility>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/units.h"
#include "core/cut/library.h"

namespace macle {

namespace {

constexpr double kRadius = 0.5;
constexpr int kTurn = 128;  // azimuth steps: half the angle of one girdle flat
constexpr int kGirdleFlats = 64;

// Cosine and sine of azimuth step k, taken from one octant so that mirror images are bitwise equal.
Eigen::Vector2d direction(int step) {
    static const auto octant = [] {
        std::array<Eigen::Vector2d, kTurn / 8 + 1> table;
        for (std::size_t k = 0; k < table.size(); ++k) {
            const double angle = radians(360.0 * static_cast<double>(k) / kTurn);
            table[k] = {std::cos(angle), std::sin(angle)};
        }
        table.back() = {std::sqrt(0.5), std::sqrt(0.5)};
        return table;
    }();
    constexpr int quarter = kTurn / 4;
    const int quadrant = (step / quarter) % 4;
    const int within = step % quarter;
    Eigen::Vector2d d;
    if (within <= quarter / 2) {
        d = octant[static_cast<std::size_t>(within)];
    } else {
        const Eigen::Vector2d& mirror = octant[static_cast<std::size_t>(quarter - within)];
        d = {mirror.y(), mirror.x()};
    }
    switch (quadrant) {
        case 1:
            return {-d.y(), d.x()};
        case 2:
            return {-d.x(), -d.y()};
        case 3:
            return {d.y(), -d.x()};
        default:
            return d;
    }
}

// A plane seen in the vertical section through its own azimuth: outward normal (across, up).
struct Slope {
    double across;
    double up;
    double distance;
};

// Through the point (radius, z) of its section, falling outward with this tangent (z up: up = +1).
Slope slopeThrough(double radius, double z, double tangent, double up) {
    const double length = std::hypot(tangent, 1.0);
    const double across = tangent / length;
    const double vertical = up / length;
    return {across, vertical, radius * across + z * vertical};
}

void addRing(std::vector<Facet>& facets, const std::string& name, FacetKind kind, int count,
             int firstStep, const Slope& slope) {
    for (int k = 0; k < count; ++k) {
        const Eigen::Vector2d d = direction(firstStep + k * (kTurn / count));
        facets.push_back({name + " " + std::to_string(k + 1), kind,
                          Eigen::Vector3d(slope.across * d.x(), slope.across * d.y(), slope.up),
                          slope.distance});
    }
}

[[noreturn]] void cannotMeet(const std::string& what, const std::string& remedy) {
    throw Error(ErrorCode::BadUsage, what, remedy);
}

std::map<std::string, double> asMap(const RoundProportions& p) {
    return {{"table_percent", p.table_percent}, {"crown_deg", p.crown_deg},
            {"pavilion_deg", p.pavilion_deg},   {"girdle_percent", p.girdle_percent},
            {"star_percent", p.star_percent},   {"lower_half_percent", p.lower_half_percent},
            {"culet_percent", p.culet_percent}};
}

}  // namespace

Design roundBrilliant(const RoundProportions& proportions) {
    return makeDesign("round", asMap(proportions));
}

std::vector<Facet> roundBrilliantFacets(const RoundProportions& proportions) {
    const double table = proportions.table_percent / 100.0;
    const double halfGirdle = proportions.girdle_percent / 200.0;
    const double culet = proportions.culet_percent / 100.0;
    const double crown = std::tan(radians(proportions.crown_deg));
    const double pavilion = std::tan(radians(proportions.pavilion_deg));
    const double c1 = direction(kTurn / 32).x();
    const double c2 = direction(kTurn / 16).x();

    const double corner = table / 2.0;
    const double apothem = corner * c2;
    const double starTip = apothem + proportions.star_percent / 100.0 * (kRadius - apothem);
    const double starDrop = starTip * c2 - corner;
    if (!(starDrop > 0.0)) {
        const double least = 100.0 * (corner / c2 - apothem) / (kRadius - apothem);
        cannotMeet(
            "A star length of " + formatExact(proportions.star_percent) +
                " % cannot meet a table of " + formatExact(proportions.table_percent) +
                " %: the star tips would not lie below the table.",
            "Make the star length more than " + formatFixed(least, 2) + " % or the table smaller.");
    }
    const double lowerTip = kRadius * (1.0 - proportions.lower_half_percent / 100.0);
    if (!(lowerTip * c2 > culet / 2.0)) {
        const double most = 100.0 * (1.0 - culet / c2);
        cannotMeet("A lower half length of " + formatExact(proportions.lower_half_percent) +
                       " % cannot meet a culet of " + formatExact(proportions.culet_percent) +
                       " %: the lower halves would run into the culet.",
                   "Make the lower half length less than " + formatFixed(most, 2) +
                       " % or the culet smaller.");
    }

    const double crownHeight = (kRadius - corner) * crown;
    const double pavilionDepth = (kRadius - culet / 2.0) * pavilion;
    const double star = crown * starDrop / (starTip - apothem);
    const double upper = crown * (kRadius - starTip * c2) / (c1 * (kRadius - starTip));
    const double lower = pavilion * (kRadius - lowerTip * c2) / (c1 * (kRadius - lowerTip));
    const double tableHeight = halfGirdle + crownHeight;

    std::vector<Facet> facets;
    facets.push_back({"table", FacetKind::Table, Eigen::Vector3d::UnitZ(), tableHeight});
    addRing(facets, "star", FacetKind::Star, 8, kTurn / 16,
            slopeThrough(apothem, tableHeight, star, 1.0));
    addRing(facets, "crown main", FacetKind::CrownMain, 8, 0,
            slopeThrough(kRadius, halfGirdle, crown, 1.0));
    addRing(facets, "upper half", FacetKind::UpperHalf, 16, kTurn / 32,
            slopeThrough(kRadius * c1, halfGirdle, upper, 1.0));
    if (proportions.girdle_percent > 0.0)
        addRing(facets, "girdle", FacetKind::Girdle, kGirdleFlats, 1,
                {1.0, 0.0, kRadius * direction(1).x()});
    addRing(facets, "lower half", FacetKind::LowerHalf, 16, kTurn / 32,
            slopeThrough(kRadius * c1, -halfGirdle, lower, -1.0));
    addRing(facets, "pavilion main", FacetKind::PavilionMain, 8, 0,
            slopeThrough(kRadius, -halfGirdle, pavilion, -1.0));
    if (culet > 0.0)
        facets.push_back(
            {"culet", FacetKind::Culet, -Eigen::Vector3d::UnitZ(), halfGirdle + pavilionDepth});
    return facets;
}

}  // namespace macle
