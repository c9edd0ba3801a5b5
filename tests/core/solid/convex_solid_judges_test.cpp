// The solid against programs that share nothing with it: qhull (floating point, quickhull of the
// dual and of the vertices), cddlib (exact rationals, double description) and CGAL's own
// half-space intersection with an exact kernel.
#include <CGAL/Convex_hull_3/dual/halfspace_intersection_with_constructions_3.h>
#include <CGAL/Exact_predicates_exact_constructions_kernel.h>
#include <CGAL/Polyhedron_3.h>
#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <cmath>
#include <cstdlib>
#include <memory>
#include <numbers>
#include <random>
#include <string>

#include "core/base/error.h"
#include "core/base/tolerance.h"
#include "core/cut/library.h"
#include "core/solid/convex_solid.h"

extern "C" {
#include <libqhull_r/qhull_ra.h>
}

#define GMPRATIONAL
#include <cddlib/setoper.h>

#include <cddlib/cdd.h>

using namespace macle;
using Eigen::Vector3d;

namespace {

// --- qhull --------------------------------------------------------------------------------------

class Qhull {
  public:
    Qhull(int dimension, std::vector<double> points, const std::string& options)
        : points_(std::move(points)) {
        qh_zero(&state_, stderr);
        const int failed = qh_new_qhull(
            &state_, dimension, static_cast<int>(points_.size()) / dimension, points_.data(), False,
            const_cast<char*>(("qhull " + options).c_str()), nullptr, stderr);
        if (failed != 0) throw std::runtime_error("qhull failed");
    }
    ~Qhull() {
        qh_freeqhull(&state_, !qh_ALL);
        int current = 0;
        int total = 0;
        qh_memfreeshort(&state_, &current, &total);
    }
    Qhull(const Qhull&) = delete;
    Qhull& operator=(const Qhull&) = delete;
    qhT* state() { return &state_; }

