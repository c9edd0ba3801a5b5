#include "core/fit/bound.h"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>

#include "bound_cases.h"
#include "core/base/error.h"
#include "core/cut/round_brilliant.h"
#include "core/fit/bound_hull.h"
#include "core/fit/bound_programme.h"
#include "core/fit/bound_visit.h"
#include "core/fit/obstacles.h"

namespace macle {
namespace {

using namespace bound_cases;

Bound boundOf(const Stone& stone, const Design& design, double incumbent, double gap,
              long long cells, int threads = 1, double allowance = 0.0) {
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, design, FitRules{allowance});
    BoundOptions options;
    options.seconds = 0.0;
    options.threads = threads;
    options.incumbent_mm = incumbent;
    options.targetGap_percent = gap;
    options.cells = cells;
    return proveBound(gauge, options);
}

// Of a design that fits in itself exactly at size 1, as a rough.
Stone roughOf(const Design& design, double scale = 1.0) {
    return stoneOf(triangulated(makeSolid(design.parts.front())), scale, Vector3d::Zero());
}

void expectOptimum(const Bound& bound, double optimum, double gap_percent) {
    EXPECT_GE(bound.size_mm, optimum * (1.0 - 1e-12));
    EXPECT_LE(bound.size_mm, optimum * std::cbrt(1.0 + gap_percent / 100.0) * (1.0 + 1e-9));
    EXPECT_TRUE(bound.complete);
    EXPECT_FALSE(bound.certificate.empty());
}

// H. T. Croft, "On maximal regular polyhedra inscribed in a regular polyhedron", Proc. London
// Math. Soc. 41 (1980) 279: ratios of edges. Sizes here are inner radii: cube edge 2, octahedron
// edge sqrt 6, tetrahedron edge 2 sqrt 6 at size 1.
TEST(BoundTest, MeetsTheLargestCubeInAnOctahedron) {
    const double optimum = (2.0 - std::sqrt(2.0)) * std::sqrt(6.0) / 2.0;
    expectOptimum(boundOf(roughOf(octahedron()), box(1, 1, 1), optimum, 0.5, 20000), optimum, 0.5);
}

TEST(BoundTest, MeetsTheLargestOctahedronInACube) {
    const double optimum = 3.0 * std::sqrt(2.0) / 4.0 * 2.0 / std::sqrt(6.0);
    expectOptimum(boundOf(roughOf(box(1, 1, 1)), octahedron(), optimum, 0.5, 20000), optimum, 0.5);
}

TEST(BoundTest, MeetsTheLargestTetrahedronInACube) {
    const double optimum = std::sqrt(2.0) * 2.0 / (2.0 * std::sqrt(6.0));
    expectOptimum(boundOf(roughOf(box(1, 1, 1)), tetrahedron(), optimum, 0.5, 20000), optimum, 0.5);
}

TEST(BoundTest, FindsTheIncumbentItselfWhenNoneIsGiven) {
    const double optimum = std::sqrt(2.0) * 2.0 / (2.0 * std::sqrt(6.0));
    const Bound bound = boundOf(roughOf(box(1, 1, 1)), tetrahedron(), 0.0, 1.0, 20000);
    EXPECT_TRUE(bound.complete);
    ASSERT_TRUE(bound.better.has_value());
    EXPECT_NEAR(bound.better->size_mm, optimum, 0.004 * optimum);
    EXPECT_LE(bound.gap_percent, 1.0 + 1e-6);
}

// 44.01 % of the volume: half-space programme over free orientations, for Tolkowsky's 1919
// proportions with 3 % girdle (53 / 34.5 / 40.75), regular octahedron.
TEST(BoundTest, MeetsTheLargestRoundInARegularOctahedron) {
    RoundProportions proportions;
    proportions.table_percent = 53.0;
    proportions.star_percent = 50.0;
    const Design design = roundBrilliant(proportions);
    const Stone stone = octahedronStone(10.0, 0);
    const Bound bound = boundOf(stone, design, 0.0, 1.0, 20000);
    EXPECT_TRUE(bound.complete);
    const double share =
        designVolume(design) * std::pow(bound.size_mm, 3) / signedVolume_mm3(stone.rough.mesh);
    EXPECT_GE(share, 0.4395);
    EXPECT_LE(share, 0.4401 * 1.012);
}

TEST(BoundTest, TakesTheAllowanceIntoAccount) {
    // A cube in a cube of half edge 1 with allowance 0.1 all round.
    const Bound bound = boundOf(roughOf(box(1, 1, 1)), box(1, 1, 1), 0.9, 0.5, 20000, 1, 0.1);
    expectOptimum(bound, 0.9, 0.5);
}

TEST(BoundTest, ADefectInTheMiddleLowersTheBound) {
    Stone stone = roughOf(box(1, 1, 1));
    const double whole = boundOf(stone, box(1, 1, 1), 0.0, 2.0, 20000).size_mm;
    Defect defect;
    defect.name = "middle";
    // From wall to wall: what is left is 2 x 2 x 1 on either side, so the largest cube has half
    // edge 0.5.
    defect.shape =
        Sheet{{Vector3d(-2, -2, 0), Vector3d(2, -2, 0), Vector3d(2, 2, 0), Vector3d(-2, 2, 0)}};
    stone.defects.push_back(defect);
    const Bound bound = boundOf(stone, box(1, 1, 1), 0.5, 5.0, 60000);
    EXPECT_GE(whole, 1.0);
    EXPECT_GE(bound.size_mm, 0.5);
    EXPECT_LE(bound.size_mm, 0.66);
}

TEST(BoundTest, IsTheSameForAnyNumberOfThreads) {
    Random random(5);
    const Stone stone = stoneOf(roughMesh(random, 3, 0.3), 4.0, Vector3d(1, 2, 3));
    const Design design = fewFacets(8, 34.5, 41, 0.12);
    const Bound one = boundOf(stone, design, 0.0, 0.1, 600, 1);
    const Bound three = boundOf(stone, design, 0.0, 0.1, 600, 3);
    EXPECT_EQ(one.size_mm, three.size_mm);
    EXPECT_EQ(one.incumbent_mm, three.incumbent_mm);
    EXPECT_EQ(one.cells, three.cells);
}

TEST(BoundTest, RefusesOptionsThatMakeNoSense) {
    const Stone stone = roughOf(box(1, 1, 1));
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, box(1, 1, 1), {});
    BoundOptions options;
    options.incumbent_mm = -1.0;
    EXPECT_THROW(proveBound(gauge, options), Error);
    options = {};
    options.targetGap_percent = std::nan("");
    EXPECT_THROW(proveBound(gauge, options), Error);
    options = {};
    options.seconds = 0.0;
    options.targetGap_percent = 0.0;
    EXPECT_THROW(proveBound(gauge, options), Error);
}

