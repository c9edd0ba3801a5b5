#include "core/cut/construction.h"

#include <Eigen/Geometry>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/tolerance.h"
#include "core/base/units.h"
#include "core/cut/expression.h"
#include "core/cut/facet_kind.h"
#include "core/cut/outline_curve.h"
#include "core/cut/round_brilliant.h"
#include "core/cut/sector_copies.h"

namespace macle {

using Eigen::Vector2d;
using Eigen::Vector3d;

namespace {

// Points nearer than this fix no plane, lines more nearly parallel cross nowhere.
constexpr double kDistinct = tolerance::kOnPlane_mm;

// Before a point that only fixes a plane and may lie outside the stone.
constexpr char kOutside = '~';

[[noreturn]] void badRule(const std::string& what, const std::string& remedy) {
    throw Error(ErrorCode::BadInput, what, remedy);
}

// For what depends on the proportions: at the standard it is a fault of the file all the same.
[[noreturn]] void cannot(const std::string& what) {
    throw Error(ErrorCode::NoSolution, what, "");
}

double cross(const Vector2d& a, const Vector2d& b) {
    return a.x() * b.y() - a.y() * b.x();
}

// Where a + s u meets b + t v.
Vector2d crossing(const Vector2d& a, const Vector2d& u, const Vector2d& b, const Vector2d& v) {
    const double area = cross(u, v);
    if (std::abs(area) <= kDistinct * u.norm() * v.norm())
        cannot("two lines are parallel and cross nowhere.");
    return a + cross(b - a, v) / area * u;
}

struct Plane {
    Vector3d normal;
    double distance;
};

// One facet of the sector with the points it was built through.
struct SectorFacet {
    std::string name;
    std::string label;  // of its rule
    Plane plane;
    std::vector<std::pair<std::string, Vector3d>> through;
};

class Builder {
  public:
    Builder(const CutRecipe& recipe, const std::map<std::string, double>& proportions)
        : recipe_(recipe), proportions_(proportions), copies_(recipe.turns, recipe.mirror) {
        for (const auto& [key, value] : proportions)
            numbers_[key] = value;
        places_["centre"] = {};
    }

    Design build() {
        for (const CutRule& rule : recipe_.rules)
            located(rule.label, [&] {
                if (!rule.when.empty() && !(number(rule.when) > 0.0)) return;
                label_ = rule.label;
                std::visit([&](const auto& what) { run(what); }, rule.what);
            });
        if (round_) return std::move(*round_);
        return assembled();
    }

  private:
    // Errors of a rule gain the file and the rule; a refusal of proportions keeps its own words.
    template <class Action>
    void located(const std::string& label, Action action) {
        try {
            action();
        } catch (const Error& error) {
            if (error.code() == ErrorCode::BadUsage) throw;
            if (error.code() == ErrorCode::NoSolution)
                throw Error(ErrorCode::BadUsage,
                            "With these proportions the cut \"" + recipe_.info.name +
                                "\" cannot be built (" + recipe_.file + ", " + label +
                                "): " + error.message(),
                            "Move the proportions towards the standard.");
            throw Error(error.code(), recipe_.file + ", " + label + ": " + error.message(),
                        error.remedy());
        }
    }

    double number(const std::string& formula) const { return evaluate(formula, numbers_); }

    const OutlinePlace& placeNamed(const std::string& name) const {
        const auto found = places_.find(name);
        if (found == places_.end())
            badRule("There is no place \"" + name + "\" yet.", "Define it in an earlier rule.");
        return found->second;
    }
    const Plane& planeNamed(const std::string& id) const {
        const auto found = planes_.find(id);
        if (found == planes_.end())
            badRule("There is no facet with the id \"" + id + "\" yet.",
                    "Define it in an earlier rule.");
        return found->second;
    }
    Vector3d spacePoint(const std::string& text) const {
        const std::size_t sign = text.find('@');
        if (sign != std::string::npos) {
            const Vector2d p = placeNamed(text.substr(0, sign)).point;
            return {p.x(), p.y(), number(text.substr(sign + 1))};
        }
        const auto found = points_.find(text);
        if (found == points_.end())
            badRule("There is no point \"" + text + "\" yet.",
                    "Define it in an earlier rule, or write PLACE@HEIGHT.");
        return found->second;
    }

