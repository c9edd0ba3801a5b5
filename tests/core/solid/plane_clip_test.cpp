// The quick way to a solid against the exact one. Where it gives an answer at all it must have the
// same faces with the same corners and the same volume; where planes nearly share a line or a
// point it must refuse.
#include "core/solid/plane_clip.h"

#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <cstdlib>
#include <numbers>
#include <random>

#include "core/base/error.h"
#include "core/cut/library.h"
#include "core/cut/round_brilliant.h"
#include "core/solid/exact_solid.h"
#include "core/solid/polygon.h"

using namespace macle;
using Eigen::Vector3d;

namespace {

// MACLE_TEST_SCALE multiplies the number of trials; 1 in the ordinary run.
int trials(int count) {
    const char* text = std::getenv("MACLE_TEST_SCALE");
    return text ? count * std::max(1, std::atoi(text)) : count;
}

struct Tally {
    int given = 0;
    int refused = 0;
};

// The corners of each face, by position, in order round the face.
void expectSameFaces(const ClippedSolid& quick, const ConvexSolid& exact, double near) {
    std::vector<std::size_t> corners(quick.faces.size(), 0);
    for (const SolidFace& face : exact.faces) {
        const std::vector<int>& ring = quick.faces[static_cast<std::size_t>(face.facet)];
        const std::size_t count = face.corners.size();
        corners[static_cast<std::size_t>(face.facet)] = count;
        ASSERT_EQ(ring.size(), count) << "facet " << face.facet;
        const auto apart = [&](std::size_t turn, std::size_t c) {
            return (quick.vertices[static_cast<std::size_t>(ring[(turn + c) % count])] -
                    exact.vertices[static_cast<std::size_t>(face.corners[c])])
                .norm();
        };
        std::size_t turn = 0;
        while (turn + 1 < count && apart(turn, 0) > near)
            ++turn;
        for (std::size_t c = 0; c < count; ++c)
            EXPECT_LE(apart(turn, c), near);
    }
    for (std::size_t k = 0; k < corners.size(); ++k)
        EXPECT_EQ(corners[k], quick.faces[k].size()) << "facet " << k;
}

void compare(const std::vector<Facet>& facets, Tally& tally) {
    const auto quick = clipByPlanes(facets);
    const auto again = clipByPlanes(facets);
    ASSERT_EQ(quick.has_value(), again.has_value());
    if (!quick) {
        ++tally.refused;
        return;
    }
    ++tally.given;
    EXPECT_EQ(quick->vertices, again->vertices);
    EXPECT_EQ(quick->faces, again->faces);
    const SolidDraft exact = exactSolid(facets);
    expectSameFaces(*quick, exact.solid, 1e-11 * std::max(1.0, quick->reach));
    EXPECT_NEAR(volumeByAreas(facets, quick->faces, quick->vertices), exact.volume,
                1e-12 * exact.volume);
}

double unit(std::mt19937_64& random) {
    return static_cast<double>(random() >> 11) * 0x1.0p-53;
}

Vector3d direction(std::mt19937_64& random) {
    for (;;) {
        const Vector3d v(2 * unit(random) - 1, 2 * unit(random) - 1, 2 * unit(random) - 1);
        if (v.norm() > 0.1 && v.norm() < 1.0) return v.normalized();
    }
}

std::vector<Facet> turned(std::vector<Facet> facets, const Eigen::Quaterniond& turn) {
    for (Facet& facet : facets)
        facet.normal = (turn * facet.normal).normalized();
    return facets;
}

std::vector<Facet> anyBrilliant(std::mt19937_64& random) {
    for (;;) {
        std::map<std::string, double> proportions;
        for (const ProportionInfo& info : findCut("round").proportions)
            proportions[info.key] = info.low + (info.high - info.low) * unit(random);
        if (unit(random) < 0.33) proportions["girdle_percent"] = 0.0;
        if (unit(random) < 0.33) proportions["culet_percent"] = 0.0;
        try {
            return makeDesign("round", proportions).parts.front().facets;
        } catch (const Error&) {
            continue;  // proportions that do not meet
        }
    }
}

std::vector<Facet> anyPlanes(std::mt19937_64& random, int count, double spread) {
    std::vector<Facet> facets;
    for (int k = 0; k < count; ++k)
        facets.push_back(
            {"plane", FacetKind::Other, direction(random), 0.5 * (1.0 + spread * unit(random))});
    return facets;
}

}  // namespace