TEST(BoundTest, ReturnsWhatIsProvenWhenStopped) {
    const Stone stone = octahedronStone(10.0, 2);
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, fewFacets(8, 34.5, 41, 0.12), {});
    Progress progress;
    progress.cancel();
    const Bound bound = proveBound(gauge, {}, &progress);
    EXPECT_FALSE(bound.complete);
    EXPECT_GT(bound.size_mm, 5.0);
}

TEST(BoundTest, NeverGoesBelowAPlacementThatExists) {
    const char* asked = std::getenv("MACLE_BOUND_CASES");
    const int cases = asked ? std::atoi(asked) : 300;
    int tried = 0;
    for (int i = 0; i < cases; ++i) {
        Random random(1000 + static_cast<std::uint64_t>(i));
        const Stone stone = randomStone(random);
        const Design design = randomDesign(random);
        const double allowance =
            random() % 3 ? 0.0 : 0.02 * bounds(stone.rough.mesh).extent().norm();
        const Obstacles obstacles(stone);
        const Gauge gauge(obstacles, design, FitRules{allowance});
        const Placement known = goodPlacement(gauge, stone, random, 60, 100);
        if (!(known.size_mm > 0.0)) continue;
        ++tried;
        BoundOptions options;
        options.seconds = 0.0;
        options.threads = 1;
        options.targetGap_percent = 0.001;
        options.cells = 300;
        options.incumbent_mm = random() % 2 ? 0.0 : known.size_mm * uniform(random, 0.7, 0.999);
        const Bound bound = proveBound(gauge, options);
        ASSERT_GE(bound.size_mm, known.size_mm) << "case " << i;
        ASSERT_GE(bound.size_mm, bound.incumbent_mm) << "case " << i;
    }
    EXPECT_GT(tried, cases / 2);
}

