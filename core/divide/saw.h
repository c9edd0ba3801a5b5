// Saw: one way through a piece of the rough. A mechanical saw takes a kerf of one width and goes
// along cube or dodecahedron planes only; a laser goes anywhere, and a dry one leaves a V: wider
// where the beam enters. Stone frame, mm. Pure functions; any thread.
#pragma once

#include <Eigen/Core>
#include <optional>
#include <vector>

#include "core/stone/crystal_axes.h"
#include "core/stone/mesh.h"

namespace macle {

// normal . x <= offset_mm; normal of length 1.
struct HalfSpace {
    Eigen::Vector3d normal = Eigen::Vector3d::UnitZ();
    double offset_mm = 0.0;
};

inline constexpr std::size_t kMostSaws = 24;  // through one rough

struct VKerf {
    Eigen::Vector3d beam = Eigen::Vector3d::UnitX();  // the way it runs; only its part in the plane
    double exit_mm = 0.0;                             // width where it leaves the piece

    bool operator==(const VKerf&) const = default;
};

struct Saw {
    int piece = 0;  // which is divided: 0 the rough; each saw adds one piece to the end of the list
    Eigen::Vector3d normal = Eigen::Vector3d::UnitZ();  // towards what becomes the new piece
    double offset_mm = 0.0;                             // of the kerf's middle
    double kerf_mm = 0.0;         // width; of a V where the beam enters the piece
    std::optional<VKerf> v = {};  // none: one width

    bool operator==(const Saw&) const = default;
};

// What the two sides keep: `below` holds for the piece that stays, `above` for the new one.
struct SawnSides {
    HalfSpace below;
    HalfSpace above;
};

// `piece` is needed for a V alone: its width runs evenly from where the beam can first meet the
// piece to where it last can. Throws Error{BadUsage} for a normal without length, a width below 0,
// a V wider at its exit, or a beam across the plane.
SawnSides sawnSides(const Saw& saw, const TriangleMesh& piece);

// The plane of a mechanical saw nearest to a direction: a cube or dodecahedron plane.
struct SawableDirection {
    Eigen::Vector3d normal = Eigen::Vector3d::UnitZ();  // on the side of the direction asked for
    FaceForm form = FaceForm::Cube;
    double off_deg = 0.0;
};
SawableDirection nearestSawable(const CrystalAxes& axes, const Eigen::Vector3d& direction);

// All 9 of them, each once (3 cube, 6 dodecahedron).
std::vector<SawableDirection> sawableDirections(const CrystalAxes& axes);

}  // namespace macle
