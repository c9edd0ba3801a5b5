// Every row of a cell, against poses of the cell: none that satisfies the true condition may break
// the row. Poses at the corners of cells of very unequal widths leave no slack to hide behind.
#include "core/fit/bound_rows.h"

#include <gtest/gtest.h>

#include <cmath>
#include <utility>

#include "bound_cases.h"

namespace macle {
namespace {

using namespace bound_cases;
using Vector = BoundProgramme::Vector;

constexpr double kRounding = 1e-11;

double width(Random& random, double most) {
    return random() % 4 ? most * std::pow(10.0, uniform(random, -4.0, 0.0)) : 0.0;
}

Eigen::Quaterniond rotationOf(bool flipped, const Vector3d& place) {
    const Eigen::Quaterniond tilt = Eigen::Quaterniond(1.0, place.x(), place.y(), 0.0).normalized();
    const Eigen::Quaterniond spun =
        tilt * Eigen::Quaterniond(Eigen::AngleAxisd(place.z(), Vector3d::UnitZ()));
    return flipped ? Eigen::Quaterniond(0.0, 1.0, 0.0, 0.0) * spun : spun;
}

double within(Random& random, double low, double high) {
    switch (random() % 3) {
        case 0:
            return low;
        case 1:
            return high;
        default:
            return uniform(random, low, high);
    }
}

struct Pose {
    Eigen::Quaterniond rotation;
    Vector3d centre;
    double size;
    Vector x;
};

// A random cell with its rows.
struct Fixture {
    explicit Fixture(Random& random) {
        design = randomDesign(random);
        for (const ConvexPart& part : design.parts) {
            model.parts.emplace_back(part);
            for (const Vector3d& v : model.parts.back().vertices())
                model.reach = std::max(model.reach, v.norm());
        }
        for (int i = 0; i < 12; ++i)
            model.planes.push_back({direction(random), uniform(random, 0.2, 1.0)});
        model.allowance = random() % 2 ? 0.0 : uniform(random, 0.0, 0.1);
        sizeLow = uniform(random, 0.1, 0.8) / model.reach;
        sizeHigh = sizeLow * (1.0 + width(random, 1.0));
        cell.bound = sizeHigh;
        cell.rotation.flipped = random() % 2;
        Vector3d middle;
        do {
            middle = Vector3d(uniform(random, -1, 1), uniform(random, -1, 1),
                              uniform(random, 0, 2.0 * std::numbers::pi));
        } while (middle.head<2>().norm() > 1.0);
        for (int i = 0; i < 3; ++i) {
            const double half = width(random, i < 2 ? 0.2 : 0.4);
            cell.rotation.low[i] = middle[i] - half;
            cell.rotation.high[i] = middle[i] + half;
            const double at = uniform(random, -0.4, 0.4), reach = width(random, 0.3);
            cell.centreLow[i] = at - reach;
            cell.centreHigh[i] = at + reach;
        }
        rows.emplace(model, cell, sizeLow, sizeHigh);
        rows->setBox(programme);
    }

    Pose pose(Random& random) const {
        Pose pose;
        Vector3d place;
        for (int i = 0; i < 3; ++i) {
            place[i] = within(random, cell.rotation.low[i], cell.rotation.high[i]);
            pose.centre[i] = within(random, cell.centreLow[i], cell.centreHigh[i]);
        }
        pose.size = within(random, sizeLow, sizeHigh);
        pose.rotation = rotationOf(cell.rotation.flipped, place);
        const Eigen::Quaterniond own =
            cell.rotation.base().conjugate() * pose.rotation *
            Eigen::Quaterniond(Eigen::AngleAxisd(-cell.rotation.centre().z(), Vector3d::UnitZ()));
        const Vector3d r = own.vec() / own.w();
        pose.x[0] = pose.size;
        pose.x.segment<3>(1) = 2.0 * pose.size * r / (1.0 + r.squaredNorm());
        pose.x.tail<3>() = pose.centre - rows->centreAt(Vector::Zero());
        return pose;
    }