    const OutlineCurve& outline() {
        if (outline_) return *outline_;
        OutlineCurve curve;
        Vector2d at = Vector2d::Zero();
        for (const OutlineStep& step : recipe_.outline)
            located(step.label, [&] {
                const Vector2d to(number(step.to[0]), number(step.to[1]));
                const Vector2d centre(number(step.centre[0]), number(step.centre[1]));
                if (step.kind == OutlineStep::Kind::Line) curve.lineTo(at, to);
                if (step.kind == OutlineStep::Kind::Arc) curve.arcTo(at, to, centre);
                if (step.kind == OutlineStep::Kind::Quarter) curve.quarterTo(at, to, centre);
                at = to;
            });
        outline_ = std::move(curve);
        return *outline_;
    }

    void run(const ValueRule& rule) { numbers_[rule.name] = number(rule.is); }

    void run(const RequireRule& rule) const {
        if (number(rule.above_zero) > 0.0) return;
        throw Error(ErrorCode::BadUsage, filled(rule.otherwise), filled(rule.remedy));
    }
    // Each {formula} in a text is replaced by its value.
    std::string filled(const std::string& text) const {
        std::string result;
        std::size_t at = 0;
        for (;;) {
            const std::size_t open = text.find('{', at);
            const std::size_t close = text.find('}', open);
            if (close == std::string::npos) return result + text.substr(at);
            result += text.substr(at, open - at) +
                      formatFixed(number(text.substr(open + 1, close - open - 1)), 2);
            at = close + 1;
        }
    }

    void run(const PlaceRule& rule) {
        OutlinePlace place;
        const auto named = [&](std::size_t k) -> const OutlinePlace& {
            return placeNamed(rule.places[k]);
        };
        const auto found = [](const std::optional<OutlinePlace>& p) {
            if (!p) cannot("the outline has no such place.");
            return *p;
        };
        switch (rule.way) {
            case PlaceRule::Way::At:
                place.point = {number(rule.numbers[0]), number(rule.numbers[1])};
                break;
            case PlaceRule::Way::Outline:
                place = outline().at(number(rule.numbers[0]));
                break;
            case PlaceRule::Way::Facing:
                place = found(outline().facing(number(rule.numbers[0])));
                break;
            case PlaceRule::Way::Towards:
                place = found(outline().towards(named(0).point));
                break;
            case PlaceRule::Way::Between: {
                const double share = number(rule.numbers[0]);
                place.point = (1.0 - share) * named(0).point + share * named(1).point;
                break;
            }
            case PlaceRule::Way::Tangents:
                place.point = crossing(named(0).point, direction(named(0)), named(1).point,
                                       direction(named(1)));
                break;
            case PlaceRule::Way::Lines:
                place.point = crossing(named(0).point, named(1).point - named(0).point,
                                       named(2).point, named(3).point - named(2).point);
                break;
        }
        if (!rule.tangent_deg.empty()) {
            const double azimuth = radians(number(rule.tangent_deg));
            place.along = {std::cos(azimuth), std::sin(azimuth)};
        }
        places_[rule.name] = place;
    }

    static Vector2d direction(const OutlinePlace& place) {
        if (place.along.isZero())
            badRule("A place here lies not on the outline, so it has no direction.",
                    "Give it a tangent_deg.");
        return place.along;
    }

    void run(const PointRule& rule) {
        Vector3d point = Vector3d::Zero();
        switch (rule.way) {
            case PointRule::Way::At:
                point = {number(rule.numbers[0]), number(rule.numbers[1]), number(rule.numbers[2])};
                break;
            case PointRule::Way::OnFacet: {
                const Vector2d p = placeNamed(rule.names[0]).point;
                const Plane& plane = planeNamed(rule.names[1]);
                if (std::abs(plane.normal.z()) <= kDistinct)
                    badRule("An upright facet has no one height over a place.",
                            "Name a facet of the crown or pavilion.");
                const double rest = plane.distance - plane.normal.head<2>().dot(p);
                point = {p.x(), p.y(), rest / plane.normal.z()};
                break;
            }
            case PointRule::Way::Meet: {
                Eigen::Matrix3d normals;
                Vector3d distances;
                for (int k = 0; k < 3; ++k) {
                    const Plane& plane = planeNamed(rule.names[static_cast<std::size_t>(k)]);
                    normals.row(k) = plane.normal.transpose();
                    distances[k] = plane.distance;
                }
                if (std::abs(normals.determinant()) <= kDistinct)
                    cannot("three facets do not meet in one point.");
                point = normals.inverse() * distances;
                break;
            }
        }
        points_[rule.name] = point;
    }

