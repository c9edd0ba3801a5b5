// Small random roughs and designs for the tests of the bound.
#pragma once

#include <Eigen/Geometry>
#include <cmath>
#include <numbers>
#include <random>

#include "core/cut/design.h"
#include "core/fit/gauge.h"
#include "core/solid/convex_solid.h"
#include "core/stone/sample.h"
#include "core/stone/stone.h"

namespace macle::bound_cases {

using Eigen::Vector3d;
using Random = std::mt19937_64;

inline double uniform(Random& random, double low, double high) {
    // Own formula: the standard distributions differ between libraries.
    return low + (high - low) * static_cast<double>(random() >> 11) * 0x1.0p-53;
}

inline Vector3d direction(Random& random) {
    for (;;) {
        const Vector3d v(uniform(random, -1, 1), uniform(random, -1, 1), uniform(random, -1, 1));
        if (v.norm() > 0.1 && v.norm() < 1.0) return v.normalized();
    }
}

inline Eigen::Quaterniond rotation(Random& random) {
    for (;;) {
        const Eigen::Quaterniond q(uniform(random, -1, 1), uniform(random, -1, 1),
                                   uniform(random, -1, 1), uniform(random, -1, 1));
        if (q.norm() > 0.1 && q.norm() < 1.0) return q.normalized();
    }
}

inline Facet facet(const Vector3d& normal, double distance) {
    return {"facet", FacetKind::Other, normal.normalized(), distance};
}

inline Design designOf(std::vector<Facet> facets) {
    Design design;
    design.cut = "test";
    design.parts.push_back({std::move(facets)});
    return design;
}

inline Design box(double x, double y, double z) {
    std::vector<Facet> facets;
    for (const double sign : {1.0, -1.0}) {
        facets.push_back(facet(sign * Vector3d::UnitX(), x));
        facets.push_back(facet(sign * Vector3d::UnitY(), y));
        facets.push_back(facet(sign * Vector3d::UnitZ(), z));
    }
    return designOf(std::move(facets));
}

inline Design octahedron() {
    std::vector<Facet> facets;
    for (int i = 0; i < 8; ++i)
        facets.push_back(facet(Vector3d(i & 1 ? -1 : 1, i & 2 ? -1 : 1, i & 4 ? -1 : 1), 1.0));
    return designOf(std::move(facets));
}

inline Design tetrahedron() {
    return designOf({facet({1, 1, 1}, 1.0), facet({1, -1, -1}, 1.0), facet({-1, 1, -1}, 1.0),
                     facet({-1, -1, 1}, 1.0)});
}

// Table, a crown and a pavilion of `sides` facets each, a girdle.
inline Design fewFacets(int sides, double crown_deg, double pavilion_deg, double table) {
    const double deg = std::numbers::pi / 180.0;
    std::vector<Facet> facets{facet(Vector3d::UnitZ(), table)};
    for (int i = 0; i < sides; ++i) {
        const double azimuth = 2.0 * std::numbers::pi * i / sides;
        const Vector3d out(std::cos(azimuth), std::sin(azimuth), 0.0);
        const Vector3d up = Vector3d::UnitZ();
        auto through = [&](double angle, double sign) {
            const Vector3d n = std::sin(angle * deg) * out + sign * std::cos(angle * deg) * up;
            return facet(n, n.dot(0.5 * out + sign * 0.02 * up));
        };
        facets.push_back(facet(out, 0.5));
        facets.push_back(through(crown_deg, 1.0));
        facets.push_back(through(pavilion_deg, -1.0));
    }
    return designOf(std::move(facets));
}

inline Design randomDesign(Random& random) {
    switch (random() % 6) {
        case 0:
            return box(uniform(random, 0.3, 1.0), uniform(random, 0.3, 1.0),
                       uniform(random, 0.3, 1.0));
        case 1:
            return octahedron();
        case 2:
            return tetrahedron();
        case 3: {  // two overlapping boxes
            Design design = box(0.5, 0.2, 0.3);
            design.parts.push_back(box(0.2, 0.5, 0.25).parts.front());
            return design;
        }
        default:
            return fewFacets(3 + static_cast<int>(random() % 6), uniform(random, 25, 40),
                             uniform(random, 38, 45), uniform(random, 0.08, 0.15));
    }
}

inline TriangleMesh convexMesh(Random& random, int planes) {
    ConvexPart part;
    for (int i = 0; i < 6; ++i)
        part.facets.push_back(facet((i % 2 ? -1.0 : 1.0) * Vector3d::Unit(i / 2), 1.4));
    for (int i = 0; i < planes; ++i)
        part.facets.push_back(facet(direction(random), uniform(random, 0.7, 1.2)));
    return triangulated(makeSolid(part));
}

// Star-shaped with random radii: closed, not convex.
inline TriangleMesh roughMesh(Random& random, int refinement, double depth) {
    TriangleMesh mesh = octahedronStone(1.0, refinement).rough.mesh;
    for (Vector3d& v : mesh.vertices)
        v = v.normalized() * uniform(random, 1.0 - depth, 1.0);
    return mesh;
}

inline Stone stoneOf(TriangleMesh mesh, double scale, const Vector3d& shift) {
    Stone stone;
    for (Vector3d& v : mesh.vertices)
        v = scale * v + shift;
    stone.rough.mesh = std::move(mesh);
    stone.rough.volume_mm3 = signedVolume_mm3(stone.rough.mesh);
    return stone;
}

inline Stone randomStone(Random& random) {
    const double scale = std::exp(uniform(random, -1.0, 2.0));
    const Vector3d shift = 10.0 * uniform(random, 0.0, 1.0) * direction(random);
    Stone stone;
    if (random() % 2)
        stone = stoneOf(convexMesh(random, 4 + static_cast<int>(random() % 20)), scale, shift);
    else
        stone = stoneOf(
            roughMesh(random, 1 + static_cast<int>(random() % 3), uniform(random, 0.05, 0.6)),
            scale, shift);
    const int defects = static_cast<int>(random() % 3);
    for (int i = 0; i < defects; ++i) {
        Defect defect;
        defect.name = "defect";
        const Vector3d middle = shift + scale * uniform(random, 0.2, 0.7) * direction(random);
        if (random() % 2) {
            Ellipsoid ellipsoid;
            ellipsoid.centre_mm = middle;
            ellipsoid.halfAxes_mm =
                scale * Vector3d(uniform(random, 0.02, 0.2), uniform(random, 0.02, 0.2),
                                 uniform(random, 0.02, 0.2));
            ellipsoid.rotation = rotation(random);
            defect.shape = ellipsoid;
        } else {
            const Vector3d a = 0.3 * scale * direction(random);
            const Vector3d b = 0.3 * scale * a.cross(direction(random)).normalized();
            defect.shape = Sheet{{middle + a, middle + b, middle - a}};
        }
        if (random() % 3 == 0) defect.margin_mm = scale * uniform(random, 0.0, 0.1);
        stone.defects.push_back(defect);
    }
    return stone;
}

// The best of random poses, improved by random steps.
inline Placement goodPlacement(const Gauge& gauge, const Stone& stone, Random& random, int tries,
                               int steps) {
    const Box extent = bounds(stone.rough.mesh);
    Placement best;
    best.size_mm = 0.0;
    auto attempt = [&](const Eigen::Quaterniond& q, const Vector3d& t) {
        const GaugeAnswer answer = gauge.largest(q, t);
        if (answer.size_mm > best.size_mm) {
            best = {q, t, answer.size_mm};
            return true;
        }
        return false;
    };
    for (int i = 0; i < tries; ++i) {
        Vector3d t;
        for (int axis = 0; axis < 3; ++axis)
            t[axis] = extent.centre()[axis] + 0.3 * uniform(random, -1, 1) * extent.extent()[axis];
        attempt(rotation(random), t);
    }
    double step = 0.2;
    for (int i = 0; i < steps && best.size_mm > 0.0; ++i) {
        const Vector3d w = step * direction(random);
        const Eigen::Quaterniond turn(1.0, w.x(), w.y(), w.z());
        const bool better =
            attempt((best.rotation * turn).normalized(),
                    best.translation_mm + step * best.size_mm * 0.5 * direction(random));
        step *= better ? 1.3 : 0.95;
    }
    return best;
}

}  // namespace macle::bound_cases
