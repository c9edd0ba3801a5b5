#include "core/bench/reference_face.h"

#include <Eigen/Geometry>
#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/tolerance.h"
#include "core/base/units.h"
#include "core/bench/sawn_piece.h"
#include "core/solid/convex_solid.h"

namespace macle {

using Eigen::Vector2d;
using Eigen::Vector3d;

namespace {

constexpr std::size_t kMostPoints = 24;  // looked at
constexpr std::size_t kPointsGiven = 6;  // three that decide, the others as a check
constexpr double kUnitWithin = 1e-6;

// The table in the stone frame.
struct Table {
    std::string facet;
    Plane plane;
    Vector3d middle = Vector3d::Zero();
    std::vector<Vector3d> corners;
};

void check(const Placement& placement) {
    if (!placement.rotation.coeffs().allFinite() ||
        !(std::abs(placement.rotation.norm() - 1.0) < kUnitWithin) ||
        !placement.translation_mm.allFinite() || !std::isfinite(placement.size_mm) ||
        !(placement.size_mm > 0.0))
        throw Error(ErrorCode::BadInput, "The placement is not usable.",
                    "Give a unit quaternion, a translation in mm and a size above 0 mm.");
}

// The table, or of a cut without one its largest facet (the base of a rose).
Table tableOf(const PlannedStone& stone) {
    check(stone.placement);
    const Design design = designOf(stone);
    Table table;
    double largest = 0.0;
    for (const ConvexPart& part : design.parts) {
        const ConvexSolid solid = makeSolid(part);
        for (const SolidFace& face : solid.faces) {
            const Facet& facet = part.facets[static_cast<std::size_t>(face.facet)];
            const bool isTable = facet.kind == FacetKind::Table;
            const double weight = isTable ? std::numeric_limits<double>::infinity() : face.area;
            if (weight <= largest) continue;
            largest = weight;
            table = {};
            table.facet = facet.name;
            const double size = stone.placement.size_mm;
            const auto placed = [&](const Vector3d& p) -> Vector3d {
                return stone.placement.rotation * (size * p) + stone.placement.translation_mm;
            };
            for (const int corner : face.corners) {
                table.corners.push_back(placed(solid.vertices[static_cast<std::size_t>(corner)]));
                table.middle += table.corners.back();
            }
            table.middle /= static_cast<double>(table.corners.size());
            table.plane.normal = (stone.placement.rotation * facet.normal).normalized();
            table.plane.offset_mm = table.plane.normal.dot(placed(facet.distance * facet.normal));
        }
    }
    require(!table.corners.empty(), "a cut has facets");
    return table;
}

double between_deg(const Vector3d& a, const Vector3d& b) {
    // By sine and cosine: exact near 0 and 90 degrees alike.
    return degrees(std::atan2(a.cross(b).norm(), std::abs(a.dot(b))));
}

// Shares of three places that add up to a fourth (barycentric), all in one plane.
struct Shares {
    std::array<Vector2d, 3> slope;
    std::array<double, 3> atOrigin;
    std::array<double, 3> at(const Vector2d& p) const {
        return {atOrigin[0] + slope[0].dot(p), atOrigin[1] + slope[1].dot(p),
                atOrigin[2] + slope[2].dot(p)};
    }
};

std::optional<Shares> sharesOf(const std::array<Vector2d, 3>& foot) {
    Eigen::Matrix3d rows;
    double reach = 0.0;
    for (int i = 0; i < 3; ++i) {
        const Vector2d& p = foot[static_cast<std::size_t>(i)];
        rows.row(i) << p.x(), p.y(), 1.0;
        for (const Vector2d& q : foot)
            reach = std::max(reach, (p - q).squaredNorm());
    }
    constexpr double kInARow = 1e-3;  // of the longest side squared
    if (!(std::abs(rows.determinant()) > kInARow * reach)) return std::nullopt;
    const Eigen::Matrix3d inverse = rows.inverse();
    Shares shares;
    for (int i = 0; i < 3; ++i) {
        shares.slope[static_cast<std::size_t>(i)] = inverse.col(i).head<2>();
        shares.atOrigin[static_cast<std::size_t>(i)] = inverse(2, i);
    }
    return shares;
}

// The plane moves at a point's foot by what its distance is wrong, and in between as straight
// lines do: by each point's share of the place.
ReferenceFirmness firmnessOf(const Shares& shares, const std::vector<Vector2d>& border) {
    const double wrong = tolerance::kGauge_mm;
    const auto worst = [&](const Vector2d& place) {
        double sum = 0.0;
        for (const double share : shares.at(place))
            sum += std::abs(share);
        return wrong * sum;
    };
    ReferenceFirmness firm;
    firm.shift_mm = worst(Vector2d::Zero());
    for (const Vector2d& corner : border)
        firm.edge_mm = std::max(firm.edge_mm, worst(corner));
    double steepest = 0.0;
    for (const double b : {1.0, -1.0})
        for (const double c : {1.0, -1.0})
            steepest = std::max(
                steepest, (shares.slope[0] + b * shares.slope[1] + c * shares.slope[2]).norm());
    firm.tilt_deg = degrees(std::atan(wrong * steepest));
    return firm;
}

// Puts the three that fix the plane best first.
void chooseDeciding(ReferenceFace& face, const Table& table) {
    const Vector3d right = face.plane.normal.unitOrthogonal();
    const Vector3d up = face.plane.normal.cross(right);
    const auto flat = [&](const Vector3d& p) -> Vector2d {
        return {right.dot(p - face.middle_mm), up.dot(p - face.middle_mm)};
    };
    std::vector<Vector2d> border;
    for (const Vector3d& corner : table.corners)
        border.push_back(flat(corner));
    auto& points = face.points;
    const auto remaining =
        std::count_if(points.begin(), points.end(), [](const auto& p) { return !p.groundAway(); });
    const bool all = remaining < 3;
    double radius = 0.0;
    for (const Vector2d& corner : border)
        radius = std::max(radius, corner.norm());
    // Many triples hold the border equally; among them the least tilt decides.
    const auto looseness = [&](const ReferenceFirmness& firm) {
        return firm.edge_mm + radius * std::tan(radians(firm.tilt_deg));
    };
    std::array<std::size_t, 3> best{};
    for (std::size_t i = 0; i < points.size(); ++i)
        for (std::size_t j = i + 1; j < points.size(); ++j)
            for (std::size_t k = j + 1; k < points.size(); ++k) {
                if (!all &&
                    (points[i].groundAway() || points[j].groundAway() || points[k].groundAway()))
                    continue;
                const auto shares =
                    sharesOf({flat(points[i].point.place_mm), flat(points[j].point.place_mm),
                              flat(points[k].point.place_mm)});
                if (!shares) continue;
                const ReferenceFirmness firm = firmnessOf(*shares, border);
                if (face.firmness && looseness(firm) >= looseness(*face.firmness)) continue;
                face.firmness = firm;
                best = {i, j, k};
            }
    if (!face.firmness) {
        face.remarks.push_back(
            points.size() < 3
                ? "Only " + std::to_string(points.size()) +
                      " recognisable places are on this piece; three are needed to find the plane."
                : std::string("All recognisable places lie in a row: they do not fix the plane."));
    } else {
        for (const std::size_t one : best)
            points[one].decides = true;
        if (all)
            face.remarks.push_back(
                "Fewer than three recognisable places remain below the plane: some that decide are "
                "ground away with it. Measure before grinding.");
    }
    std::stable_sort(points.begin(), points.end(),
                     [](const auto& a, const auto& b) { return a.decides && !b.decides; });
    if (points.size() > kPointsGiven) points.resize(kPointsGiven);
}

void addAngles(ReferenceFace& face, const std::vector<NaturalPatch>& natural,
               const SawnPiece& piece, const TriangleMesh& skin) {
    const auto angle = [&](const std::string& name, const Vector3d& normal) {
        ReferenceAngle one;
        one.face = name;
        one.between_deg = between_deg(face.plane.normal, normal);
        one.normal = normal;
        one.sameWay = face.plane.normal.dot(normal) > 0.0;
        return one;
    };
    for (std::size_t f = 0; f < natural.size(); ++f) {
        // A face of the rough may lie on another piece altogether.
        const bool here = std::any_of(
            natural[f].triangles.begin(), natural[f].triangles.end(), [&](std::uint32_t t) {
                for (const std::uint32_t v : skin.triangles[t])
                    for (const HalfSpace& side : piece.sides)
                        if (side.normal.dot(skin.vertices[v]) > side.offset_mm) return false;
                return true;
            });
        if (!here) continue;
        ReferenceAngle one =
            angle("natural face " + std::to_string(f + 1), natural[f].plane.normal);
        one.middle_mm = natural[f].middle_mm;
        one.area_mm2 = natural[f].area_mm2;
        one.unevenness_mm = natural[f].unevenness_mm;
        face.angles.push_back(one);
    }
    for (std::size_t s = 0; s < piece.sides.size(); ++s)
        if (piece.saws[s] != face.saw)
            face.angles.push_back(
                angle("face of saw " + std::to_string(piece.saws[s] + 1), piece.sides[s].normal));
    if (natural.empty())
        face.remarks.push_back("The rough has no large flat faces; only points are given.");
}

}  // namespace

Plane planeFromDistances(const std::array<Vector3d, 3>& points,
                         const std::array<double, 3>& below_mm, const Vector3d& towards) {
    const Vector3d a = points[1] - points[0];
    const Vector3d b = points[2] - points[0];
    const Vector3d across = a.cross(b);
    // n.a and n.b are known; what is left of n stands across both.
    const double da = below_mm[0] - below_mm[1];
    const double db = below_mm[0] - below_mm[2];
    const double area2 = across.squaredNorm();
    const auto none = [] {
        return Error(ErrorCode::NoSolution, "No plane has these distances to the three points.",
                     "Measure again, or choose points that are farther apart.");
    };
    if (!(area2 > 0.0)) throw none();
    const Vector3d within = (da * b.cross(across) + db * across.cross(a)) / area2;
    const double rest2 = 1.0 - within.squaredNorm();
    if (!(rest2 >= 0.0)) throw none();
    const Vector3d rest = std::sqrt(rest2 / area2) * across;
    Plane plane;
    plane.normal = (within + (towards.dot(rest) < 0.0 ? Vector3d(-rest) : rest)).normalized();
    plane.offset_mm = plane.normal.dot(points[0]) + below_mm[0];
    return plane;
}

ReferenceFace referenceFaceOf(const TriangleMesh& skin, const Layout& layout,
                              const Division& division, std::size_t stone) {
    if (stone >= layout.stones.size())
        throw Error(ErrorCode::BadUsage,
                    "The layout has no stone " + std::to_string(stone + 1) + ".",
                    "It has " + std::to_string(layout.stones.size()) + ".");
    const PlannedStone& planned = layout.stones[stone];
    const auto pieceIndex = static_cast<std::size_t>(planned.piece);
    if (planned.piece < 0 || pieceIndex >= division.pieces.size())
        throw Error(ErrorCode::BadUsage,
                    "Stone " + std::to_string(stone + 1) + " is cut from piece " +
                        std::to_string(planned.piece + 1) + ", which the saws do not leave.",
                    "Name one of the " + std::to_string(division.pieces.size()) + " pieces.");
    const Table table = tableOf(planned);
    const SawnPiece piece = sawnPiece(layout.saws, division, pieceIndex);
    ReferenceFace face;
    face.stone = static_cast<int>(stone);
    face.plane = table.plane;
    face.facet = table.facet;
    std::vector<HalfSpace> sides = piece.sides;
    double nearest = std::numeric_limits<double>::infinity();
    for (std::size_t s = 0; s < piece.sides.size(); ++s) {
        const HalfSpace& side = piece.sides[s];
        const double off = between_deg(table.plane.normal, side.normal);
        const double above = side.offset_mm - side.normal.dot(table.middle);
        if (off > tolerance::kSawnReference_deg || side.normal.dot(table.plane.normal) < 0.0 ||
            above < -tolerance::kInside_mm || above >= nearest)
            continue;
        nearest = above;
        face.plane = {side.normal, side.offset_mm};
        face.saw = piece.saws[s];
        sides = piece.sides;
        sides[s].offset_mm = std::numeric_limits<double>::infinity();  // it is the plane itself
    }
    face.toTable_mm = -face.plane.heightOf(table.middle);
    face.toTable_deg = between_deg(table.plane.normal, face.plane.normal);
    face.middle_mm = table.middle + face.toTable_mm * face.plane.normal;
    const Vector3d length = planned.placement.rotation * Vector3d::UnitX();
    face.index0 = (length - face.plane.normal.dot(length) * face.plane.normal).normalized();
    double highest = -std::numeric_limits<double>::infinity();
    for (const Vector3d& v : division.pieces[pieceIndex].mesh.vertices)
        highest = std::max(highest, table.plane.heightOf(v));
    face.toGrind_mm = highest;

    for (const SectionLoop& loop : clipSection(sectionOf(skin, face.plane), face.plane, sides))
        face.meetsSkin = face.meetsSkin || loop.skin_mm() > 0.0;
    if (highest < 0.0)
        face.remarks.push_back("The plane of the " + table.facet +
                               " does not meet the piece: it lies " + formatFixed(-highest, 3) +
                               " mm above its highest place.");
    else if (!face.meetsSkin)
        face.remarks.emplace_back("The plane does not meet the skin of this piece.");

    const std::vector<NaturalPatch> natural = naturalFaces(skin);
    std::vector<SkinPoint> points = sawnCorners(skin, piece, natural);
    for (SkinPoint& point : skinPoints(skin, natural, kMostPoints))
        if (std::all_of(piece.sides.begin(), piece.sides.end(), [&](const HalfSpace& side) {
                return side.normal.dot(point.place_mm) <= side.offset_mm;
            }))
            points.push_back(std::move(point));
    // What lies in the plane itself, as the rim of a sawn face does, says nothing about it.
    std::erase_if(points, [&](const SkinPoint& point) {
        return face.saw >= 0 &&
               std::find(point.saws.begin(), point.saws.end(), face.saw) != point.saws.end();
    });
    if (points.size() > kMostPoints) points.resize(kMostPoints);
    for (SkinPoint& point : points)
        face.points.push_back({point, -face.plane.heightOf(point.place_mm), false});
    chooseDeciding(face, table);
    addAngles(face, natural, piece, skin);
    return face;
}

}  // namespace macle