  private:
    std::vector<double> points_;
    qhT state_{};
};

double hullVolume(const std::vector<Vector3d>& vertices) {
    std::vector<double> points;
    for (const Vector3d& v : vertices)
        points.insert(points.end(), {v.x(), v.y(), v.z()});
    Qhull hull(3, points, "FA Pp");
    return hull.state()->totvol;
}

// Vertices of the half-space intersection around the origin.
std::vector<Vector3d> qhullVertices(const ConvexPart& part) {
    std::vector<double> planes;
    for (const Facet& f : part.facets)
        planes.insert(planes.end(), {f.normal.x(), f.normal.y(), f.normal.z(), -f.distance});
    Qhull hull(4, planes, "H0,0,0 Pp");
    qhT* qh = hull.state();
    std::vector<Vector3d> vertices;
    facetT* facet = nullptr;
    for (facet = qh->facet_list; facet != nullptr && facet->next != nullptr; facet = facet->next)
        vertices.push_back(Vector3d(facet->normal[0], facet->normal[1], facet->normal[2]) /
                           -facet->offset);
    return vertices;
}

// --- CGAL, exact --------------------------------------------------------------------------------

double exactVolume(const ConvexPart& part) {
    using Exact = CGAL::Exact_predicates_exact_constructions_kernel;
    std::vector<Exact::Plane_3> planes;
    for (const Facet& f : part.facets)
        planes.emplace_back(f.normal.x(), f.normal.y(), f.normal.z(), -f.distance);
    CGAL::Polyhedron_3<Exact> solid;
    CGAL::halfspace_intersection_with_constructions_3(
        planes.begin(), planes.end(), solid,
        boost::optional<Exact::Point_3>(Exact::Point_3(CGAL::ORIGIN)));
    Exact::FT six = 0;
    for (auto face = solid.facets_begin(); face != solid.facets_end(); ++face) {
        auto corner = face->facet_begin();
        const Exact::Vector_3 first = corner->vertex()->point() - CGAL::ORIGIN;
        for (++corner; corner->next() != face->halfedge(); ++corner)
            six += first * CGAL::cross_product(corner->vertex()->point() - CGAL::ORIGIN,
                                               corner->next()->vertex()->point() - CGAL::ORIGIN);
    }
    return CGAL::to_double(six) / 6;
}

// --- cddlib, exact ------------------------------------------------------------------------------

std::vector<Vector3d> cddVertices(const ConvexPart& part) {
    static const bool started = (dd_set_global_constants(), true);
    EXPECT_TRUE(started);
    const auto count = static_cast<long>(part.facets.size());
    dd_MatrixPtr planes = dd_CreateMatrix(count, 4);  // d - n.x >= 0
    planes->representation = dd_Inequality;
    planes->numbtype = dd_Rational;
    for (long k = 0; k < count; ++k) {
        const Facet& f = part.facets[static_cast<std::size_t>(k)];
        mpq_set_d(planes->matrix[k][0], f.distance);
        for (int axis = 0; axis < 3; ++axis)
            mpq_set_d(planes->matrix[k][axis + 1], -f.normal[axis]);
    }
    dd_ErrorType error = dd_NoError;
    dd_PolyhedraPtr polyhedron = dd_DDMatrix2Poly(planes, &error);
    EXPECT_EQ(error, dd_NoError);
    dd_MatrixPtr generators = dd_CopyGenerators(polyhedron);
    std::vector<Vector3d> vertices;
    for (long k = 0; k < generators->rowsize; ++k) {
        EXPECT_EQ(mpq_cmp_ui(generators->matrix[k][0], 1, 1), 0) << "a ray: unbounded";
        vertices.emplace_back(mpq_get_d(generators->matrix[k][1]),
                              mpq_get_d(generators->matrix[k][2]),
                              mpq_get_d(generators->matrix[k][3]));
    }
    dd_FreeMatrix(generators);
    dd_FreePolyhedra(polyhedron);
    dd_FreeMatrix(planes);
    return vertices;
}

// Both ways round: every vertex of one lies within the tolerance of a vertex of the other.
void expectSameVertices(const std::vector<Vector3d>& ours, const std::vector<Vector3d>& theirs) {
    const auto farthest = [](const std::vector<Vector3d>& from, const std::vector<Vector3d>& to) {
        double worst = 0.0;
        for (const Vector3d& a : from) {
            double nearest = 1e300;
            for (const Vector3d& b : to)
                nearest = std::min(nearest, (a - b).norm());
            worst = std::max(worst, nearest);
        }
        return worst;
    };
    EXPECT_LT(farthest(ours, theirs), tolerance::kMergeVertex_mm);
    EXPECT_LT(farthest(theirs, ours), tolerance::kMergeVertex_mm);
}

// --- Inputs -------------------------------------------------------------------------------------

// Every part of a cut at its standard proportions and at `count` random ones that can meet.
std::vector<ConvexPart> partsOfCut(const CutInfo& cut, unsigned seed, int count) {
    std::mt19937 random(seed);
    std::uniform_real_distribution<double> unit(0.0, 1.0);
    std::vector<ConvexPart> parts = makeDesign(cut.name, {}).parts;
    for (int tries = 0, made = 0; tries < 40 * count && made < count; ++tries) {
        std::map<std::string, double> proportions;
        for (const ProportionInfo& info : cut.proportions)
            proportions[info.key] = info.low + (info.high - info.low) * unit(random);
        try {
            const Design design = makeDesign(cut.name, proportions);
            parts.insert(parts.end(), design.parts.begin(), design.parts.end());
            ++made;
        } catch (const Error& refused) {
            EXPECT_EQ(refused.code(), ErrorCode::BadUsage) << refused.what();
        }
    }
    EXPECT_GT(parts.size(), static_cast<std::size_t>(count)) << cut.name;
    return parts;
}

// MACLE_CUT_SETTINGS: how many random settings of each cut, for a long run by hand.
int settingsOfEachCut() {
    const char* given = std::getenv("MACLE_CUT_SETTINGS");
    return given != nullptr ? std::max(1, std::atoi(given)) : 12;
}

// Round brilliants over the whole range of every proportion; a third with a knife edge, a third
// without culet.
std::vector<ConvexPart> randomBrilliants(unsigned seed, int count) {
    std::mt19937 random(seed);
    std::uniform_real_distribution<double> unit(0.0, 1.0);
    std::vector<ConvexPart> parts;
    while (static_cast<int>(parts.size()) < count) {
        std::map<std::string, double> proportions;
        for (const ProportionInfo& info : findCut("round").proportions)
            proportions[info.key] = info.low + (info.high - info.low) * unit(random);
        if (unit(random) < 0.33) proportions["girdle_percent"] = 0.0;
        if (unit(random) < 0.33) proportions["culet_percent"] = 0.0;
        try {
            parts.push_back(makeDesign("round", proportions).parts.front());
        } catch (const Error& refused) {
            EXPECT_EQ(refused.code(), ErrorCode::BadUsage);
        }
    }
    return parts;
}

ConvexPart randomPolytope(std::mt19937& random, int count) {
    std::normal_distribution<double> normal;
    std::uniform_real_distribution<double> distance(0.2, 1.0);
    ConvexPart part;
    for (int k = 0; k < count; ++k)
        part.facets.push_back(
            {"plane " + std::to_string(k), FacetKind::Other,
             Vector3d(normal(random), normal(random), normal(random)).normalized(),
             distance(random)});
    return part;
}

}  // namespace

TEST(SolidAgainstQhull, VolumeOfTwoHundredRandomBrilliantsAgrees) {
    for (const ConvexPart& part : randomBrilliants(1, 200)) {
        const ConvexSolid solid = makeSolid(part);
        const double judged = hullVolume(qhullVertices(part));
        EXPECT_NEAR(solid.volume, judged, tolerance::kVolumeRelative * judged);
        EXPECT_NEAR(hullVolume(solid.vertices), judged, tolerance::kVolumeRelative * judged);
    }
}

TEST(SolidAgainstQhull, VolumeOfEveryCutAgreesAtStandardAndRandomProportions) {
    for (const CutInfo& cut : cutLibrary())
        for (const ConvexPart& part : partsOfCut(cut, 21, settingsOfEachCut())) {
            const ConvexSolid solid = makeSolid(part);
            const double judged = hullVolume(qhullVertices(part));
            EXPECT_NEAR(solid.volume, judged, tolerance::kVolumeRelative * judged) << cut.name;
            EXPECT_NEAR(hullVolume(solid.vertices), judged, tolerance::kVolumeRelative * judged);
        }
}

