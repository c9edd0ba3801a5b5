#include "core/bench/reference_face.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <limits>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/tolerance.h"
#include "core/base/units.h"
#include "core/bench/reference_choice.h"
#include "core/bench/sawn_piece.h"
#include "core/solid/convex_solid.h"

namespace macle {

using Eigen::Vector3d;

namespace {

constexpr std::size_t kMostPoints = 24;  // looked at
constexpr double kUnitWithin = 1e-6;
constexpr double kLeastKept = 0.1;  // of a natural face, for it to be told on a piece

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

// What of a natural face the saws leave on a piece.
struct Kept {
    double area = 0.0;
    Vector3d middle = Vector3d::Zero();
};
Kept keptOf(const NaturalPatch& face, const SawnPiece& piece, const TriangleMesh& skin) {
    Kept kept;
    std::vector<Vector3d> region, cut;
    for (const std::uint32_t t : face.triangles) {
        region.clear();
        for (const std::uint32_t v : skin.triangles[t])
            region.push_back(skin.vertices[v]);
        for (const HalfSpace& side : piece.sides) {
            cut.clear();
            for (std::size_t i = 0; i < region.size(); ++i) {
                const Vector3d &p = region[i], &q = region[(i + 1) % region.size()];
                const double hp = side.normal.dot(p) - side.offset_mm;
                const double hq = side.normal.dot(q) - side.offset_mm;
                if (hp <= 0.0) cut.push_back(p);
                if ((hp <= 0.0) != (hq <= 0.0)) cut.push_back(p + (q - p) * (hp / (hp - hq)));
            }
            region.swap(cut);
        }
        for (std::size_t i = 2; i < region.size(); ++i) {
            const double area =
                0.5 * (region[i - 1] - region[0]).cross(region[i] - region[0]).norm();
            kept.area += area;
            kept.middle += area * (region[0] + region[i - 1] + region[i]) / 3.0;
        }
    }
    if (kept.area > 0.0) kept.middle /= kept.area;
    return kept;
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
        const Kept kept = keptOf(natural[f], piece, skin);
        if (kept.area < kLeastKept * natural[f].area_mm2) continue;
        ReferenceAngle one =
            angle("natural face " + std::to_string(f + 1), natural[f].plane.normal);
        one.middle_mm = kept.middle;
        one.area_mm2 = kept.area;
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
    chooseDeciding(face, table.corners);
    addAngles(face, natural, piece, skin);
    return face;
}

}  // namespace macle