TEST(PlaneClip, BrilliantsOfAllProportionsEqualTheExactSolid) {
    std::mt19937_64 random(41);
    Tally tally;
    for (int i = 0; i < trials(150); ++i)
        compare(anyBrilliant(random), tally);
    // Corners by construction are the rule and must not be taken for doubt.
    EXPECT_LT(tally.refused, tally.given / 5);
    RecordProperty("given", tally.given);
    RecordProperty("refused", tally.refused);
}

TEST(PlaneClip, BrilliantsTurnedAnyWayEqualTheExactSolid) {
    std::mt19937_64 random(42);
    Tally tally;
    for (int i = 0; i < trials(100); ++i) {
        const Eigen::Quaterniond turn(
            Eigen::AngleAxisd(2 * std::numbers::pi * unit(random), direction(random)));
        compare(turned(anyBrilliant(random), turn), tally);
    }
    EXPECT_LT(tally.refused, tally.given / 5);
    RecordProperty("given", tally.given);
    RecordProperty("refused", tally.refused);
}

TEST(PlaneClip, RandomPlanesEqualTheExactSolid) {
    std::mt19937_64 random(43);
    Tally tally;
    for (int i = 0; i < trials(150); ++i) {
        const auto facets = anyPlanes(random, 20 + i % 130, i % 3 == 0 ? 0.0 : 1.0);
        try {
            compare(facets, tally);
        } catch (const Error& unbounded) {
            EXPECT_EQ(unbounded.code(), ErrorCode::NoSolution);
        }
    }
    EXPECT_GT(tally.given, tally.refused);
    RecordProperty("given", tally.given);
    RecordProperty("refused", tally.refused);
}

// Planes moved out of a common corner, line or plane by anything from nothing to a thousandth.
TEST(PlaneClip, NearMeetsAreRefusedOrEqualTheExactSolid) {
    std::mt19937_64 random(44);
    Tally tally;
    for (int i = 0; i < trials(300); ++i) {
        std::vector<Facet> facets = anyBrilliant(random);
        const double miss = std::pow(10.0, -17.0 + 14.0 * unit(random));
        const int kind = i % 4;
        const std::size_t count = facets.size();
        for (std::size_t k = 0; k < count; ++k) {
            if (unit(random) > 0.2) continue;
            if (kind == 0) facets[k].distance *= 1.0 + miss * (2 * unit(random) - 1);
            if (kind == 1)
                facets[k].normal = (facets[k].normal + miss * direction(random)).normalized();
            if (kind == 2) {  // once more, nearly
                Facet copy = facets[k];
                copy.normal = (copy.normal + miss * direction(random)).normalized();
                facets.push_back(copy);
            }
            if (kind == 3) {  // through an edge or a corner, nearly
                const Facet& other = facets[(k + 1) % count];
                const Vector3d n = facets[k].normal + other.normal;
                if (n.norm() < 0.1) continue;
                facets.push_back({"between", FacetKind::Other, n.normalized(),
                                  (facets[k].distance + other.distance) / n.norm() *
                                      (1.0 + miss * (2 * unit(random) - 1))});
            }
        }
        compare(facets, tally);
    }
    EXPECT_GT(tally.given, 0);
    EXPECT_GT(tally.refused, 0);
    RecordProperty("given", tally.given);
    RecordProperty("refused", tally.refused);
}

TEST(PlaneClip, WhatIsUnboundedIsLeftToTheExactWay) {
    EXPECT_FALSE(clipByPlanes({}));
    std::vector<Facet> facets = roundBrilliant({}).parts.front().facets;
    std::erase_if(facets, [](const Facet& f) {
        return f.kind == FacetKind::LowerHalf || f.kind == FacetKind::PavilionMain;
    });
    EXPECT_FALSE(clipByPlanes(facets));
}
