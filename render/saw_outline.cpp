#include "render/saw_outline.h"

#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "render/plane_area.h"

namespace macle::render {

using Eigen::Vector3d;

namespace {

// Square of the sine of the angle between two lines below which they count as parallel.
constexpr double kParallel2 = 1e-6;

std::vector<Segment> outlineIn(const TriangleMesh& rough, const HalfSpace& plane,
                               const std::vector<HalfSpace>& within) {
    const CutPlane cut{plane.normal, plane.offset_mm};
    return PlaneArea(meshOutline(rough, cut), cut).within(within).outline();
}

void trace(SawOutline& saw, const TriangleMesh& rough) {
    saw.middle = outlineIn(rough, {saw.normal, saw.offset_mm}, saw.within);
    saw.faces.clear();
    if (!(saw.kerf_mm > 0.0)) return;
    for (const HalfSpace& face : {saw.below, saw.above}) {
        const std::vector<Segment> outline = outlineIn(rough, face, saw.within);
        saw.faces.insert(saw.faces.end(), outline.begin(), outline.end());
    }
}

// The point of a segment nearest to the ray's line, and how far they are apart.
std::pair<Vector3d, double> nearest(const Segment& line, const SawRay& ray) {
    const Vector3d along = line.to - line.from;
    const Vector3d flat = along - ray.direction.dot(along) * ray.direction;
    const Vector3d from = line.from - ray.origin_mm;
    const double length2 = flat.squaredNorm();
    const double share = length2 > 0.0 ? std::clamp(-flat.dot(from) / length2, 0.0, 1.0) : 0.0;
    const Vector3d point = line.from + share * along;
    const Vector3d off = point - ray.origin_mm;
    return {point, (off - ray.direction.dot(off) * ray.direction).norm()};
}

}  // namespace

std::vector<SawOutline> sawOutlines(const TriangleMesh& rough, const std::vector<Saw>& saws,
                                    const Division& division) {
    if (division.pieces.size() != saws.size() + 1)
        throw Error(ErrorCode::BadUsage,
                    "the division has " + std::to_string(division.pieces.size()) +
                        " pieces, but there are " + std::to_string(saws.size()) + " saws",
                    "give the division of these saws");
    std::vector<SawOutline> outlines;
    // Each saw adds one side to the two pieces it leaves, so a piece's sides up to a saw are its
    // first ones.
    std::vector<std::size_t> sides(1, 0);
    for (std::size_t s = 0; s < saws.size(); ++s) {
        const std::size_t piece = static_cast<std::size_t>(saws[s].piece);
        const std::size_t before = sides.at(piece);
        const std::vector<HalfSpace>& stays = division.pieces[piece].sides;
        const std::vector<HalfSpace>& fresh = division.pieces[s + 1].sides;
        SawOutline outline;
        outline.normal = saws[s].normal;
        outline.offset_mm = saws[s].offset_mm;
        outline.within.assign(fresh.begin(), fresh.begin() + static_cast<std::ptrdiff_t>(before));
        outline.below = stays.at(before);
        outline.above = fresh.at(before);
        outline.kerf_mm = saws[s].kerf_mm;
        trace(outline, rough);
        outlines.push_back(std::move(outline));
        ++sides[piece];
        sides.push_back(before + 1);
    }
    return outlines;
}

SawOutline movedAlong(const SawOutline& saw, const TriangleMesh& rough, double by_mm) {
    SawOutline moved = saw;
    moved.offset_mm += by_mm;
    for (HalfSpace* face : {&moved.below, &moved.above})
        face->offset_mm += by_mm * face->normal.dot(saw.normal);
    trace(moved, rough);
    return moved;
}

std::optional<SawPick> pickSaw(const std::vector<SawOutline>& saws, const SawRay& ray) {
    std::optional<SawPick> best;
    const auto take = [&](std::size_t saw, const Vector3d& place) {
        const double distance = ray.direction.dot(place - ray.origin_mm);
        if (!(distance >= 0.0) || (best && distance >= best->distance_mm)) return;
        if (ray.open && ray.open->normal.dot(place) > ray.open->offset_mm) return;
        best = SawPick{static_cast<int>(saw), place, distance};
    };
    for (std::size_t s = 0; s < saws.size(); ++s) {
        const double steep = saws[s].normal.dot(ray.direction);
        if (steep * steep > kParallel2) {
            const double ahead = (saws[s].offset_mm - saws[s].normal.dot(ray.origin_mm)) / steep;
            const Vector3d place = ray.origin_mm + ahead * ray.direction;
            const CutPlane plane{saws[s].normal, saws[s].offset_mm};
            if (PlaneArea(saws[s].middle, plane).contains(place)) take(s, place);
        }
        for (const Segment& line : saws[s].middle) {
            const auto [place, off_mm] = nearest(line, ray);
            if (off_mm <= ray.reach_mm) take(s, place);
        }
    }
    return best;
}

std::optional<double> slidAlong(const Vector3d& place_mm, const Vector3d& axis,
                                const Vector3d& origin_mm, const Vector3d& direction) {
    const double along = axis.dot(direction);
    const double sine2 = 1.0 - along * along;
    if (!(sine2 > kParallel2)) return std::nullopt;
    const Vector3d between = origin_mm - place_mm;
    return (axis.dot(between) - along * direction.dot(between)) / sine2;
}

}  // namespace macle::render
