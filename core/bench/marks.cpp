#include "core/bench/marks.h"

#include <algorithm>
#include <limits>

#include "core/base/error.h"
#include "core/bench/sawn_piece.h"

namespace macle {

using Eigen::Vector3d;

namespace {

// Rounding of a coordinate by half its last digit moves a point by so much of it, times a few.
constexpr double kRounding = 64.0 * std::numeric_limits<double>::epsilon();

MarkCurve curveOn(const TriangleMesh& skin, const Plane& plane, const SawnPiece& piece,
                  const std::vector<HalfSpace>& sides) {
    MarkCurve curve;
    curve.plane = plane;
    curve.sideSaws = piece.saws;
    curve.loops = clipSection(sectionOf(skin, plane), plane, sides);
    std::stable_sort(curve.loops.begin(), curve.loops.end(),
                     [](const auto& a, const auto& b) { return a.length_mm() > b.length_mm(); });
    for (const SectionLoop& loop : curve.loops) {
        curve.length_mm += loop.length_mm();
        curve.skin_mm += loop.skin_mm();
    }
    return curve;
}

void addSaw(const TriangleMesh& skin, const Layout& layout, const Division& division, std::size_t s,
            std::vector<MarkCurve>& curves) {
    const SawWay way = sawWay(layout.saws, division, s);
    const auto add = [&](const Plane& plane, MarkKind kind, const char* what) {
        MarkCurve curve = curveOn(skin, plane, way.before, way.before.sides);
        curve.kind = kind;
        curve.name = "saw " + std::to_string(s + 1) + " " + what;
        curve.saw = static_cast<int>(s);
        curve.piece = layout.saws[s].piece;
        curves.push_back(std::move(curve));
    };
    add(way.middle, MarkKind::SawMiddle, "middle");
    if (!(layout.saws[s].kerf_mm > 0.0)) return;
    add({way.below.normal, way.below.offset_mm}, MarkKind::KerfBelow, "edge below");
    // Turned over, so that all three loops of a saw run the same way.
    add({-way.above.normal, -way.above.offset_mm}, MarkKind::KerfAbove, "edge above");
}

// The sides of a stone's piece without the one that is the plane itself.
std::vector<HalfSpace> sidesBeside(const SawnPiece& piece, const ReferenceFace& face) {
    std::vector<HalfSpace> sides = piece.sides;
    for (std::size_t s = 0; s < sides.size(); ++s)
        if (piece.saws[s] == face.saw) sides[s].offset_mm = std::numeric_limits<double>::infinity();
    return sides;
}

std::string nameOf(const char* what, std::size_t stone, bool several) {
    return several ? "stone " + std::to_string(stone + 1) + " " + what : what;
}

void proveOnSkin(const TriangleMesh& skin, Marks& marks) {
    double reach = 1.0;
    for (const Vector3d& v : skin.vertices)
        reach = std::max(reach, v.cwiseAbs().maxCoeff());
    for (const MarkCurve& curve : marks.curves)
        for (const SectionLoop& loop : curve.loops)
            for (std::size_t i = 0; i < loop.points.size(); ++i) {
                const Vector3d& to = loop.points[(i + 1) % loop.points.size()];
                marks.offPlane_mm =
                    std::max(marks.offPlane_mm, std::abs(curve.plane.heightOf(loop.points[i])));
                if (!loop.steps[i].onSkin()) continue;
                for (const Vector3d& end : {loop.points[i], to})
                    marks.offSkin_mm = std::max(
                        marks.offSkin_mm, distanceToTriangle(skin, loop.steps[i].triangle, end));
            }
    require(marks.offPlane_mm <= std::max(tolerance::kMarkOffPlane_mm, kRounding * reach),
            "every point of a mark lies in its plane");
    require(marks.offSkin_mm <= tolerance::kMarkOffSkin_mm, "every point of a mark is on the skin");
}

std::vector<std::string> markCautions() {
    return {
        "Laser: class 4. Work only in an interlocked enclosure, with eyewear for the wavelength.",
        "Saw and wheel: guards in place and eye protection on. Dust of diamond and of bonded discs "
        "harms the lungs: extract it where it arises.",
        "Heat: a stone with cracks or strain may break under a laser or at the wheel; look at it "
        "between crossed polarisers before.",
        "Marks are planned on the scan: check them on the stone before any cut. Follow local codes "
        "and licensed practice; where they differ from this, they prevail."};
}

}  // namespace

Marks marksOf(const TriangleMesh& skin, const Layout& layout, const Division& division,
              const MarkRequest& request) {
    Marks marks;
    const bool several = layout.stones.size() > 1;
    for (const std::size_t stone : request.stones) {
        if (!request.reference) break;
        const ReferenceFace face = referenceFaceOf(skin, layout, division, stone);
        const SawnPiece piece =
            sawnPiece(layout.saws, division, static_cast<std::size_t>(layout.stones[stone].piece));
        MarkCurve curve = curveOn(skin, face.plane, piece, sidesBeside(piece, face));
        curve.name = nameOf("reference face", stone, several);
        curve.stone = static_cast<int>(stone);
        curve.piece = layout.stones[stone].piece;
        marks.references.push_back(face);
        marks.curves.push_back(std::move(curve));
    }
    for (std::size_t s = 0; request.saws && s < layout.saws.size(); ++s)
        addSaw(skin, layout, division, s, marks.curves);
    for (const std::size_t stone : request.stones) {
        if (!request.girdles) break;
        const PlannedStone& planned = layout.stones.at(stone);
        const Vector3d up = (planned.placement.rotation * Vector3d::UnitZ()).normalized();
        const SawnPiece piece =
            sawnPiece(layout.saws, division, static_cast<std::size_t>(planned.piece));
        MarkCurve curve =
            curveOn(skin, {up, up.dot(planned.placement.translation_mm)}, piece, piece.sides);
        curve.kind = MarkKind::Girdle;
        curve.name = nameOf("girdle", stone, several);
        curve.stone = static_cast<int>(stone);
        curve.piece = planned.piece;
        marks.curves.push_back(std::move(curve));
    }
    for (const MarkCurve& curve : marks.curves)
        if (curve.loops.empty())
            marks.remarks.push_back("No mark for " + curve.name +
                                    ": its plane does not meet the piece.");
    std::erase_if(marks.curves, [](const MarkCurve& curve) { return curve.loops.empty(); });
    proveOnSkin(skin, marks);
    marks.cautions = markCautions();
    return marks;
}

std::vector<MarkStretch> stretchesOf(const MarkCurve& curve, const SectionLoop& loop) {
    const std::size_t n = loop.points.size();
    const auto sawOf = [&](std::size_t i) {
        return loop.steps[i].onSkin()
                   ? -1
                   : curve.sideSaws.at(static_cast<std::size_t>(loop.steps[i].side));
    };
    std::size_t start = 0;  // where a run begins, so that none is told in two halves
    while (start < n && sawOf(start) == sawOf((start + n - 1) % n))
        ++start;
    std::vector<MarkStretch> stretches;
    for (std::size_t k = 0; k < n; ++k) {
        const std::size_t i = (start + k) % n;
        if (stretches.empty() || stretches.back().saw != sawOf(i))
            stretches.push_back({sawOf(i), 0.0});
        stretches.back().length_mm += (loop.points[(i + 1) % n] - loop.points[i]).norm();
    }
    return stretches;
}

}  // namespace macle
