#include "core/appraise/measured_proportions.h"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <functional>
#include <utility>

#include "core/appraise/body_reading.h"
#include "core/base/units.h"

namespace macle {

using Eigen::Vector2d;
using Eigen::Vector3d;

namespace {

using Value = std::optional<double>;
using Facets = std::vector<const SeenFacet*>;

Value meanOf(const std::vector<double>& values) {
    if (values.empty()) return std::nullopt;
    double sum = 0.0;
    for (const double value : values)
        sum += value;
    return sum / static_cast<double>(values.size());
}

std::optional<Spread> spreadOf(const std::vector<double>& values) {
    if (values.empty()) return std::nullopt;
    const auto [least, most] = std::minmax_element(values.begin(), values.end());
    return Spread{*meanOf(values), *least, *most};
}

std::vector<double> anglesOf(const Facets& facets) {
    std::vector<double> angles;
    for (const SeenFacet* facet : facets)
        angles.push_back(steepness_deg(*facet));
    return angles;
}

Value least(const std::vector<double>& values) {
    if (values.empty()) return std::nullopt;
    return *std::min_element(values.begin(), values.end());
}

// How far out the plane lies at this height, along its own azimuth.
double reachAt(const SeenFacet& facet, double height) {
    const double across = std::hypot(facet.normal.x(), facet.normal.y());
    return (facet.distance_mm - facet.normal.z() * height) / across;
}

// Angles in the middle of three rows (of two: their mean), and from row to row.
Value rowAngle(const std::vector<double>& rows) {
    if (rows.size() == 3) return rows[1];
    if (rows.size() == 2) return (rows[0] + rows[1]) / 2.0;
    return std::nullopt;
}
Value rowDifference(const std::vector<double>& rows) {
    if (rows.size() == 3) return (rows[0] - rows[2]) / 2.0;
    if (rows.size() == 2) return rows[0] - rows[1];
    return std::nullopt;
}

std::vector<double> starShares(const BodyReading& body) {
    std::vector<double> shares;
    for (const BodyReading::Corner* tip : body.inner(true, 5)) {
        const double way = tip->at.head<2>().norm();
        const Vector2d direction = tip->at.head<2>() / way;
        const double edge = body.tableEdge(direction);
        shares.push_back((way - edge) / (body.outline(direction) - edge));
    }
    return shares;
}

std::vector<double> lowerShares(const BodyReading& body) {
    std::vector<double> shares;
    for (const BodyReading::Corner* tip : body.inner(false, 4)) {
        const double way = tip->at.head<2>().norm();
        const double edge = body.outline(tip->at.head<2>() / way);
        shares.push_back((edge - way) / edge);
    }
    return shares;
}

Value tableScale(const BodyReading& body) {
    if (body.table() == nullptr) return std::nullopt;
    std::vector<double> shares;
    for (const SeenFacet* main : body.crownMains()) {
        const auto [foot, head] =
            std::minmax_element(main->corners_mm.begin(), main->corners_mm.end(),
                                [](const Vector3d& a, const Vector3d& b) { return a.z() < b.z(); });
        shares.push_back(head->head<2>().norm() / foot->head<2>().norm());
    }
    return meanOf(shares);
}

// By how much the pavilion mains, continued to the girdle, pass outside the crown mains there.
Value belly(const BodyReading& body) {
    const auto [low, high] = body.girdleAtWidest();
    std::vector<double> shares;
    for (const SeenFacet* below : body.pavilionMains())
        for (const SeenFacet* above : body.crownMains())
            if (std::abs(azimuth_deg(*below) - azimuth_deg(*above)) <= body.flat_deg())
                shares.push_back(reachAt(*below, low) / reachAt(*above, high) - 1.0);
    return meanOf(shares);
}

Vector2d meetInPlan(const SeenFacet& a, const SeenFacet& b) {
    Eigen::Matrix2d normals;
    normals.row(0) = a.normal.head<2>().transpose();
    normals.row(1) = b.normal.head<2>().transpose();
    return normals.inverse() * Vector2d(a.distance_mm, b.distance_mm);
}

struct Circle {
    Vector2d centre;
    double radius;
};

Circle circleThrough(const Vector2d& a, const Vector2d& b, const Vector2d& c) {
    Eigen::Matrix2d sides;
    sides.row(0) = (a - b).transpose();
    sides.row(1) = (c - b).transpose();
    const Vector2d half(0.5 * (a - b).squaredNorm(), 0.5 * (c - b).squaredNorm());
    const Vector2d toCentre = sides.inverse() * half;
    return {b + toCentre, toCentre.norm()};
}

// The arc of a cushion's corner. The side's arc shows in the flats beside the foot of the main that
// faces the width; the corner's passes through the foot of its own main, square to that main's
// azimuth, and runs into the side's: |centre - side centre| = side radius - radius.
std::optional<Circle> cornerCircle(const BodyReading& body) {
    Facets flats = body.girdle();
    std::sort(flats.begin(), flats.end(), [](const SeenFacet* a, const SeenFacet* b) {
        return azimuth_deg(*a) < azimuth_deg(*b);
    });
    // The flat that follows this azimuth, with one more on this side and two on the other.
    const auto flatAfter = [&](double azimuth) -> std::optional<std::ptrdiff_t> {
        const auto after = std::find_if(flats.begin(), flats.end(), [&](const SeenFacet* f) {
            return azimuth_deg(*f) > azimuth;
        });
        if (after - flats.begin() < 2 || flats.end() - after < 2) return std::nullopt;
        return after - flats.begin();
    };
    const auto meet = [&](std::ptrdiff_t k) {
        return meetInPlan(*flats[static_cast<std::size_t>(k - 1)],
                          *flats[static_cast<std::size_t>(k)]);
    };
    const auto middle = flatAfter(90.0);
    if (!middle) return std::nullopt;
    const Circle side = circleThrough(meet(*middle - 1), meet(*middle), meet(*middle + 1));
    for (const SeenFacet* main : body.crownMains()) {
        const double azimuth = azimuth_deg(*main);
        if (!(azimuth > body.flat_deg() && azimuth < 90.0 - body.flat_deg())) continue;
        const auto beside = flatAfter(azimuth);
        if (!beside) continue;
        const Vector2d foot = meet(*beside);
        const Vector2d out(std::cos(radians(azimuth)), std::sin(radians(azimuth)));
        const Vector2d off = foot - side.centre;
        const double radius =
            (off.squaredNorm() - side.radius * side.radius) / (2.0 * (off.dot(out) - side.radius));
        return Circle{foot - radius * out, radius};
    }
    return std::nullopt;
}

// A keel between four equally steep steps: what the level facet takes off it.
Value keelCulet(const BodyReading& body) {
    if (body.culet() == nullptr) return 0.0;
    const Facets sides = body.girdle();
    for (const SeenFacet* side : sides) {
        if (!(side->normal.y() > 0.5)) continue;
        // The way in from the wide end at which the planes of end and sides meet over the axis.
        const double meet = body.high().y() * side->normal.y() / (1.0 + side->normal.x());
        double inset = body.high().x();
        for (const Vector3d& at : body.culet()->corners_mm)
            inset = std::min(inset, at.x() - body.low().x());
        return 2.0 * (meet - inset);
    }
    return std::nullopt;
}

Value culetAcrossMains(const BodyReading& body) {
    if (body.culet() == nullptr) return 0.0;
    std::vector<double> across;
    for (const SeenFacet* main : body.pavilionMains())
        across.push_back(2.0 * reachAt(*main, body.low().z()));
    return meanOf(across);
}

Value ringRadius(const BodyReading& body) {
    std::vector<double> radii;
    for (const BodyReading::Corner* corner : body.inner(true, 5))
        radii.push_back(corner->at.head<2>().norm());
    return meanOf(radii);
}

Value scaled(const Value& value, double factor) {
    return value ? Value(*value * factor) : std::nullopt;
}

using Way = Value (*)(const BodyReading&);

const std::map<std::string, Way>& ways() {
    static const std::map<std::string, Way> kWays = {
        {"length",
         [](const BodyReading& b) -> Value {
             return 100.0 * (b.high().x() - b.low().x()) / b.width();
         }},
        {"table width",
         [](const BodyReading& b) -> Value {
             if (b.table() == nullptr) return std::nullopt;
             return 100.0 * b.tableAlong(Vector3d::UnitY()) / b.width();
         }},
        {"table corners",
         [](const BodyReading& b) -> Value {
             if (b.table() == nullptr) return std::nullopt;
             std::vector<double> radii;
             for (const Vector3d& at : b.table()->corners_mm)
                 radii.push_back(at.head<2>().norm());
             return scaled(meanOf(radii), 200.0 / b.width());
         }},
        {"table between ends",
         [](const BodyReading& b) -> Value {
             if (b.table() == nullptr) return std::nullopt;
             const double length = b.high().x() - b.low().x();
             return 100.0 * (1.0 - (length - b.tableAlong(Vector3d::UnitX())) / b.width());
         }},
        {"table scale", [](const BodyReading& b) { return scaled(tableScale(b), 100.0); }},
        {"crown facing the width",
         [](const BodyReading& b) -> Value {
             const auto angles = anglesOf(b.facingWidth(b.crown()));
             return angles.size() == 1 ? Value(angles[0]) : std::nullopt;
         }},
        {"crown rows",
         [](const BodyReading& b) { return rowAngle(anglesOf(b.facingWidth(b.crown()))); }},
        {"crown row difference",
         [](const BodyReading& b) { return rowDifference(anglesOf(b.facingWidth(b.crown()))); }},
        {"crown mains", [](const BodyReading& b) { return meanOf(anglesOf(b.crownMains())); }},
        {"crown facets", [](const BodyReading& b) { return meanOf(anglesOf(b.crown())); }},
        {"flattest crown facets", [](const BodyReading& b) { return least(anglesOf(b.crown())); }},
        {"pavilion facing the width",
         [](const BodyReading& b) { return least(anglesOf(b.facingWidth(b.pavilion()))); }},
        {"pavilion rows",
         [](const BodyReading& b) { return rowAngle(anglesOf(b.facingWidth(b.pavilion()))); }},
        {"pavilion row difference",
         [](const BodyReading& b) { return rowDifference(anglesOf(b.facingWidth(b.pavilion()))); }},
        {"pavilion section",
         [](const BodyReading& b) -> Value {
             auto slopes = b.pavilionSection();
             if (b.culet() != nullptr && slopes.size() == 4) slopes.pop_back();
             return slopes.size() == 3 ? rowAngle(slopes) : std::nullopt;
         }},
        {"pavilion section difference",
         [](const BodyReading& b) -> Value {
             auto slopes = b.pavilionSection();
             if (b.culet() != nullptr && slopes.size() == 4) slopes.pop_back();
             return slopes.size() == 3 ? rowDifference(slopes) : std::nullopt;
         }},
        {"pavilion mains",
         [](const BodyReading& b) { return meanOf(anglesOf(b.pavilionMains())); }},
        {"pavilion facets", [](const BodyReading& b) { return meanOf(anglesOf(b.pavilion())); }},
        {"girdle",
         [](const BodyReading& b) -> Value {
             const auto [low, high] = b.girdleAtWidest();
             return 100.0 * (high - low) / b.width();
         }},
        {"star", [](const BodyReading& b) { return scaled(meanOf(starShares(b)), 100.0); }},
        {"lower half", [](const BodyReading& b) { return scaled(meanOf(lowerShares(b)), 100.0); }},
        {"culet width",
         [](const BodyReading& b) -> Value {
             if (b.culet() == nullptr) return 0.0;
             return 100.0 * b.culetAlong(Vector3d::UnitY()) / b.width();
         }},
        {"culet across mains",
         [](const BodyReading& b) { return scaled(culetAcrossMains(b), 100.0 / b.width()); }},
        {"culet of a keel",
         [](const BodyReading& b) { return scaled(keelCulet(b), 100.0 / b.width()); }},
        {"corner cut",
         [](const BodyReading& b) -> Value {
             double half = 0.0;
             for (const BodyReading::Corner& c : b.corners())
                 if (c.at.x() >= b.high().x() - b.exact()) half = std::max(half, c.at.y());
             return 100.0 * (b.high().y() - half) / b.width();
         }},
        {"narrow end",
         [](const BodyReading& b) -> Value {
             double half = 0.0;
             for (const BodyReading::Corner& c : b.corners())
                 if (c.at.x() >= b.high().x() - b.exact()) half = std::max(half, c.at.y());
             return 200.0 * half / b.width();
         }},
        {"corner radius",
         [](const BodyReading& b) -> Value {
             const auto circle = cornerCircle(b);
             return circle ? Value(100.0 * circle->radius / b.width()) : std::nullopt;
         }},
        {"side bulge",
         [](const BodyReading& b) -> Value {
             const auto circle = cornerCircle(b);
             if (!circle) return std::nullopt;
             return 100.0 * (b.high().y() - circle->centre.y() - circle->radius) / b.width();
         }},
        {"triangle bulge",
         [](const BodyReading& b) -> Value {
             const double far = 1.0 / std::sqrt(3.0);
             return 100.0 * ((b.high().x() - b.low().x()) / b.width() - 1.5 * far);
         }},
        {"belly", [](const BodyReading& b) { return scaled(belly(b), 100.0); }},
        {"cleft",
         [](const BodyReading& b) -> Value {
             return 100.0 * (-b.low().x() - b.outline(-Vector2d::UnitX())) / b.width();
         }},
        {"height over the girdle",
         [](const BodyReading& b) -> Value {
             return 100.0 * (b.high().z() - b.girdleAtWidest().second) / b.width();
         }},
        {"ring of stars",
         [](const BodyReading& b) { return scaled(ringRadius(b), 200.0 / b.width()); }},
    };
    return kWays;
}

// --- Symmetry -----------------------------------------------------------------------------------

Vector2d middleOf(const SeenFacet& facet) {
    Vector2d sum = Vector2d::Zero();
    for (const Vector3d& at : facet.corners_mm)
        sum += at.head<2>();
    return sum / static_cast<double>(facet.corners_mm.size());
}

// Under each crown main the flattest pavilion facet of its azimuth, also where a main does not
// reach the lowest point.
Facets mainsBelow(const BodyReading& body, const Facets& crownMains) {
    constexpr double kUnder_deg = 4.0;  // halves stand 11 degrees beside
    Facets found;
    for (const SeenFacet* above : crownMains) {
        const SeenFacet* best = nullptr;
        for (const SeenFacet* facet : body.pavilion()) {
            const double off =
                std::abs(std::remainder(azimuth_deg(*facet) - azimuth_deg(*above), 360.0));
            if (off <= kUnder_deg &&
                (best == nullptr || steepness_deg(*facet) < steepness_deg(*best)))
                best = facet;
        }
        if (best != nullptr) found.push_back(best);
    }
    return found;
}

Vector2d lowestPlace(const BodyReading& body) {
    if (body.culet() != nullptr) return middleOf(*body.culet());
    Vector2d sum = Vector2d::Zero();
    double count = 0.0;
    for (const BodyReading::Corner& c : body.corners())
        if (c.at.z() <= body.low().z() + body.exact()) {
            sum += c.at.head<2>();
            count += 1.0;
        }
    return sum / count;
}

// Largest deviation of azimuths from an even division of the circle.
Value unevenness(const Facets& mains) {
    if (mains.size() < 3) return std::nullopt;
    const double step = 360.0 / static_cast<double>(mains.size());
    std::vector<double> off;
    for (const SeenFacet* main : mains) {
        const double turns = azimuth_deg(*main) / step;
        off.push_back(step * (turns - std::round(turns)));
    }
    const auto [low, high] = std::minmax_element(off.begin(), off.end());
    return (*high - *low) / 2.0;
}

std::vector<double> girdleThickness(const BodyReading& body) {
    std::vector<Vector2d> places;
    std::vector<std::pair<double, double>> spans;
    for (const SeenFacet* flat : body.girdle())
        for (const Vector3d& at : flat->corners_mm) {
            const auto same = std::find_if(places.begin(), places.end(), [&](const Vector2d& p) {
                return (p - at.head<2>()).norm() <= body.exact();
            });
            if (same == places.end()) {
                places.emplace_back(at.head<2>());
                spans.emplace_back(at.z(), at.z());
            } else {
                auto& [low, high] = spans[static_cast<std::size_t>(same - places.begin())];
                low = std::min(low, at.z());
                high = std::max(high, at.z());
            }
        }
    std::vector<double> thickness;
    for (const auto& [low, high] : spans)
        thickness.push_back(100.0 * (high - low) / body.width());
    return thickness;
}

std::vector<double> diametersAtCorners(const BodyReading& body) {
    std::vector<double> diameters;
    for (const SeenFacet* flat : body.girdle()) {
        const Vector2d direction = flat->corners_mm.front().head<2>().normalized();
        diameters.push_back(body.outline(direction) + body.outline(-direction));
    }
    return diameters;
}

std::optional<Spread> percentOf(const std::optional<Spread>& share) {
    if (!share) return std::nullopt;
    return Spread{100.0 * share->mean, 100.0 * share->least, 100.0 * share->most};
}

}  // namespace

MeasuredProportions measureProportions(const FacetBody& seen) {
    const BodyReading body(seen);
    MeasuredProportions m;
    m.width_mm = body.width();
    m.length_mm = body.high().x() - body.low().x();
    m.depth_mm = body.high().z() - body.low().z();
    m.length_to_width = m.length_mm / m.width_mm;
    constexpr double kRound = 0.03;  // a longer one is not meant to be round
    const bool round = std::abs(m.length_to_width - 1.0) < kRound && body.girdle().size() > 12;
    const double unit = round ? (m.length_mm + m.width_mm) / 2.0 : m.width_mm;
    m.depth_percent = 100.0 * m.depth_mm / unit;
    const auto [low, high] = body.girdleAtWidest();

    Facets mains = body.crownMains();
    const bool brilliant = !mains.empty() && !starShares(body).empty();
    m.crown_deg = spreadOf(anglesOf(brilliant ? mains : body.crown()));
    if (body.table() != nullptr) {
        const Vector2d middle = middleOf(*body.table());
        std::vector<double> across;
        for (const Vector3d& at : body.table()->corners_mm)
            across.push_back(2.0 * (at.head<2>() - middle).norm());
        m.table_percent = round ? scaled(meanOf(across), 100.0 / unit)
                                : Value(100.0 * body.tableAlong(Vector3d::UnitY()) / unit);
        m.crown_height_percent = 100.0 * (body.high().z() - high) / unit;
        m.table_offset_percent = 100.0 * middle.norm() / unit;
    }
    if (!body.pavilion().empty()) {
        const Facets below = mainsBelow(body, mains);
        m.pavilion_deg = spreadOf(anglesOf(brilliant && !below.empty() ? below : body.pavilion()));
        m.pavilion_depth_percent = 100.0 * (low - body.low().z()) / unit;
        const Vector2d culet = lowestPlace(body);
        m.culet_offset_percent = 100.0 * culet.norm() / unit;
        if (body.table() != nullptr)
            m.table_culet_percent = 100.0 * (culet - middleOf(*body.table())).norm() / unit;
        m.culet_percent =
            body.culet() == nullptr ? 0.0 : 100.0 * body.culetAlong(Vector3d::UnitY()) / unit;
    }
    m.girdle_percent = spreadOf(girdleThickness(body));
    m.star_percent = percentOf(spreadOf(starShares(body)));
    m.lower_half_percent = percentOf(spreadOf(lowerShares(body)));
    if (round) {
        if (const auto diameters = spreadOf(diametersAtCorners(body)))
            m.out_of_round_percent = 100.0 * diameters->spread() / unit;
        m.azimuth_deviation_deg = unevenness(brilliant ? mains : Facets{});
    }
    return m;
}

std::map<std::string, double> measuredFor(const CutInfo& cut, const FacetBody& seen) {
    const BodyReading body(seen);
    std::map<std::string, double> found;
    for (const ProportionInfo& proportion : cut.proportions) {
        const auto way = ways().find(proportion.measure);
        if (way == ways().end()) continue;
        if (const Value value = way->second(body)) found[proportion.key] = *value;
    }
    return found;
}

std::vector<std::string> waysOfMeasuring() {
    std::vector<std::string> names;
    for (const auto& [name, way] : ways())
        names.push_back(name);
    return names;
}

}  // namespace macle
