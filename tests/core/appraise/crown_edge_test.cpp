// Defects that may stay under the crown edge: what must stay clear of them, the fit and the
// appraisal judged against one another and against points drawn at random.
#include "core/solid/crown_edge.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "core/appraise/appraisal.h"
#include "core/cut/library.h"
#include "core/fit/bound.h"
#include "core/fit/explain.h"
#include "core/fit/free_fit.h"
#include "core/fit/search.h"
#include "core/solid/convex_solid.h"
#include "core/stone/sample.h"

namespace macle {
namespace {

using Eigen::Quaterniond;
using Eigen::Vector2d;
using Eigen::Vector3d;

class Random {
  public:
    double between(double low, double high) {
        // Own formula: the standard distributions differ between libraries.
        return low + (high - low) * static_cast<double>(bits_() >> 11) * 0x1.0p-53;
    }
    Vector3d inBox(double half) {
        return {between(-half, half), between(-half, half), between(-half, half)};
    }
    Quaterniond rotation() {
        for (;;) {
            const Quaterniond q(between(-1, 1), between(-1, 1), between(-1, 1), between(-1, 1));
            if (q.norm() > 0.1 && q.norm() < 1.0) return q.normalized();
        }
    }

  private:
    std::mt19937_64 bits_{7};
};

bool within(const ConvexPart& part, const Vector3d& point) {
    for (const Facet& facet : part.facets)
        if (facet.normal.dot(point) > facet.distance) return false;
    return true;
}

bool within(const Design& design, const Vector3d& point) {
    for (const ConvexPart& part : design.parts)
        if (within(part, point)) return true;
    return false;
}

// The same in other words: in the cut, and below the top of the girdle or under a table.
bool mustStayClear(const Design& design, const std::vector<ConvexSolid>& solids,
                   const Vector3d& point) {
    if (!within(design, point)) return false;
    double top = kLeastEdgeHeight;
    bool underTable = false;
    for (std::size_t p = 0; p < solids.size(); ++p) {
        const ConvexPart& part = design.parts[p];
        const ConvexSolid& solid = solids[p];
        for (const SolidFace& face : solid.faces) {
            const FacetKind kind = part.facets[static_cast<std::size_t>(face.facet)].kind;
            double turn = 0.0;
            for (std::size_t i = 0; i < face.corners.size(); ++i) {
                const auto corner = [&](std::size_t k) {
                    return solid
                        .vertices[static_cast<std::size_t>(face.corners[k % face.corners.size()])];
                };
                // Facets of one part that run on through another are no girdle there.
                const double largest = design.cut == "heart" ? 0.02 : 1.0;
                if (kind == FacetKind::Girdle && corner(i).z() < largest)
                    top = std::max(top, corner(i).z());
                const Vector2d a = (corner(i) - point).head<2>(),
                               b = (corner(i + 1) - point).head<2>();
                turn += std::atan2(a.x() * b.y() - a.y() * b.x(), a.dot(b));
            }
            if (kind == FacetKind::Table && std::abs(turn) > 3.0) underTable = true;
        }
    }
    return underTable || point.z() < top;
}

TEST(CrownEdge, IsWhatLiesAboveTheGirdleBesideTheTableOfEveryCut) {
    Random random;
    for (const CutInfo& cut : cutLibrary()) {
        const Design design = makeDesign(cut.name, {});
        const Design inner = withoutCrownEdge(design);
        for (const ConvexPart& part : inner.parts)
            for (const Facet& facet : part.facets)
                EXPECT_GT(facet.distance, 0.0) << cut.name << " " << facet.name;
        std::vector<ConvexSolid> solids;
        for (const ConvexPart& part : design.parts)
            solids.push_back(makeSolid(part));
        int edge = 0;
        for (int i = 0; i < 3000; ++i) {
            const Vector3d point = random.inBox(0.6);
            EXPECT_EQ(within(inner, point), mustStayClear(design, solids, point))
                << cut.name << " " << point.transpose();
            edge += within(design, point) && !within(inner, point) ? 1 : 0;
        }
        EXPECT_GT(edge, 0) << cut.name << " has a crown edge";
    }
}

Stone stoneWithFeathers(DefectPolicy policy) {
    Stone stone = octahedronStone(8.0, 3);
    Defect ball;
    ball.name = "crystal";
    ball.shape = Ellipsoid{{0.9, 0.4, 0.5}, {0.3, 0.2, 0.25}, Quaterniond(0.9, 0.1, 0.3, 0.2)};
    std::get<Ellipsoid>(ball.shape).rotation.normalize();
    Defect feather;
    feather.name = "feather";
    feather.shape = Sheet{{{-1.6, 0.2, 1.2}, {-1.2, 0.9, 1.3}, {-1.5, 0.8, 1.6}}};
    Defect chip;
    chip.name = "chip";
    chip.shape = octahedronStone(0.5).rough.mesh;
    for (Vector3d& v : std::get<TriangleMesh>(chip.shape).vertices)
        v += Vector3d(0.3, -1.4, -0.6);
    stone.defects = {ball, feather, chip};
    for (Defect& defect : stone.defects)
        defect.policy = policy;
    return stone;
}

bool anyForbidden(const Appraisal& appraisal) {
    for (const DefectInside& defect : appraisal.defects)
        if (defect.forbidden) return true;
    return false;
}

// Least size at which one of many points of the defects' surfaces comes into what must stay clear.
double sizeByPoints(const Stone& stone, const Design& inner, const Placement& pose) {
    double least = 1e9;
    for (const Defect& defect : stone.defects) {
        const TriangleMesh surface = defectSurface(defect);
        for (const auto& t : surface.triangles)
            for (int i = 0; i <= 10; ++i)
                for (int j = 0; i + j <= 10; ++j) {
                    const double u = i / 10.0, v = j / 10.0;
                    const Vector3d p = (1 - u - v) * surface.vertices[t[0]] +
                                       u * surface.vertices[t[1]] + v * surface.vertices[t[2]];
                    const Vector3d q = pose.rotation.conjugate() * (p - pose.translation_mm);
                    for (const ConvexPart& part : inner.parts) {
                        double size = 0.0;
                        for (const Facet& facet : part.facets)
                            size = std::max(size, facet.normal.dot(q) / facet.distance);
                        least = std::min(least, size);
                    }
                }
    }
    return least;
}

TEST(CrownEdge, FitAndAppraisalAgreeAtRandomPosesAndWithPointsOfTheSurfaces) {
    const Stone stone = stoneWithFeathers(DefectPolicy::MayStayAtEdge);
    const Stone bare = stoneWithFeathers(DefectPolicy::MayStay);
    const Obstacles obstacles(stone), skinOnly(bare);
    const RoughCutter cutter(stone.rough);
    Random random;
    int stopped = 0, inadmissible = 0, leftAtEdge = 0;
    for (const char* cut : {"round", "heart"}) {
        const Design design = makeDesign(cut, {});
        const Design inner = withoutCrownEdge(design);
        const Gauge gauge(obstacles, design, {}), free(skinOnly, design, {});
        for (int i = 0; i < 40; ++i) {
            Placement pose;
            pose.rotation = random.rotation();
            // Every tenth begins in the middle of a defect.
            pose.translation_mm =
                i % 10 == 0 ? defectBounds(stone.defects[0]).centre() : random.inBox(1.5);
            const GaugeAnswer answer = gauge.largest(pose.rotation, pose.translation_mm);
            const GaugeAnswer skin = free.largest(pose.rotation, pose.translation_mm);
            const double points = sizeByPoints(stone, inner, pose);
            if (answer.source < 0) {
                ++inadmissible;
                pose.size_mm = std::max(0.5, 0.9 * skin.size_mm);
                EXPECT_TRUE(anyForbidden(appraise(stone, cutter, design, pose))) << i;
                continue;
            }
            // The exact answer is never larger than that of the points, and close to it.
            EXPECT_LE(answer.size_mm, std::min(points, skin.size_mm) + 1e-9) << i;
            EXPECT_GT(answer.size_mm, 0.97 * std::min(points, skin.size_mm) - 0.02) << i;
            pose.size_mm = 0.999 * answer.size_mm;
            const Appraisal below = appraise(stone, cutter, design, pose);
            EXPECT_FALSE(anyForbidden(below)) << i;
            EXPECT_TRUE(below.inside) << i;
            leftAtEdge += below.defects.empty() ? 0 : 1;
            if (answer.source == 0) continue;
            ++stopped;
            pose.size_mm = 1.03 * answer.size_mm + 0.03;
            EXPECT_TRUE(anyForbidden(appraise(stone, cutter, design, pose))) << i;
        }
    }
    EXPECT_GT(stopped, 30);
    EXPECT_GT(inadmissible, 0);
    EXPECT_GT(leftAtEdge, 0) << "some placement uses the permission";
}

FitResult bestOf(const Stone& stone, const Design& design, int threads = 1) {
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, design, {});
    FitOptions options;
    options.seconds = 0.0;
    options.poses = 4000;
    options.threads = threads;
    return findBest(gauge, options);
}

TEST(CrownEdge, TheBestPlacementLeavesSuchDefectsOnlyAtTheEdge) {
    const Design design = makeDesign("round", {});
    Stone stone = stoneWithFeathers(DefectPolicy::MayStayAtEdge);
    stone.defects[0].shape = Ellipsoid{{0.2, 0.1, 0.3}, {0.4, 0.4, 0.4}};
    const RoughCutter cutter(stone.rough);
    const FitResult best = bestOf(stone, design);
    EXPECT_FALSE(anyForbidden(appraise(stone, cutter, design, best.placement)));
    Stone strict = stone, loose = stone;
    for (std::size_t i = 0; i < stone.defects.size(); ++i) {
        strict.defects[i].policy = DefectPolicy::MustBeCutAway;
        loose.defects[i].policy = DefectPolicy::MayStay;
    }
    // A permission can only help; the search is given enough poses to show it.
    const double kept = bestOf(strict, design).placement.size_mm;
    const double any = bestOf(loose, design).placement.size_mm;
    EXPECT_LE(kept, best.placement.size_mm + 1e-6);
    EXPECT_LT(best.placement.size_mm, any);
    const FitResult again = bestOf(stone, design, 4);
    EXPECT_EQ(again.placement.size_mm, best.placement.size_mm);
    EXPECT_EQ(again.placement.translation_mm, best.placement.translation_mm);
    // What holds it is named, also where it is a plane that only such defects meet.
    const Obstacles obstacles(stone);
    const Gauge gauge(obstacles, design, {});
    for (const FitHold& hold : explain(gauge, best.placement).holds)
        EXPECT_FALSE(hold.limit.facet.empty());
    // The bound leaves these defects out and so holds for this answer too.
    BoundOptions proof;
    proof.cells = 2000;
    proof.seconds = 0.0;
    proof.incumbent_mm = best.placement.size_mm;
    const Bound bound = proveBound(gauge, proof);
    EXPECT_GE(bound.size_mm, any * (1.0 - 1e-9));
    EXPECT_NE(bound.certificate.find("crown edge"), std::string::npos);
    if (bound.better) {
        EXPECT_FALSE(anyForbidden(appraise(stone, cutter, design, *bound.better)));
    }
}

TEST(CrownEdge, FreeProportionsKeepToItToo) {
    Stone stone = stoneWithFeathers(DefectPolicy::MayStayAtEdge);
    const Obstacles obstacles(stone);
    FitOptions options;
    options.seconds = 0.0;
    options.poses = 500;
    options.threads = 1;
    const FreeFitResult found = findBestFree(
        obstacles, "round", {}, {}, {{"table_percent", 50.0, 62.0}}, {}, options, nullptr, {});
    const RoughCutter cutter(stone.rough);
    EXPECT_FALSE(anyForbidden(
        appraise(stone, cutter, makeDesign("round", found.proportions), found.fit.placement)));
}

TEST(CrownEdge, TheMarginOfSuchADefectIsKept) {
    const Design design = makeDesign("round", {});
    Stone stone = octahedronStone(8.0, 3);
    Defect spot;
    spot.name = "spot";
    spot.policy = DefectPolicy::MayStayAtEdge;
    // On the axis under the table: the table's plane passes 0.1 mm below its lowest point.
    spot.shape = Sheet{{{-0.1, -0.1, 1.0}, {0.1, -0.1, 1.0}, {0.0, 0.1, 1.0}}};
    double table = 0.0;
    for (const Facet& facet : design.parts[0].facets)
        if (facet.kind == FacetKind::Table) table = facet.distance;
    for (const double margin : {0.0, 0.1, 0.25}) {
        spot.margin_mm = margin;
        stone.defects = {spot};
        const Obstacles obstacles(stone);
        FitRules rules;
        rules.allowance_mm = 0.2;  // kept from the skin, and not from planes that are not polished
        const Gauge gauge(obstacles, design, rules);
        EXPECT_NEAR(gauge.largest(Quaterniond::Identity(), Vector3d::Zero()).size_mm,
                    (1.0 - margin) / table, 1e-9);
    }
}

}  // namespace
}  // namespace macle