// Follows a placement that exists down the tree of cells: at every step some cell must hold it.
class Descent {
  public:
    Descent(const Stone& stone, const Gauge& gauge, const Placement& known)
        : known_(known), tree_(gauge.obstacles().tree()) {
        scale_.origin_mm = tree_.skinBox().centre();
        scale_.unit_mm = 0.5 * tree_.skinBox().extent().norm();
        model_.allowance = gauge.rules().allowance_mm / scale_.unit_mm;
        for (const ConvexPart& part : gauge.design().parts) {
            model_.parts.emplace_back(part);
            for (const Vector3d& v : model_.parts.back().vertices())
                model_.reach = std::max(model_.reach, v.norm());
        }
        std::vector<Vector3d> points;
        for (const Vector3d& v : stone.rough.mesh.vertices)
            points.push_back(scale_.toScaled(v));
        model_.planes = supportPlanes(points, 300);
        size_ = known.size_mm / scale_.unit_mm;
        centre_ = scale_.toScaled(known.translation_mm);
        visitor_.emplace(model_, scale_, tree_, gauge.prepared());
        locate();
    }

    // The root cells that hold the placement.
    std::vector<BoundCell> roots() const {
        std::vector<BoundCell> found;
        for (const RotationCell& rotation : coverRotations({})) {
            BoundCell cell;
            cell.rotation = rotation;
            cell.centreLow = Vector3d::Constant(-1.0);
            cell.centreHigh = Vector3d::Constant(1.0);
            cell.bound = 1.5 * size_;
            if (holds(cell)) found.push_back(cell);
        }
        return found;
    }

    bool holds(const BoundCell& cell) const {
        constexpr double kSlack = 1e-10;
        if (cell.rotation.flipped != flipped_ || cell.bound < size_) return false;
        for (int i = 0; i < 3; ++i) {
            if (place_[i] < cell.rotation.low[i] - kSlack) return false;
            if (place_[i] > cell.rotation.high[i] + kSlack) return false;
            if (centre_[i] < cell.centreLow[i] - kSlack) return false;
            if (centre_[i] > cell.centreHigh[i] + kSlack) return false;
        }
        for (const PointChoice& choice : cell.choices) {
            bool kept = false;
            for (const int k : choice.facets) {
                const BoundFacet& facet = model_.parts[choice.part].facets()[k];
                kept =
                    kept || size_ * facet.distance + model_.allowance + choice.margin <=
                                (known_.rotation * facet.normal).dot(choice.point - centre_) + 1e-9;
            }
            if (!kept) return false;
        }
        return true;
    }

    // False when the placement was lost.
    bool follow(BoundCell cell, int steps, Random& random) {
        const double sizeLow = size_ * uniform(random, 0.8, 0.9999);
        for (int i = 0; i < steps; ++i) {
            const VisitResult result = visitor_->visit(cell, sizeLow);
            if (result.bound < size_) return false;
            if (result.children.empty()) return true;
            const BoundCell* next = nullptr;
            for (const BoundCell& child : result.children)
                if (holds(child) && (!next || random() % 2)) next = &child;
            if (!next) return false;
            const BoundCell copy = *next;
            cell = copy;
        }
        return true;
    }

  private:
    void locate() {
        Eigen::Quaterniond q = known_.rotation;
        flipped_ = (q * Vector3d::UnitZ()).z() < 0.0;
        const Eigen::Quaterniond flip(0.0, 1.0, 0.0, 0.0);
        if (flipped_) q = flip.conjugate() * q;
        const Vector3d z = q * Vector3d::UnitZ();
        place_.x() = -z.y() / (1.0 + z.z());
        place_.y() = z.x() / (1.0 + z.z());
        const Eigen::Quaterniond tilt =
            Eigen::Quaterniond(1.0, place_.x(), place_.y(), 0.0).normalized();
        const Eigen::Quaterniond rest = tilt.conjugate() * q;
        place_.z() = 2.0 * std::atan2(rest.z(), rest.w());
        if (place_.z() < 0.0) place_.z() += 2.0 * std::numbers::pi;
        if (place_.z() < 0.0) place_.z() += 2.0 * std::numbers::pi;
    }

    Placement known_;
    const ObstacleTree& tree_;
    BoundScale scale_;
    BoundModel model_;
    double size_ = 0.0;
    Vector3d centre_;
    bool flipped_ = false;
    Vector3d place_;
    std::optional<CellVisitor> visitor_;
};

TEST(BoundTest, NoCellThatHoldsAPlacementIsThrownAway) {
    const char* asked = std::getenv("MACLE_BOUND_CASES");
    const int cases = asked ? std::atoi(asked) : 2000;
    int tried = 0;
    for (int i = 0; i < cases; ++i) {
        Random random(50000 + static_cast<std::uint64_t>(i));
        const Stone stone = randomStone(random);
        const Design design = randomDesign(random);
        const double allowance =
            random() % 3 ? 0.0 : 0.02 * bounds(stone.rough.mesh).extent().norm();
        const Obstacles obstacles(stone);
        const Gauge gauge(obstacles, design, FitRules{allowance});
        const Placement known = goodPlacement(gauge, stone, random, 40, 60);
        if (!(known.size_mm > 0.0)) continue;
        ++tried;
        Descent descent(stone, gauge, known);
        const std::vector<BoundCell> roots = descent.roots();
        ASSERT_FALSE(roots.empty()) << "case " << i;
        ASSERT_TRUE(descent.follow(roots.front(), 30, random)) << "case " << i;
    }
    EXPECT_GT(tried, cases / 2);
}

