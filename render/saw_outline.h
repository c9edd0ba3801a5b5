// SawOutline: where a saw runs through its piece, for drawing and picking. Stone frame, mm. Pure
// functions; any thread.
#pragma once

#include <optional>
#include <vector>

#include "core/divide/division.h"
#include "render/segment.h"

namespace macle::render {

struct SawOutline {
    Eigen::Vector3d normal = Eigen::Vector3d::UnitZ();  // towards the new piece
    double offset_mm = 0.0;                             // of the kerf's middle
    HalfSpace below;                                    // what the kerf's two faces keep
    HalfSpace above;
    std::vector<HalfSpace> within;  // earlier saws, that bound the piece it divides beside the skin

    std::vector<Segment> middle;  // closed outline of the middle plane within the piece
    std::vector<Segment> faces;   // closed outlines of the kerf's faces; empty without a kerf
    double kerf_mm = 0.0;         // widest
};

// One for each saw, of the rough as it was before the saw. `division` must be of these saws, and
// `rough` the mesh it divides. Throws Error{BadUsage} when the numbers of saws differ.
std::vector<SawOutline> sawOutlines(const TriangleMesh& rough, const std::vector<Saw>& saws,
                                    const Division& division);

// The same saw moved along its normal, its kerf with it: what a drag shows before the rough is
// divided anew.
SawOutline movedAlong(const SawOutline& saw, const TriangleMesh& rough, double by_mm);

struct SawPick {
    int saw = 0;
    Eigen::Vector3d place_mm = Eigen::Vector3d::Zero();  // on the saw's plane
    double distance_mm = 0.0;                            // from the ray's origin
};

// The nearest saw that the ray meets, inside its outline or within `reach_mm` of it (a plane seen
// edge-on is all outline). `open`: a section; what it takes away is not met. Direction of length 1.
struct SawRay {
    Eigen::Vector3d origin_mm = Eigen::Vector3d::Zero();
    Eigen::Vector3d direction = Eigen::Vector3d::UnitZ();
    double reach_mm = 0.0;
    std::optional<HalfSpace> open;  // what the section keeps
};
std::optional<SawPick> pickSaw(const std::vector<SawOutline>& saws, const SawRay& ray);

// How far along `axis` (length 1) from `place_mm` the line comes nearest to the ray: a pointer that
// drags a saw along its normal. Nothing where the ray runs along the axis.
std::optional<double> slidAlong(const Eigen::Vector3d& place_mm, const Eigen::Vector3d& axis,
                                const Eigen::Vector3d& origin_mm, const Eigen::Vector3d& direction);

}  // namespace macle::render
