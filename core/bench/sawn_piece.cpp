#include "core/bench/sawn_piece.h"

#include <algorithm>
#include <limits>

#include "core/base/error.h"

namespace macle {

namespace {

// Which saws bound each piece after the first `count` of them, in the order of the sides.
std::vector<std::vector<int>> sawsOfPieces(const std::vector<Saw>& saws, std::size_t count) {
    std::vector<std::vector<int>> pieces(1);
    for (std::size_t s = 0; s < count; ++s) {
        auto& divided = pieces.at(static_cast<std::size_t>(saws[s].piece));
        divided.push_back(static_cast<int>(s));
        std::vector<int> fresh = divided;
        pieces.push_back(std::move(fresh));
    }
    return pieces;
}

}  // namespace

SawnPiece sawnPiece(const std::vector<Saw>& saws, const Division& division, std::size_t piece) {
    SawnPiece found;
    found.sides = division.pieces.at(piece).sides;
    found.saws = sawsOfPieces(saws, saws.size()).at(piece);
    require(found.saws.size() == found.sides.size(), "each side of a piece is of one saw");
    return found;
}

SawWay sawWay(const std::vector<Saw>& saws, const Division& division, std::size_t saw) {
    const auto divided = static_cast<std::size_t>(saws.at(saw).piece);
    SawWay way;
    way.before.saws = sawsOfPieces(saws, saw).at(divided);
    const std::size_t count = way.before.saws.size();
    const auto& below = division.pieces.at(divided).sides;
    const auto& above = division.pieces.at(saw + 1).sides;
    require(below.size() > count && above.size() > count, "a saw leaves a side on both its pieces");
    way.before.sides.assign(below.begin(), below.begin() + static_cast<std::ptrdiff_t>(count));
    way.below = below[count];
    way.above = above[count];
    way.middle = {saws[saw].normal, saws[saw].offset_mm};
    return way;
}

std::vector<SkinPoint> sawnCorners(const TriangleMesh& skin, const SawnPiece& piece,
                                   const std::vector<NaturalPatch>& faces) {
    if (piece.sides.empty()) return {};
    std::vector<int> faceOf(skin.triangles.size(), -1);
    for (std::size_t f = 0; f < faces.size(); ++f)
        for (const std::uint32_t t : faces[f].triangles)
            faceOf[t] = static_cast<int>(f);
    const double near = tolerance::kCornerReach * bounds(skin).extent().norm();
    std::vector<SkinPoint> corners, ofFaces;
    const auto add = [near](std::vector<SkinPoint>& list, SkinPoint point) {
        std::sort(point.faces.begin(), point.faces.end());
        std::sort(point.saws.begin(), point.saws.end());
        const bool known = std::any_of(list.begin(), list.end(), [&](const SkinPoint& other) {
            return (other.place_mm - point.place_mm).norm() <= near;
        });
        if (!known) list.push_back(std::move(point));
    };
    for (std::size_t s = 0; s < piece.sides.size(); ++s) {
        std::vector<HalfSpace> others = piece.sides;
        others[s].offset_mm = std::numeric_limits<double>::infinity();
        const Plane plane{piece.sides[s].normal, piece.sides[s].offset_mm};
        for (const SectionLoop& loop : clipSection(sectionOf(skin, plane), plane, others)) {
            const std::size_t n = loop.points.size();
            // The natural face walked last, and how long ago it was left.
            int last = -1;
            std::size_t leftAt = 0;
            double since = 0.0;
            for (std::size_t k = 0; k < 2 * n; ++k) {  // twice round, for the first face's start
                const std::size_t i = k % n;
                const LoopStep& step = loop.steps[i];
                const LoopStep& before = loop.steps[(i + n - 1) % n];
                if (step.onSkin() != before.onSkin()) {
                    const int side = step.onSkin() ? before.side : step.side;
                    add(corners, {loop.points[i],
                                  {},
                                  {piece.saws[s], piece.saws[static_cast<std::size_t>(side)]}});
                }
                const int face =
                    step.onSkin() ? faceOf[static_cast<std::size_t>(step.triangle)] : -1;
                if (face >= 0 && last >= 0 && face != last && since <= near)
                    add(ofFaces, {loop.points[leftAt], {last, face}, {piece.saws[s]}});
                if (!step.onSkin()) last = -1;
                if (face >= 0) {
                    last = face;
                    leftAt = (i + 1) % n;
                    since = 0.0;
                } else {
                    since += (loop.points[(i + 1) % n] - loop.points[i]).norm();
                }
            }
        }
    }
    for (SkinPoint& point : ofFaces)
        add(corners, std::move(point));
    return corners;
}

}  // namespace macle