TEST(BoundHullTest, PlanesHoldEveryPoint) {
    Random random(7);
    for (int i = 0; i < 50; ++i) {
        std::vector<Vector3d> points;
        for (int k = 0; k < 300; ++k)
            points.push_back(direction(random) * uniform(random, 0, 1));
        for (const SupportPlane& plane : supportPlanes(points, i % 2 ? 40 : 100000))
            for (const Vector3d& p : points)
                ASSERT_LE(plane.normal.dot(p), plane.distance);
    }
    // One point, a line, a square: no solid hull, but still sound.
    for (const std::vector<Vector3d>& flat :
         {std::vector<Vector3d>{{1, 2, 3}}, std::vector<Vector3d>{{0, 0, 0}, {1, 1, 1}},
          std::vector<Vector3d>{{0, 0, 0}, {1, 0, 0}, {1, 1, 0}, {0, 1, 0}}})
        for (const SupportPlane& plane : supportPlanes(flat, 100))
            for (const Vector3d& p : flat)
                EXPECT_LE(plane.normal.dot(p), plane.distance);
}

TEST(BoundHullTest, ACubeHasItsSixPlanesOnly) {
    std::vector<Vector3d> corners;
    for (int i = 0; i < 8; ++i)
        corners.emplace_back(i & 1 ? 1 : -1, i & 2 ? 1 : -1, i & 4 ? 1 : -1);
    for (const SupportPlane& plane : supportPlanes(corners, 100)) {
        EXPECT_NEAR(plane.distance, 1.0, 1e-12);
        EXPECT_NEAR(plane.normal.cwiseAbs().maxCoeff(), 1.0, 1e-12);
    }
}

TEST(BoundProgrammeTest, NeverGoesBelowAFeasiblePointAndSolvesToRounding) {
    Random random(11);
    using Programme = BoundProgramme;
    for (int i = 0; i < 3000; ++i) {
        Programme programme;
        Programme::Vector inside;
        for (int j = 0; j < Programme::kSize; ++j) {
            programme.low[j] = -uniform(random, 0.1, 2.0);
            programme.high[j] = uniform(random, 0.1, 2.0);
            inside[j] = uniform(random, programme.low[j], programme.high[j]);
        }
        const int rows = static_cast<int>(random() % 30);
        for (int r = 0; r < rows; ++r) {
            Programme::Row row;
            for (int j = 0; j < Programme::kSize; ++j)
                row.a[j] = uniform(random, -1, 1);
            row.b = row.a.dot(inside) + (random() % 4 ? uniform(random, 0.0, 0.5) : 0.0);
            programme.rows.push_back(row);
        }
        Programme::Basis basis;
        const Programme::Vector objective = Programme::Vector::Unit(0);
        const auto outcome = programme.maximise(objective, basis, -100.0);
        ASSERT_FALSE(outcome.empty);
        ASSERT_TRUE(outcome.solved);
        ASSERT_GE(outcome.bound, inside[0]);
        // Primal feasible and equal to its dual bound: optimal.
        for (const auto& row : programme.rows)
            ASSERT_LE(row.a.dot(outcome.x), row.b + 1e-9);
        ASSERT_NEAR(outcome.bound, outcome.x[0], 3e-6);
    }
}

TEST(BoundProgrammeTest, SaysEmptyOnlyWhenItIs) {
    BoundProgramme programme;
    programme.low.setConstant(-1.0);
    programme.high.setConstant(1.0);
    BoundProgramme::Row row;
    row.a = BoundProgramme::Vector::Constant(1.0);
    row.b = -7.5;
    programme.rows.push_back(row);
    BoundProgramme::Basis basis;
    EXPECT_TRUE(programme.maximise(BoundProgramme::Vector::Unit(0), basis, -100.0).empty);
    programme.rows.front().b = -6.999;
    BoundProgramme::Basis again;
    EXPECT_FALSE(programme.maximise(BoundProgramme::Vector::Unit(0), again, -100.0).empty);
}

}  // namespace
}  // namespace macle
