// A cut of two parts against programs and ways that share nothing with inclusion and exclusion:
// CGAL's Nef polyhedra (exact union) and a Monte Carlo count.
#include <CGAL/Convex_hull_3/dual/halfspace_intersection_3.h>
#include <CGAL/Exact_predicates_exact_constructions_kernel.h>
#include <CGAL/Nef_polyhedron_3.h>
#include <CGAL/Polygon_mesh_processing/measure.h>
#include <CGAL/Surface_mesh.h>
#include <CGAL/boost/graph/convert_nef_polyhedron_to_polygon_mesh.h>
#include <CGAL/convex_hull_3.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "core/base/tolerance.h"
#include "core/cut/library.h"
#include "core/solid/convex_solid.h"

using namespace macle;

namespace {

using Exact = CGAL::Exact_predicates_exact_constructions_kernel;
using Surface = CGAL::Surface_mesh<Exact::Point_3>;
using Nef = CGAL::Nef_polyhedron_3<Exact>;

// The intersection repeats a vertex where more than three planes meet; the hull takes each once.
Nef nefOf(const ConvexPart& part) {
    std::vector<Exact::Plane_3> planes;
    for (const Facet& f : part.facets)
        planes.emplace_back(f.normal.x(), f.normal.y(), f.normal.z(), -f.distance);
    Surface surface;
    CGAL::halfspace_intersection_3(planes.begin(), planes.end(), surface,
                                   boost::make_optional(Exact::Point_3(0, 0, 0)));
    Surface hull;
    CGAL::convex_hull_3(surface.points().begin(), surface.points().end(), hull);
    return Nef(hull);
}

double volumeOf(const Nef& nef) {
    Surface surface;
    CGAL::convert_nef_polyhedron_to_polygon_mesh(nef, surface, true);
    return CGAL::to_double(CGAL::Polygon_mesh_processing::volume(surface));
}

bool inside(const ConvexPart& part, const Eigen::Vector3d& point) {
    return std::all_of(part.facets.begin(), part.facets.end(),
                       [&](const Facet& f) { return f.normal.dot(point) <= f.distance; });
}

}  // namespace

TEST(HeartUnion, VolumeIsThatOfTheExactUnion) {
    const Design heart = makeDesign("heart", {});
    ASSERT_EQ(heart.parts.size(), 2u);
    const double judged = volumeOf(nefOf(heart.parts[0]) + nefOf(heart.parts[1]));
    EXPECT_NEAR(designVolume(heart), judged, tolerance::kVolumeRelative * judged);
}

TEST(HeartUnion, VolumeIsThatOfCountedPoints) {
    const Design heart = makeDesign("heart", {{"cleft_percent", 12}, {"length_percent", 95}});
    const double low[] = {-0.5, -0.5, -0.55};
    const double high[] = {0.7, 0.5, 0.25};
    std::mt19937_64 random(8);
    std::uniform_real_distribution<double> unit(0.0, 1.0);
    constexpr int kPoints = 2'000'000;
    int hits = 0;
    for (int n = 0; n < kPoints; ++n) {
        Eigen::Vector3d p;
        for (int k = 0; k < 3; ++k)
            p[k] = low[k] + (high[k] - low[k]) * unit(random);
        hits += inside(heart.parts[0], p) || inside(heart.parts[1], p) ? 1 : 0;
    }
    const double box = 1.2 * 1.0 * 0.8;
    const double share = static_cast<double>(hits) / kPoints;
    const double deviation = box * std::sqrt(share * (1.0 - share) / kPoints);
    EXPECT_NEAR(designVolume(heart), box * share, 4.0 * deviation);
}
