#include "tests/bench/bench_bodies.h"

#include <cstdlib>
#include <map>

#include "core/base/numbers.h"
#include "core/cut/round_brilliant.h"
#include "core/fit/search.h"
#include "core/fit/starts.h"
#include "core/stone/sample.h"

namespace macle::bench {

namespace {

constexpr double kStray_mm = 1.0;
constexpr double kStep_mm = 1e-3;
constexpr double kStep_rad = 1e-3;

}  // namespace

double searchSeconds() {
    const char* text = std::getenv("MACLE_BENCH_SECONDS");
    return text ? parseNumber(text).value_or(5.0) : 5.0;
}

Design tolkowsky(double girdle_percent) {
    RoundProportions p;
    p.table_percent = 53.0;
    p.crown_deg = 34.5;
    p.pavilion_deg = 40.75;
    p.girdle_percent = girdle_percent;
    p.star_percent = 50.0;
    p.lower_half_percent = 75.0;
    return roundBrilliant(p);
}

ConvexPart ellipsoidPart(int planes) {
    Draw draw(5);
    const Eigen::Vector3d half(0.5, 0.4, 0.3);
    ConvexPart part;
    for (int k = 0; k < planes; ++k) {
        const Eigen::Vector3d n = draw.direction();
        part.facets.push_back(
            {"plane " + std::to_string(k + 1), FacetKind::Other, n, half.cwiseProduct(n).norm()});
    }
    return part;
}

Stone demoStone(int triangles, int defects) {
    Stone stone = sampleStone(triangles);
    Draw draw(11);
    const Box box = bounds(stone.rough.mesh);
    while (static_cast<int>(stone.defects.size()) < defects) {
        Defect defect;
        defect.name = "pinpoint " + std::to_string(stone.defects.size() + 1);
        defect.kind = DefectKind::Pinpoint;
        const double r = 0.03 + 0.12 * draw.unit();
        const Eigen::Vector3d place =
            box.centre() + 0.42 * box.extent().cwiseProduct(draw.direction());
        defect.shape = Ellipsoid{place, {r, 0.8 * r, 0.6 * r}};
        stone.defects.push_back(defect);
    }
    for (Defect& defect : stone.defects)
        defect.policy = DefectPolicy::MustBeCutAway;
    return stone;
}

Scene::Scene(int triangles, int defects)
    : stone(demoStone(triangles, defects)), obstacles(stone), gauge(obstacles, tolkowsky(), {}) {}

const Scene& scene(int triangles) {
    static std::map<int, std::unique_ptr<Scene>> made;
    auto& place = made[triangles];
    if (!place) place = std::make_unique<Scene>(triangles, 0);
    return *place;
}

std::vector<Pose> strayPoses(const Scene& scene, int count) {
    Draw draw(17);
    std::vector<Pose> poses;
    for (int i = 0; static_cast<int>(poses.size()) < count; ++i) {
        Pose pose;
        pose.rotation = spreadRotation(static_cast<std::uint64_t>(i), 3);
        pose.centre_mm = kStray_mm * std::cbrt(draw.unit()) * draw.direction();
        if (scene.obstacles.admissibleCentre(pose.centre_mm)) poses.push_back(pose);
    }
    return poses;
}

Pose settledPose(const Scene& scene) {
    FitOptions options;
    options.seconds = 0.0;
    options.poses = 20000;
    const Placement best = findBest(scene.gauge, options).placement;
    return {best.rotation, best.translation_mm};
}

std::vector<Pose> nearbyPoses(const Pose& from, int count) {
    Draw draw(29);
    std::vector<Pose> poses{from};
    while (static_cast<int>(poses.size()) < count) {
        Pose pose = poses.back();
        // Never far from the start, whatever the count.
        if (poses.size() % 16 == 0) pose = from;
        pose.centre_mm += kStep_mm * draw.direction();
        pose.rotation =
            (Eigen::Quaterniond(Eigen::AngleAxisd(kStep_rad, draw.direction())) * pose.rotation)
                .normalized();
        poses.push_back(pose);
    }
    return poses;
}

}  // namespace macle::bench
