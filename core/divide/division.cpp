#include "core/divide/division.h"

#include <Eigen/LU>
#include <cmath>
#include <optional>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/tolerance.h"
#include "core/stone/intake.h"

namespace macle {

using Eigen::Vector3d;

namespace {

// A point well inside the half-spaces within a box: the mean of the corners of what they enclose,
// found from all triples of planes (there are few). Nothing when they enclose nothing.
std::optional<Vector3d> pointWithin(const std::vector<HalfSpace>& sides) {
    const double near = tolerance::kOnPlane_mm;
    Vector3d sum = Vector3d::Zero();
    int corners = 0;
    for (std::size_t i = 0; i < sides.size(); ++i)
        for (std::size_t j = i + 1; j < sides.size(); ++j)
            for (std::size_t k = j + 1; k < sides.size(); ++k) {
                Eigen::Matrix3d m;
                m << sides[i].normal.transpose(), sides[j].normal.transpose(),
                    sides[k].normal.transpose();
                const Eigen::FullPivLU<Eigen::Matrix3d> lu(m);
                if (!lu.isInvertible()) continue;
                const Vector3d corner =
                    lu.solve(Vector3d(sides[i].offset_mm, sides[j].offset_mm, sides[k].offset_mm));
                bool inside = true;
                for (const HalfSpace& side : sides)
                    inside &= side.normal.dot(corner) <= side.offset_mm + near;
                if (!inside) continue;
                sum += corner;
                ++corners;
            }
    if (corners < 4) return std::nullopt;
    const Vector3d middle = sum / corners;
    for (const HalfSpace& side : sides)
        if (!(side.normal.dot(middle) < side.offset_mm - near)) return std::nullopt;
    return middle;
}

class Sawing {
  public:
    Sawing(const Rough& rough, const RoughCutter& cutter) : cutter_(cutter) {
        const Box box = bounds(rough.mesh);
        const double room = 0.25 * box.extent().norm();
        for (int axis = 0; axis < 3; ++axis) {
            around_.push_back({Vector3d::Unit(axis), box.high[axis] + room});
            around_.push_back({-Vector3d::Unit(axis), -(box.low[axis] - room)});
        }
    }

    // The rough within the half-spaces; nothing when there is none of it.
    std::optional<FinishedStone> within(const std::vector<HalfSpace>& sides, bool wantMesh) const {
        std::vector<HalfSpace> all = around_;
        all.insert(all.end(), sides.begin(), sides.end());
        const auto middle = pointWithin(all);
        if (!middle) return std::nullopt;
        Design region;
        region.cut = "piece";
        region.parts.resize(1);
        for (const HalfSpace& side : all) {
            Facet facet;
            facet.name = "side " + std::to_string(region.parts[0].facets.size() + 1);
            facet.normal = side.normal;
            facet.distance = side.offset_mm - side.normal.dot(*middle);
            region.parts[0].facets.push_back(facet);
        }
        Placement placement;
        placement.translation_mm = *middle;
        placement.size_mm = 1.0;
        try {
            return cutter_.finish(region, placement, wantMesh);
        } catch (const Error& error) {
            if (error.code() == ErrorCode::NoSolution) return std::nullopt;
            throw;
        }
    }

  private:
    const RoughCutter& cutter_;
    std::vector<HalfSpace> around_;
};

HalfSpace other(const HalfSpace& side) {
    return {-side.normal, -side.offset_mm};
}

std::vector<HalfSpace> with(std::vector<HalfSpace> sides, const HalfSpace& one) {
    sides.push_back(one);
    return sides;
}

}  // namespace

Division divide(const Rough& rough, const RoughCutter& cutter, const std::vector<Saw>& saws,
                Progress* progress) {
    if (saws.size() > kMostSaws)
        throw Error(ErrorCode::BadUsage,
                    std::to_string(saws.size()) + " saws are more than a rough is divided by.",
                    "Give at most " + std::to_string(kMostSaws) + ".");
    const Sawing sawing(rough, cutter);
    Division division;
    division.pieces.resize(1);
    std::vector<TriangleMesh> meshes(1, rough.mesh);  // of the pieces now
    std::vector<double> volumes(1, rough.volume_mm3);
    for (std::size_t s = 0; s < saws.size(); ++s) {
        if (progress) progress->throwIfCancelled();
        const Saw& saw = saws[s];
        const std::string name = "Saw " + std::to_string(s + 1);
        if (saw.piece < 0 || saw.piece >= static_cast<int>(division.pieces.size()))
            throw Error(ErrorCode::BadUsage,
                        name + " divides piece " + std::to_string(saw.piece + 1) +
                            ", but there are only " + std::to_string(division.pieces.size()) +
                            " then.",
                        "Name a piece that an earlier saw has left.");
        const auto p = static_cast<std::size_t>(saw.piece);
        const SawnSides sides = sawnSides(saw, meshes[p]);
        const std::vector<HalfSpace> before = division.pieces[p].sides;
        const auto below = sawing.within(with(before, sides.below), true);
        const auto above = sawing.within(with(before, sides.above), true);
        if (!below || !above)
            throw Error(ErrorCode::BadUsage,
                        name + " leaves nothing " + (below ? "above" : "below") + " it.",
                        "Move its plane into the piece.");
        double kerf = 0.0;
        if (saw.kerf_mm > 0.0) {
            const auto dust =
                sawing.within(with(with(before, other(sides.below)), other(sides.above)), false);
            if (dust) kerf = dust->volume_mm3;
        }
        const double miss = below->volume_mm3 + above->volume_mm3 + kerf - volumes[p];
        if (!(std::abs(miss) <= tolerance::kDivisionSum * rough.volume_mm3))
            throw Error(ErrorCode::Internal,
                        name + ": pieces and kerf miss their whole by " + formatFixed(miss, 9) +
                            " mm3, so no weights are given.",
                        "Move the plane by a little and report this.");
        division.kerf_mm3.push_back(kerf);
        division.pieces[p].sides = with(before, sides.below);
        Piece fresh;
        fresh.saw = static_cast<int>(s);
        fresh.sides = with(before, sides.above);
        division.pieces.push_back(std::move(fresh));
        meshes[p] = below->mesh;
        volumes[p] = below->volume_mm3;
        meshes.push_back(above->mesh);
        volumes.push_back(above->volume_mm3);
        if (progress)
            progress->advanceTo(static_cast<double>(s + 1) / static_cast<double>(saws.size()));
    }
    for (std::size_t p = 0; p < division.pieces.size(); ++p) {
        Piece& piece = division.pieces[p];
        piece.volume_mm3 = volumes[p];
        piece.mesh = std::move(meshes[p]);
        if (!saws.empty()) piece.lumps = static_cast<int>(splitShells(piece.mesh).size());
    }
    return division;
}

Rough roughOf(const Piece& piece) {
    Rough rough;
    rough.mesh = piece.mesh;
    rough.volume_mm3 = piece.volume_mm3;
    rough.report.closed = true;
    rough.report.trianglesRead = rough.report.trianglesKept =
        static_cast<long long>(piece.mesh.triangles.size());
    return rough;
}

}  // namespace macle
