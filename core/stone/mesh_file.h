// Bounded readers and writers for surface files: STL (binary, ASCII), PLY (ASCII, binary little
// and big endian), OBJ. The format is decided by content, and must agree with the extension.
// A hostile file yields Error{BadInput} saying what, where and what to do; never a crash, and
// never more memory than the file's own size justifies. Coordinates are taken as mm.
// Thread contract: free functions, no shared state.
#pragma once

#include <filesystem>

#include "core/base/progress.h"
#include "core/stone/mesh.h"

namespace macle {

// The triangles exactly as the file gives them (polygons are fanned), unwelded for STL.
// Rejects: non-finite or absurd (> 1e6 mm) coordinates, indices out of range, short files,
// no triangles, more than 2 GB. Throws Error{NotFound} for a missing file, Error{Io} for one that
// cannot be read, Error{Cancelled}. `progress` goes to 0.25, the share of reading in an intake.
TriangleMesh readMeshFile(const std::filesystem::path& file, Progress* progress = nullptr);

// By extension: .stl (binary), .ply (binary little endian, double), .obj. Throws Error{Io} or
// Error{BadUsage} for another extension.
void writeMeshFile(const TriangleMesh& mesh, const std::filesystem::path& file);

}  // namespace macle
