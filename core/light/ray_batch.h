// Many rays inside a body side by side, and the two steps that carry them on: to the face they
// meet, and through it by Fresnel's equations. Private to light.
//
// Light is incoherent and starts unpolarised, and both steps are linear in its Stokes vector; so
// the vector is carried in full, turned into the plane of incidence at each face and changed there
// by the face's Mueller matrix, the phase of total reflection included. The powers are therefore
// exact for any sequence of faces, also where the planes of incidence are turned against one
// another. (Born and Wolf, Principles of Optics, 7th ed., sections 1.5 and 10.9; phases that differ
// between two paths do not interfere, for paths in a stone differ by far more than the coherence
// length of lamp light.)
#pragma once

#include <cstdint>

#include "core/light/facet_table.h"

namespace macle::light {

struct RayBatch {
    static constexpr int kCapacity = 128;
    // The ray: a point on its face, a direction of length 1.
    alignas(64) double ox[kCapacity], oy[kCapacity], oz[kCapacity];
    alignas(64) double dx[kCapacity], dy[kCapacity], dz[kCapacity];
    // Stokes vector (power; s less p; 45 degrees; circular) with the s axis along r, across d.
    alignas(64) double i[kCapacity], q[kCapacity], u[kCapacity], v[kCapacity];
    alignas(64) double rx[kCapacity], ry[kCapacity], rz[kCapacity];
    double path[kCapacity];
    std::int32_t part[kCapacity], face[kCapacity];  // where it starts
    std::int32_t hits[kCapacity];                   // faces met from inside so far
    std::uint32_t id[kCapacity];
    int count = 0;

    // Found by `meetFaces`: how far, and the outward normal of the face met.
    alignas(64) double t[kCapacity];
    alignas(64) double nx[kCapacity], ny[kCapacity], nz[kCapacity];
    // Found by `crossFaces`: what goes out through the face. Power 0 at total reflection.
    alignas(64) double outX[kCapacity], outY[kCapacity], outZ[kCapacity];
    alignas(64) double outI[kCapacity], outQ[kCapacity], outU[kCapacity], outV[kCapacity];
    // The s axis at the face, which then is r.

    void move(int from, int to);  // the ray itself, not what was found
};

// For rays that each start on a face of their part, and end there: sets t, normal and face.
// `tables` are those of the parts. Same bits on every processor.
void meetFaces(const FacetTable* const* tables, RayBatch& rays);

// To the face and into the mirrored ray, with its share of the power; what goes out is set aside.
void crossFaces(double index, RayBatch& rays);

}  // namespace macle::light
