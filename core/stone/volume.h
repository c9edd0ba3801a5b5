// Volume: grey values on a regular grid, as a computed-tomography scanner gives them, and bounded
// readers for the open forms: MetaImage (.mha, .mhd), NRRD (.nrrd, .nhdr), VTK legacy structured
// points (.vtk) and VTK XML image data (.vti). Read like any foreign file: a hostile one yields
// Error{BadInput} saying what, where and what to do, and never more memory than its size justifies.
// Frame: the file's own, mm. A unit the file states (um, m ...) is brought to mm.
// Thread contract: free functions, no shared state.
#pragma once

#include <Eigen/Core>
#include <array>
#include <filesystem>
#include <vector>

#include "core/base/progress.h"

namespace macle {

struct Volume {
    std::array<int, 3> size{};                              // voxels along i, j, k
    Eigen::Vector3d origin_mm = Eigen::Vector3d::Zero();    // middle of voxel 0, 0, 0
    Eigen::Matrix3d step_mm = Eigen::Matrix3d::Identity();  // columns: from a voxel to the next
    std::vector<float> values;                              // i fastest, then j, then k

    std::size_t count() const {
        return static_cast<std::size_t>(size[0]) * static_cast<std::size_t>(size[1]) *
               static_cast<std::size_t>(size[2]);
    }
    float at(int i, int j, int k) const {
        return values[(static_cast<std::size_t>(k) * static_cast<std::size_t>(size[1]) +
                       static_cast<std::size_t>(j)) *
                          static_cast<std::size_t>(size[0]) +
                      static_cast<std::size_t>(i)];
    }
    Eigen::Vector3d place_mm(const Eigen::Vector3d& ijk) const { return origin_mm + step_mm * ijk; }
};

// Whether the name ends like that of a volume, in small or capital letters.
bool isVolumeName(const std::filesystem::path& file);

// By content and extension. Throws Error{NotFound, BadInput, Io, Cancelled}.
Volume readVolume(const std::filesystem::path& file, Progress* progress = nullptr);

// Least and greatest value, and how many voxels lie in each of equal steps between them.
struct Histogram {
    float low = 0.0F;
    float high = 0.0F;
    std::vector<long long> counts;
};
Histogram histogramOf(const Volume& volume, int steps);

// MetaImage with its data inside (.mha), 32-bit floats. Throws Error{Io}.
void writeVolume(const Volume& volume, const std::filesystem::path& file);

}  // namespace macle
