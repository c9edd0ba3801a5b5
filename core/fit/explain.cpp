#include "core/fit/explain.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "core/base/error.h"
#include "core/base/part_progress.h"
#include "core/fit/gauge_kernel.h"
#include "core/fit/local_fit.h"
#include "core/solid/convex_solid.h"

namespace macle {

namespace {

// Of the size: the step over which the contacts are weighed, how far above the smallest value they
// may lie, and how far apart those of one source and facet must be to count as two.
constexpr double kStep = 1e-5;
constexpr double kReach = 4.0;
constexpr double kNeighbourhood = 0.02;
constexpr double kLeastShare = 1e-6;
constexpr double kSettledGain = 1e-7;  // a promise of growth below this share of the size is none

double cube(double x) {
    return x * x * x;
}

}  // namespace

Explanation explain(const Gauge& gauge, const Placement& placement) {
    const ObstacleTree& tree = gauge.obstacles().tree();
    const GaugeAnswer answer = gauge.largest(placement.rotation, placement.translation_mm);
    if (answer.source < 0 || !(answer.size_mm > 0.0))
        throw Error(ErrorCode::BadInput, "Nothing fits around the middle of this placement.",
                    "Move it to sound material first.");
    const double size = answer.size_mm;
    PoseQuery query(tree, gauge.prepared());
    query.aim(placement.rotation, placement.translation_mm);
    std::vector<Contact> contacts;
    const double radius = kStep * size;
    double steep = 0.0;
    for (const PreparedPart& part : gauge.prepared())
        steep = std::max(steep, part.steepest);
    query.gather(size, size + kReach * radius * steep, radius, 1.0 / steep, contacts);
    StepProgram<6> programme;
    for (const Contact& contact : contacts)
        programme.add(contact.value, stepSlope(contact, 0.5 * size));
    const auto solved = programme.solve(radius);

    Explanation explanation;
    explanation.free = solved.reached - size > kSettledGain * size;
    const double growth = 3.0 * designVolume(gauge.design()) * size * size;
    for (const auto& [row, share] : solved.holding) {
        if (row < 0 || share < kLeastShare) continue;
        const Contact& contact = contacts[static_cast<std::size_t>(row)];
        const int source = tree.triangles()[contact.triangle].source;
        FitHold hold;
        hold.limit.point_mm = placement.translation_mm + contact.q;
        hold.limit.facet = gauge.facet(contact.part, query.touchedFacet(contact)).name;
        hold.limit.source = gauge.obstacles().sourceName(source);
        hold.outward = contact.slope.normalized();
        hold.share = share;
        hold.gain_mm3_per_mm = growth * share * contact.slope.norm();
        const auto same = std::find_if(
            explanation.holds.begin(), explanation.holds.end(), [&](const FitHold& other) {
                return other.limit.source == hold.limit.source &&
                       other.limit.facet == hold.limit.facet &&
                       (other.limit.point_mm - hold.limit.point_mm).norm() < kNeighbourhood * size;
            });
        if (same == explanation.holds.end()) {
            explanation.holds.push_back(std::move(hold));
        } else {
            same->share += hold.share;
            same->gain_mm3_per_mm += hold.gain_mm3_per_mm;
        }
    }
    std::stable_sort(explanation.holds.begin(), explanation.holds.end(),
                     [](const FitHold& a, const FitHold& b) { return a.share > b.share; });
    return explanation;
}

Explanation explain(const Stone& stone, const Gauge& gauge, const Placement& placement,
                    const FitOptions& options, Progress* progress) {
    Explanation explanation = explain(gauge, placement);
    const double size = gauge.largest(placement.rotation, placement.translation_mm).size_mm;
    const double volume = designVolume(gauge.design());
    std::set<std::string> holding;
    for (const FitHold& hold : explanation.holds)
        holding.insert(hold.limit.source);
    std::vector<std::size_t> forbidden;
    for (std::size_t i = 0; i < stone.defects.size(); ++i)
        if (stone.defects[i].policy != DefectPolicy::MayStay &&
            holding.contains(gauge.obstacles().sourceName(static_cast<int>(i) + 1)))
            forbidden.push_back(i);
    for (std::size_t done = 0; done < forbidden.size(); ++done) {
        if (progress) progress->throwIfCancelled();
        const std::size_t i = forbidden[done];
        const std::string name = gauge.obstacles().sourceName(static_cast<int>(i) + 1);
        const double each = 1.0 / static_cast<double>(forbidden.size());
        PartProgress part(progress, each * static_cast<double>(done),
                          each * static_cast<double>(done + 1));
        Stone without = stone;
        without.defects[i].policy = DefectPolicy::MayStay;
        const Obstacles obstacles(without);
        const Gauge wider(obstacles, gauge.design(), gauge.rules());
        FitOptions again = options;
        again.starts.push_back(placement);
        again.different = 0;
        again.onBetter = nullptr;
        const FitResult found = findBest(wider, again, &part);
        explanation.defects.push_back({static_cast<int>(i), name,
                                       volume * (cube(found.placement.size_mm) - cube(size)),
                                       found.placement});
    }
    std::stable_sort(
        explanation.defects.begin(), explanation.defects.end(),
        [](const DefectCost& a, const DefectCost& b) { return a.gain_mm3 > b.gain_mm3; });
    return explanation;
}

}  // namespace macle