    static std::string withoutMark(const std::string& point) {
        return point[0] == kOutside ? point.substr(1) : point;
    }

    void run(const FacetRule& rule) {
        SectorFacet facet;
        facet.name = rule.name;
        facet.label = label_;
        if (!rule.level.empty()) {
            const double height = number(rule.level);
            facet.plane = {Vector3d(0.0, 0.0, height < 0.0 ? -1.0 : 1.0), std::abs(height)};
        } else {
            for (const std::string& point : rule.points)
                facet.through.emplace_back(point, spacePoint(withoutMark(point)));
            facet.plane = planeThrough(facet, rule);
            std::erase_if(facet.through, [](const auto& p) { return p.first[0] == kOutside; });
        }
        add(std::move(facet), rule.id);
    }

    Plane planeThrough(const SectorFacet& facet, const FacetRule& rule) const {
        const Vector3d first = facet.through[0].second;
        std::vector<Vector3d> spans;
        for (std::size_t k = 1; k < facet.through.size(); ++k)
            spans.push_back(facet.through[k].second - first);
        if (!rule.along.empty() || !rule.along_deg.empty()) {
            Vector2d run;
            if (!rule.along_deg.empty()) {
                const double azimuth = radians(number(rule.along_deg));
                run = {std::cos(azimuth), std::sin(azimuth)};
            } else {
                run = rule.along.size() == 1 ? direction(placeNamed(rule.along[0]))
                                             : Vector2d(placeNamed(rule.along[1]).point -
                                                        placeNamed(rule.along[0]).point);
            }
            spans.emplace_back(run.x(), run.y(), 0.0);
            if (!rule.angle_deg.empty()) {
                // Down the slope: level and square to the direction, outward, and down or up.
                Vector2d out(run.y(), -run.x());
                if (out.dot(first.head<2>()) < 0.0) out = -out;
                out.normalize();
                const double angle = radians(number(rule.angle_deg));
                const double fall = (rule.crown ? -1.0 : 1.0) * std::sin(angle);
                spans.emplace_back(std::cos(angle) * out.x(), std::cos(angle) * out.y(), fall);
            }
        }
        Vector3d normal = spans[0].cross(spans[1]);
        if (!(normal.norm() > kDistinct * spans[0].norm() * spans[1].norm()) ||
            !(spans[0].norm() > kDistinct && spans[1].norm() > kDistinct))
            cannot("its points lie in one line, or two of them coincide.");
        normal.normalize();
        if (normal.dot(first) < 0.0) normal = -normal;
        return {normal, normal.dot(first)};
    }

    void run(const GirdleRule& rule) {
        for (std::size_t gap = 0; gap + 1 < rule.places.size(); ++gap) {
            const double from = placeNamed(rule.places[gap]).share;
            const double to = placeNamed(rule.places[gap + 1]).share;
            if (!(from >= 0.0 && to > from))
                cannot("\"" + rule.places[gap] + "\" and \"" + rule.places[gap + 1] +
                       "\" do not follow one another on the outline.");
            const int flats = rule.flats[std::min(gap, rule.flats.size() - 1)];
            Vector2d begin = placeNamed(rule.places[gap]).point;
            for (int k = 1; k <= flats; ++k) {
                const Vector2d end = k == flats
                                         ? placeNamed(rule.places[gap + 1]).point
                                         : outline().at(from + (to - from) * k / flats).point;
                SectorFacet flat;
                flat.name = "girdle";
                flat.label = label_;
                flat.plane = upright(begin, end);  // no points: a thin girdle loses flats
                add(std::move(flat), "");
                begin = end;
            }
        }
    }

    static Plane upright(const Vector2d& begin, const Vector2d& end) {
        const Vector2d run = end - begin;
        if (!(run.norm() > kDistinct)) cannot("a girdle flat has no length.");
        const Vector3d normal = Vector3d(run.y(), -run.x(), 0.0).normalized();
        return {normal, normal.x() * begin.x() + normal.y() * begin.y()};
    }

    void run(const RoundBrilliantRule&) {
        const auto p = [&](const char* key) { return proportions_.at(key); };
        Design design;
        design.cut = recipe_.info.name;
        design.proportions = proportions_;
        design.parts.push_back({roundBrilliantFacets({.table_percent = p("table_percent"),
                                                      .crown_deg = p("crown_deg"),
                                                      .pavilion_deg = p("pavilion_deg"),
                                                      .girdle_percent = p("girdle_percent"),
                                                      .star_percent = p("star_percent"),
                                                      .lower_half_percent = p("lower_half_percent"),
                                                      .culet_percent = p("culet_percent")})});
        round_ = std::move(design);
    }

