// Defects from a volume: the connected parts of a range of grey values, each with a closed surface
// between the voxels and its size. Deterministic.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/base/progress.h"
#include "core/stone/defect.h"
#include "core/stone/volume.h"

namespace macle {

// Proposed as the smallest part that is no noise.
inline constexpr double kSmallestPart_mm3 = 0.0005;

struct GreyRange {
    double low = 0.0;  // voxels with low <= value <= high belong to a defect
    double high = 0.0;
};

struct VolumeDefectOptions {
    GreyRange range;
    double smallest_mm3 = 0.0;             // smaller parts are noise; counted, never silently lost
    bool dropAtBorder = true;              // parts that reach the end of the volume: air, holder
    const TriangleMesh* within = nullptr;  // only parts whose middle lies inside this skin
    DefectKind kind = DefectKind::Other;
    int severity = 3;
};

struct VolumeDefects {
    std::vector<Defect> defects;      // largest first; "defect 1" ...
    std::vector<double> volumes_mm3;  // of their surfaces
    long long tooSmall = 0;
    double tooSmall_mm3 = 0.0;
    long long atBorder = 0;
    long long outside = 0;
    long long cavities = 0;  // hollows inside parts, counted as part of them
};

// The surface is the level of the range, linear between voxels (marching tetrahedra over the six
// tetrahedra of each cell, Doi and Koide, IEICE Trans. E74 (1991) 214), so that its volume is right
// to far below a voxel per voxel of surface; parts of few voxels are brought to the volume of a
// finer grid. Voxels hang together along the edges of those tetrahedra. Throws Error{BadUsage} for
// a range that is none, Error{BadInput} when more than 100000 parts are found (noise),
// Error{Cancelled}.
VolumeDefects defectsFromVolume(const Volume& volume, const VolumeDefectOptions& options,
                                Progress* progress = nullptr);

}  // namespace macle
