// Bodies, designs and independent judges for the tests of gauge and search.
#pragma once

#include <glpk.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <random>
#include <stdexcept>
#include <vector>

#include "core/cut/round_brilliant.h"
#include "core/fit/search.h"
#include "core/stone/sample.h"
#include "core/stone/stone.h"

namespace macle::fit_bodies {

using Eigen::Quaterniond;
using Eigen::Vector3d;
using Random = std::mt19937_64;

inline double uniform(Random& random, double low, double high) {
    // Own formula: the standard distributions differ between libraries.
    return low + (high - low) * static_cast<double>(random() >> 11) * 0x1.0p-53;
}
inline Vector3d inBall(Random& random, double radius) {
    for (;;) {
        const Vector3d v(uniform(random, -1, 1), uniform(random, -1, 1), uniform(random, -1, 1));
        if (v.norm() < 1.0) return radius * v;
    }
}
inline Quaterniond anyRotation(Random& random) {
    for (;;) {
        const Quaterniond q(uniform(random, -1, 1), uniform(random, -1, 1), uniform(random, -1, 1),
                            uniform(random, -1, 1));
        if (q.norm() > 0.1 && q.norm() < 1.0) return q.normalized();
    }
}

// M. Tolkowsky, Diamond Design (1919), with a girdle of 3 %.
inline Design tolkowsky(double girdle_percent = 3.0) {
    RoundProportions p;
    p.table_percent = 53.0;
    p.crown_deg = 34.5;
    p.pavilion_deg = 40.75;
    p.girdle_percent = girdle_percent;
    p.star_percent = 50.0;
    p.lower_half_percent = 75.0;
    return roundBrilliant(p);
}

inline void addFacet(ConvexPart& part, const Vector3d& normal, double distance) {
    Facet facet;
    facet.name = "face " + std::to_string(part.facets.size() + 1);
    facet.normal = normal.normalized();
    facet.distance = distance;
    part.facets.push_back(facet);
}

// Edge 1, so that the size of a placement is the edge.
inline ConvexPart cubePart() {
    ConvexPart part;
    for (int axis = 0; axis < 3; ++axis)
        for (const double sign : {-1.0, 1.0})
            addFacet(part, sign * Vector3d::Unit(axis), 0.5);
    return part;
}
inline Design cube() {
    Design design;
    design.cut = "cube";
    design.parts.push_back(cubePart());
    return design;
}

// Two overlapping parts, neither of which holds the other.
inline Design twins() {
    Design design;
    design.cut = "twins";
    design.parts.push_back(cubePart());
    ConvexPart tall;
    for (const double x : {-1.0, 1.0})
        for (const double y : {-1.0, 1.0})
            addFacet(tall, {x, y, 0.3 * x * y}, 0.35);
    addFacet(tall, {0.1, 0.0, 1.0}, 0.8);
    addFacet(tall, {0.0, 0.2, -1.0}, 0.6);
    design.parts.push_back(tall);
    return design;
}

// A search that ends by poses, so that it can be had again.
inline FitOptions byPoses(long long poses, std::uint64_t seed = 1) {
    FitOptions options;
    options.seconds = 0.0;
    options.poses = poses;
    options.seed = seed;
    return options;
}

// A ball of radius 1 with growth relief and a notch, star-shaped about the origin. Rings of
// latitude; not convex.
inline TriangleMesh notchedBall(int rings, double radius) {
    TriangleMesh mesh;
    const int around = 2 * rings;
    const auto surface = [&](double polar, double turn) {
        const Vector3d u(std::sin(polar) * std::cos(turn), std::sin(polar) * std::sin(turn),
                         std::cos(polar));
        double r = 1.0 + 0.05 * std::sin(7.0 * u.x() + 1.0) * std::sin(6.0 * u.y()) +
                   0.02 * std::sin(17.0 * u.z() + 3.0 * u.x());
        const double reach = (u - Vector3d(0.6, -0.6, 0.53).normalized()).norm() / 0.35;
        r -= 0.35 * std::exp(-reach * reach);
        return Vector3d(radius * r * u);
    };
    mesh.vertices.push_back(surface(0.0, 0.0));
    for (int i = 1; i < rings; ++i)
        for (int j = 0; j < around; ++j)
            mesh.vertices.push_back(
                surface(std::numbers::pi * i / rings, 2.0 * std::numbers::pi * j / around));
    mesh.vertices.push_back(surface(std::numbers::pi, 0.0));
    const auto at = [&](int i, int j) {
        return static_cast<std::uint32_t>(1 + (i - 1) * around + j % around);
    };
    const auto last = static_cast<std::uint32_t>(mesh.vertices.size() - 1);
    for (int j = 0; j < around; ++j) {
        mesh.triangles.push_back({0, at(1, j), at(1, j + 1)});
        mesh.triangles.push_back({last, at(rings - 1, j + 1), at(rings - 1, j)});
        for (int i = 1; i + 1 < rings; ++i) {
            mesh.triangles.push_back({at(i, j), at(i + 1, j), at(i, j + 1)});
            mesh.triangles.push_back({at(i, j + 1), at(i + 1, j), at(i + 1, j + 1)});
        }
    }
    return mesh;
}

inline Stone stoneOf(TriangleMesh mesh) {
    Stone stone;
    stone.name = "test body";
    stone.rough.volume_mm3 = signedVolume_mm3(mesh);
    stone.rough.mesh = std::move(mesh);
    return stone;
}

inline Defect ellipsoid(const std::string& name, const Vector3d& centre, const Vector3d& half) {
    Defect defect;
    defect.name = name;
    defect.shape = Ellipsoid{centre, half, Quaterniond::Identity()};
    return defect;
}

using Corners = std::array<Vector3d, 3>;

// All triangles that stand in the way, one after the other.
inline std::vector<Corners> obstaclesOf(const Stone& stone) {
    std::vector<Corners> corners;
    const auto add = [&](const TriangleMesh& mesh) {
        for (const auto& t : mesh.triangles)
            corners.push_back({mesh.vertices[t[0]], mesh.vertices[t[1]], mesh.vertices[t[2]]});
    };
    add(stone.rough.mesh);
    for (const Defect& defect : stone.defects)
        if (defect.policy == DefectPolicy::MustBeCutAway) add(defectSurface(defect));
    return corners;
}

// What is kept from each of them beside the allowance.
inline std::vector<double> marginsOf(const Stone& stone) {
    std::vector<double> margins(stone.rough.mesh.triangles.size(), 0.0);
    for (const Defect& defect : stone.defects)
        if (defect.policy == DefectPolicy::MustBeCutAway)
            margins.insert(margins.end(), defectSurface(defect).triangles.size(), defect.margin_mm);
    return margins;
}

// min over the triangle of max over the facets, by the linear programmes of GLPK.
inline double triangleByGlpk(const ConvexPart& part, const Quaterniond& rotation,
                             const Vector3d& centre, double allowance, const Corners& corners) {
    glp_prob* lp = glp_create_prob();
    glp_set_obj_dir(lp, GLP_MIN);
    glp_add_cols(lp, 4);  // three weights of the corners, and the value
    for (int i = 1; i <= 3; ++i)
        glp_set_col_bnds(lp, i, GLP_LO, 0.0, 0.0);
    glp_set_col_bnds(lp, 4, GLP_FR, 0.0, 0.0);
    glp_set_obj_coef(lp, 4, 1.0);
    const int columns[] = {0, 1, 2, 3, 4};
    glp_add_rows(lp, 1 + static_cast<int>(part.facets.size()));
    glp_set_row_bnds(lp, 1, GLP_FX, 1.0, 1.0);
    const double sum[] = {0.0, 1.0, 1.0, 1.0};
    glp_set_mat_row(lp, 1, 3, columns, sum);
    int row = 1;
    for (const Facet& facet : part.facets) {
        ++row;
        double values[] = {0.0, 0.0, 0.0, 0.0, -1.0};
        for (int i = 0; i < 3; ++i) {
            const Vector3d local = rotation.conjugate() * (corners[i] - centre);
            values[i + 1] = (facet.normal.dot(local) - allowance) / facet.distance;
        }
        glp_set_mat_row(lp, row, 4, columns, values);
        glp_set_row_bnds(lp, row, GLP_UP, 0.0, 0.0);
    }
    glp_smcp rules;
    glp_init_smcp(&rules);
    rules.msg_lev = GLP_MSG_OFF;
    rules.tol_bnd = rules.tol_dj = 1e-12;
    const bool solved = glp_simplex(lp, &rules) == 0 && glp_get_status(lp) == GLP_OPT;
    const double value = glp_get_obj_val(lp);
    glp_delete_prob(lp);
    if (!solved) throw std::runtime_error("GLPK found no optimum");
    return value;
}

// Whether the triangle enters the part at this size, each facet moved out by the allowance: what is
// left of it after clipping by every facet plane has a corner off each plane.
inline bool enters(const ConvexPart& part, const Quaterniond& rotation, const Vector3d& centre,
                   double size, const Corners& corners, double allowance = 0.0) {
    std::vector<Vector3d> polygon;
    for (const Vector3d& corner : corners)
        polygon.push_back(rotation.conjugate() * (corner - centre));
    for (const Facet& facet : part.facets) {
        std::vector<Vector3d> kept;
        const double limit = size * facet.distance + allowance;
        for (std::size_t i = 0; i < polygon.size(); ++i) {
            const Vector3d &a = polygon[i], &b = polygon[(i + 1) % polygon.size()];
            const double fa = facet.normal.dot(a) - limit, fb = facet.normal.dot(b) - limit;
            if (fa <= 0.0) kept.push_back(a);
            if ((fa < 0.0 && fb > 0.0) || (fa > 0.0 && fb < 0.0))
                kept.push_back(a + (b - a) * (fa / (fa - fb)));
        }
        if (kept.empty()) return false;
        polygon.swap(kept);
    }
    return true;
}

}  // namespace macle::fit_bodies