    void add(SectorFacet facet, const std::string& id) {
        copies_.settle(facet.plane.normal);
        if (!(facet.plane.distance > kDistinct))
            throw Error(ErrorCode::BadUsage,
                        "With these proportions a \"" + facet.name + "\" of the cut \"" +
                            recipe_.info.name + "\" would pass through its centre (" +
                            recipe_.file + ", " + facet.label + ").",
                        "Move the proportions towards the standard.");
        if (!id.empty()) planes_[id] = facet.plane;
        facets_.push_back(std::move(facet));
    }

    Design assembled() const {
        const bool cleft = recipe_.turns == 1 && recipe_.mirror &&
                           std::any_of(facets_.begin(), facets_.end(), [](const SectorFacet& f) {
                               return f.plane.normal.y() < 0.0;
                           });
        struct Placed {
            Facet facet;
            const SectorFacet* source;
            bool first, second;  // the parts it belongs to
        };
        std::vector<Placed> all;
        for (const SectorFacet& source : facets_) {
            std::size_t image = 0;
            for (const Vector3d& normal : copies_.images(source.plane.normal)) {
                const bool leans = cleft && source.plane.normal.y() < 0.0;
                all.push_back(
                    {{source.name, facetKindOf(source.name), normal, source.plane.distance},
                     &source,
                     !leans || image == 0,
                     !leans || image == 1});
                ++image;
            }
        }
        // Numbers run counter-clockwise from index 0 within each name; the rows keep their order.
        std::vector<std::string> rows;
        for (const Placed& p : all)
            if (std::find(rows.begin(), rows.end(), p.facet.name) == rows.end())
                rows.push_back(p.facet.name);
        Design design;
        design.cut = recipe_.info.name;
        design.proportions = proportions_;
        design.parts.resize(cleft ? 2 : 1);
        std::vector<std::vector<const SectorFacet*>> sources(design.parts.size());
        for (const std::string& row : rows) {
            std::vector<const Placed*> members;
            for (const Placed& p : all)
                if (p.facet.name == row) members.push_back(&p);
            std::stable_sort(members.begin(), members.end(), [](const Placed* a, const Placed* b) {
                return turnFromLength(a->facet) < turnFromLength(b->facet);
            });
            for (std::size_t k = 0; k < members.size(); ++k) {
                Facet facet = members[k]->facet;
                if (members.size() > 1) facet.name += " " + std::to_string(k + 1);
                if (members[k]->first) design.parts[0].facets.push_back(facet);
                if (cleft && members[k]->second) design.parts[1].facets.push_back(facet);
            }
        }
        checkMeets(design.parts[0]);
        return design;
    }

    // The azimuth, with a hair's breadth below 360 taken for 0.
    static double turnFromLength(const Facet& facet) {
        const double azimuth = facetAzimuth_deg(facet);
        return azimuth > 360.0 - degrees(kDistinct) ? 0.0 : azimuth;
    }

    // Every point that a facet was built through lies inside every other facet.
    void checkMeets(const ConvexPart& part) const {
        for (const SectorFacet& facet : facets_)
            for (const auto& [name, point] : facet.through)
                for (const Facet& other : part.facets) {
                    const double out = other.normal.dot(point) - other.distance;
                    if (out <= tolerance::kOnPlane_mm) continue;
                    throw Error(ErrorCode::BadUsage,
                                "With these proportions the facets of the cut \"" +
                                    recipe_.info.name + "\" cannot meet: " + other.name +
                                    " cuts off " + facet.name + " at " + name + " by " +
                                    formatFixed(100.0 * out, 4) + " % of the size (" +
                                    recipe_.file + ", " + facet.label + ").",
                                "Move the proportions towards the standard.");
                }
    }

    const CutRecipe& recipe_;
    const std::map<std::string, double>& proportions_;
    SectorCopies copies_;
    std::string label_;
    NamedNumbers numbers_;
    std::map<std::string, OutlinePlace> places_;
    std::map<std::string, Vector3d> points_;
    std::map<std::string, Plane> planes_;
    std::optional<OutlineCurve> outline_;
    std::vector<SectorFacet> facets_;
    std::optional<Design> round_;
};

}  // namespace

Design construct(const CutRecipe& recipe, const std::map<std::string, double>& proportions) {
    return Builder(recipe, proportions).build();
}

}  // namespace macle