TEST(SolidAgainstQhull, RandomPolytopesHaveTheSameVerticesAndVolume) {
    std::mt19937 random(2);
    int bounded = 0;
    for (int n = 0; n < 300; ++n) {
        const ConvexPart part = randomPolytope(random, 5 + n % 60);
        ConvexSolid solid;
        try {
            solid = makeSolid(part);
        } catch (const Error& error) {
            // Unbounded: some direction makes an acute angle with no normal.
            EXPECT_EQ(error.code(), ErrorCode::NoSolution);
            continue;
        }
        ++bounded;
        const auto vertices = qhullVertices(part);
        const double judged = hullVolume(vertices);
        EXPECT_NEAR(solid.volume, judged, tolerance::kVolumeRelative * judged);
        EXPECT_EQ(solid.vertices.size(), vertices.size());
    }
    EXPECT_GT(bounded, 200);
}

TEST(SolidAgainstQhull, UnboundedRandomInputsAreRefusedExactlyWhenADirectionEscapes) {
    // The solid is bounded when the origin lies inside the hull of the normals (all distances > 0).
    std::mt19937 random(3);
    int refused = 0;
    for (int n = 0; n < 300; ++n) {
        const ConvexPart part = randomPolytope(random, 4 + n % 9);
        std::vector<double> normals;
        for (const Facet& f : part.facets)
            normals.insert(normals.end(), {f.normal.x(), f.normal.y(), f.normal.z()});
        Qhull hull(3, normals, "Pp");
        bool inside = true;
        for (facetT* f = hull.state()->facet_list; f->next != nullptr; f = f->next)
            inside = inside && f->offset < 0;
        bool made = true;
        try {
            makeSolid(part);
        } catch (const Error& error) {
            EXPECT_EQ(error.code(), ErrorCode::NoSolution);
            made = false;
            ++refused;
        }
        EXPECT_EQ(made, inside) << n;
    }
    EXPECT_GT(refused, 30);
    EXPECT_LT(refused, 270);
}

TEST(SolidAgainstExactNumbers, VolumeOfRandomBrilliantsAgrees) {
    for (const ConvexPart& part : randomBrilliants(4, 200)) {
        const double judged = exactVolume(part);
        EXPECT_NEAR(makeSolid(part).volume, judged, 1e-12 * judged);
    }
}

TEST(SolidAgainstExactNumbers, VolumeOfHairThinGirdlesAndCuletsAgrees) {
    for (const double thin : {1e-12, 1e-9, 1e-7, 1e-6, 1e-5, 1e-4, 1e-2}) {
        const ConvexPart part =
            makeDesign("round", {{"girdle_percent", thin}, {"culet_percent", thin}}).parts.front();
        const double judged = exactVolume(part);
        EXPECT_NEAR(makeSolid(part).volume, judged, 1e-12 * judged) << thin;
    }
}

TEST(SolidAgainstExactNumbers, TwoNearlyEqualBrilliantsInterpenetrate) {
    // 242 planes, all in nearly equal pairs: the hardest input for a solid by planes. Points keep
    // twelve digits where three planes nearly share a line.
    const ConvexPart one = makeDesign("round", {}).parts.front();
    for (const double angle : {1e-16, 1e-14, 1e-12, 1e-10, 1e-8, 1e-6, 1e-4, 1e-2}) {
        ConvexPart both = one;
        const Eigen::AngleAxisd turn(angle, Vector3d(1, 2, 3).normalized());
        for (const Facet& f : one.facets)
            both.facets.push_back({f.name, f.kind, (turn * f.normal).normalized(), f.distance});
        const double judged = exactVolume(both);
        EXPECT_NEAR(makeSolid(both).volume, judged, 1e-11 * judged) << angle;
    }
}

TEST(SolidAgainstDoubleDescription, BrilliantsHaveTheSameVertices) {
    for (const ConvexPart& part : randomBrilliants(6, 12))
        expectSameVertices(makeSolid(part).vertices, cddVertices(part));
}

TEST(SolidAgainstDoubleDescription, EveryCutHasTheSameVerticesAndVolume) {
    for (const CutInfo& cut : cutLibrary()) {
        SCOPED_TRACE(cut.name);
        const ConvexPart part = makeDesign(cut.name, {}).parts.front();
        const ConvexSolid solid = makeSolid(part);
        const std::vector<Vector3d> exact = cddVertices(part);
        expectSameVertices(solid.vertices, exact);
        EXPECT_NEAR(solid.volume, hullVolume(exact), tolerance::kVolumeRelative * solid.volume);
    }
}

TEST(SolidAgainstDoubleDescription, RandomPolytopesHaveTheSameVertices) {
    std::mt19937 random(7);
    for (int n = 0; n < 40; ++n) {
        const ConvexPart part = randomPolytope(random, 30);
        expectSameVertices(makeSolid(part).vertices, cddVertices(part));
    }
}