    Design design;
    BoundModel model;
    BoundCell cell;
    double sizeLow = 0.0, sizeHigh = 0.0;
    std::optional<CellRows> rows;
    BoundProgramme programme;
};

TEST(BoundRowsTest, TheBoxHoldsEveryPoseOfItsCell) {
    Random random(21);
    for (int i = 0; i < 1500; ++i) {
        const Fixture f(random);
        for (int k = 0; k < 20; ++k) {
            const Pose pose = f.pose(random);
            for (int j = 0; j < BoundProgramme::kSize; ++j) {
                ASSERT_GE(pose.x[j], f.programme.low[j] - kRounding) << "case " << i;
                ASSERT_LE(pose.x[j], f.programme.high[j] + kRounding) << "case " << i;
            }
            for (const BoundProgramme::Row& row : f.programme.rows)
                ASSERT_LE(row.a.dot(pose.x), row.b + kRounding) << "case " << i;
            ASSERT_LT(f.rows->rotationAt(pose.x).angularDistance(pose.rotation), 1e-6);
            ASSERT_LT((f.rows->centreAt(pose.x) - pose.centre).norm(), kRounding);
        }
    }
}

TEST(BoundRowsTest, NoRowOfTheHullIsStricterThanTheTruth) {
    Random random(22);
    for (int i = 0; i < 1500; ++i) {
        const Fixture f(random);
        for (int k = 0; k < 12; ++k) {
            const Pose pose = f.pose(random);
            const int part = static_cast<int>(random() % f.model.parts.size());
            for (int plane = 0; plane < static_cast<int>(f.model.planes.size()); ++plane) {
                // The farthest vertex matters most, any other holds too.
                const auto& vertices = f.model.parts[part].vertices();
                const int vertex = random() % 2 ? f.rows->worstPair(plane, part, pose.x).vertex
                                                : static_cast<int>(random() % vertices.size());
                const Vector3d& n = f.model.planes[plane].normal;
                const double truth =
                    n.dot(pose.size * (pose.rotation * vertices[vertex]) + pose.centre) +
                    f.model.allowance - f.model.planes[plane].distance;
                double error = 0.0;
                const auto row = f.rows->hullRow({plane, part, vertex}, &error);
                ASSERT_LE(row.a.dot(pose.x) - row.b, truth + kRounding) << "case " << i;
                ASSERT_GE(error, 0.0);
            }
        }
    }
}

TEST(BoundRowsTest, NoRowOfAPointIsStricterThanTheTruth) {
    Random random(23);
    for (int i = 0; i < 3000; ++i) {
        const Fixture f(random);
        const int part = static_cast<int>(random() % f.model.parts.size());
        const int facets = static_cast<int>(f.model.parts[part].facets().size());
        for (int p = 0; p < 6; ++p) {
            const Vector3d point = uniform(random, 0.0, 1.0) * direction(random);
            std::vector<BoundProgramme::Row> some;
            std::vector<int> which;
            for (int k = 0; k < facets; ++k) {
                if (random() % 2) continue;
                some.push_back(f.rows->pointRow(point, part, k));
                which.push_back(k);
            }
            if (some.empty()) continue;
            const auto joined = CellRows::either(f.programme, some);
            for (int k = 0; k < 8; ++k) {
                const Pose pose = f.pose(random);
                bool any = false;
                for (std::size_t at = 0; at < some.size(); ++at) {
                    const BoundFacet& facet = f.model.parts[part].facets()[which[at]];
                    const double truth = pose.size * facet.distance + f.model.allowance -
                                         (pose.rotation * facet.normal).dot(point - pose.centre);
                    const auto& row = some[at];
                    ASSERT_LE(row.a.dot(pose.x) - row.b, truth + kRounding) << "case " << i;
                    any = any || truth <= 0.0;
                    if (CellRows::impossible(f.programme, row)) {
                        ASSERT_GT(truth, -kRounding) << "case " << i;
                    }
                }
                if (any) {
                    ASSERT_LE(joined.a.dot(pose.x) - joined.b, kRounding) << "case " << i;
                }
            }
        }
    }
}

TEST(BoundRowsTest, RowsOfANarrowCellAreTheTruthToSecondOrder) {
    // Halving all widths of a cell must divide what the rows leave out by about four.
    Random random(24);
    double wide = 0.0, narrow = 0.0;
    for (int i = 0; i < 300; ++i) {
        Fixture f(random);
        const Vector3d turn = f.cell.rotation.centre();
        const Vector3d place = 0.5 * (f.cell.centreLow + f.cell.centreHigh);
        const Vector3d point = uniform(random, 0.0, 1.0) * direction(random);
        for (const double half : {0.02, 0.01}) {
            BoundCell cell = f.cell;
            cell.rotation.low = turn.array() - half;
            cell.rotation.high = turn.array() + half;
            cell.centreLow = place.array() - half;
            cell.centreHigh = place.array() + half;
            const CellRows rows(f.model, cell, f.sizeLow, f.sizeLow * (1.0 + half));
            double hull = 0.0, facet = 0.0;
            rows.hullRow({0, 0, 0}, &hull);
            rows.pointRow(point, 0, 0, &facet);
            (half > 0.015 ? wide : narrow) += hull + facet;
        }
    }
    EXPECT_LT(narrow, 0.27 * wide);
}

TEST(BoundRowsTest, RootCellsCoverAllRotationsUpToTheSymmetry) {
    Random random(25);
    for (const int order : {1, 2, 3, 4, 8}) {
        DesignSymmetry symmetry;
        symmetry.order = order;
        const std::vector<RotationCell> cells = coverRotations(symmetry);
        for (int i = 0; i < 500; ++i) {
            const Eigen::Quaterniond wanted = rotation(random);
            bool found = false;
            for (int turn = 0; turn < order && !found; ++turn) {
                const Eigen::Quaterniond same =
                    wanted * Eigen::Quaterniond(Eigen::AngleAxisd(
                                 2.0 * std::numbers::pi * turn / order, Vector3d::UnitZ()));
                for (const RotationCell& cell : cells) {
                    // In the cell: its own Rodrigues vector lies in the box of the corners.
                    const Eigen::Quaterniond own = cell.base().conjugate() * same *
                                                   Eigen::Quaterniond(Eigen::AngleAxisd(
                                                       -cell.centre().z(), Vector3d::UnitZ()));
                    if (std::abs(own.w()) < 0.5) continue;
                    const Vector3d r = own.vec() / own.w();
                    Vector3d low = Vector3d::Zero(), high = Vector3d::Zero();
                    for (const Vector3d& corner : cell.rodriguesCorners()) {
                        low = low.cwiseMin(corner);
                        high = high.cwiseMax(corner);
                    }
                    found = (r.array() >= low.array() - 1e-9).all() &&
                            (r.array() <= high.array() + 1e-9).all();
                    if (found) break;
                }
            }
            ASSERT_TRUE(found) << "order " << order << " case " << i;
        }
    }
}

TEST(BoundShapeTest, SymmetriesAreFoundAndNoneInvented) {
    EXPECT_EQ(findSymmetry(box(1, 1, 1)).order, 4);
    EXPECT_TRUE(findSymmetry(box(1, 1, 1)).flips);
    EXPECT_EQ(findSymmetry(box(1, 2, 3)).order, 2);
    EXPECT_TRUE(findSymmetry(box(1, 2, 3)).flips);
    EXPECT_EQ(findSymmetry(tetrahedron()).order, 2);
    EXPECT_TRUE(findSymmetry(tetrahedron()).flips);
    EXPECT_EQ(findSymmetry(octahedron()).order, 4);
    for (int sides = 3; sides <= 9; ++sides) {
        const DesignSymmetry found = findSymmetry(fewFacets(sides, 34, 41, 0.12));
        EXPECT_EQ(found.order, sides);
        EXPECT_FALSE(found.flips);
        EXPECT_LT(found.error, 1e-11);
    }
    Random random(3);
    std::vector<Facet> facets;
    for (int i = 0; i < 20; ++i)
        facets.push_back(facet(direction(random), 1.0));
    const DesignSymmetry none = findSymmetry(designOf(facets));
    EXPECT_EQ(none.order, 1);
    EXPECT_FALSE(none.flips);
}

TEST(BoundShapeTest, VerticesLieInThePartAndTheFarthestIsFound) {
    Random random(4);
    for (int i = 0; i < 100; ++i) {
        const Design design = randomDesign(random);
        for (const ConvexPart& convex : design.parts) {
            const BoundPart part(convex);
            for (const Vector3d& v : part.vertices())
                for (const BoundFacet& facet : part.facets())
                    ASSERT_LE(facet.normal.dot(v), facet.distance);
            for (int k = 0; k < 50; ++k) {
                const Vector3d d = direction(random);
                double most = -1e300;
                for (const Vector3d& v : part.vertices())
                    most = std::max(most, d.dot(v));
                ASSERT_NEAR(d.dot(part.vertices()[part.farthest(d)]), most, 1e-9);
            }
        }
    }
}

}  // namespace
}  // namespace macle
