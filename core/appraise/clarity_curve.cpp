#include "core/appraise/clarity_curve.h"

#include <algorithm>
#include <set>
#include <tuple>

#include "core/base/error.h"
#include "core/base/part_progress.h"
#include "core/fit/obstacles.h"

namespace macle {

namespace {

constexpr int kMostSevere = 5;

using Permitted = std::set<int>;

Stone withPermitted(const Stone& stone, const Permitted& permitted) {
    Stone changed = stone;
    for (const int i : permitted) {
        DefectPolicy& policy = changed.defects[static_cast<std::size_t>(i)].policy;
        if (policy == DefectPolicy::MustBeCutAway) policy = DefectPolicy::MayStay;
    }
    return changed;
}

// Clusters and single defects, the largest first.
std::vector<Permitted> groupsOf(const Stone& stone) {
    std::vector<std::pair<double, Permitted>> groups;
    const auto extent = [&](int i) {
        return defectBounds(stone.defects[static_cast<std::size_t>(i)]).extent().norm();
    };
    Permitted grouped;
    for (const DefectCluster& cluster : stone.clusters) {
        double size = 0.0;
        for (const int member : cluster.members)
            size += extent(member);
        groups.emplace_back(size, Permitted(cluster.members.begin(), cluster.members.end()));
        grouped.insert(cluster.members.begin(), cluster.members.end());
    }
    for (int i = 0; i < static_cast<int>(stone.defects.size()); ++i)
        if (!grouped.contains(i)) groups.emplace_back(extent(i), Permitted{i});
    std::stable_sort(groups.begin(), groups.end(),
                     [](const auto& a, const auto& b) { return a.first > b.first; });
    if (groups.size() > kMostClusters) groups.resize(kMostClusters);
    std::vector<Permitted> sets;
    for (auto& [size, members] : groups)
        sets.push_back(std::move(members));
    return sets;
}

// Without repeats, smaller sets first.
std::vector<Permitted> setsToTry(const Stone& stone) {
    Permitted allowed, all;
    for (int i = 0; i < static_cast<int>(stone.defects.size()); ++i) {
        all.insert(i);
        if (stone.defects[static_cast<std::size_t>(i)].policy != DefectPolicy::MustBeCutAway)
            allowed.insert(i);
    }
    std::vector<Permitted> sets{allowed};
    for (int severity = 1; severity <= kMostSevere; ++severity) {
        Permitted set = allowed;
        for (const int i : all)
            if (stone.defects[static_cast<std::size_t>(i)].severity <= severity) set.insert(i);
        sets.push_back(std::move(set));
    }
    for (Permitted group : groupsOf(stone)) {
        group.insert(allowed.begin(), allowed.end());
        sets.push_back(std::move(group));
    }
    sets.push_back(all);
    std::stable_sort(sets.begin(), sets.end(), [](const Permitted& a, const Permitted& b) {
        return std::make_tuple(a.size(), std::cref(a)) < std::make_tuple(b.size(), std::cref(b));
    });
    sets.erase(std::unique(sets.begin(), sets.end()), sets.end());
    return sets;
}

ClarityPoint pointOf(const Stone& changed, const Permitted& permitted, const RoughCutter& cutter,
                     const Design& design, const Placement& placement) {
    ClarityPoint point;
    point.permitted.assign(permitted.begin(), permitted.end());
    point.placement = placement;
    point.appraisal = appraise(changed, cutter, design, placement);
    for (const DefectInside& defect : point.appraisal.defects) {
        point.worst_severity = std::max(point.worst_severity, defect.severity);
        point.total_severity += defect.severity;
    }
    return point;
}

}  // namespace

std::vector<ClarityPoint> clarityCurve(const Stone& stone, const RoughCutter& cutter,
                                       const Design& design, const FitRules& rules,
                                       const FitOptions& options, Progress* progress) {
    const std::vector<Permitted> sets = setsToTry(stone);
    const double share = 1.0 / static_cast<double>(sets.size());
    std::vector<ClarityPoint> points;
    for (std::size_t i = 0; i < sets.size(); ++i) {
        if (progress) progress->throwIfCancelled();
        PartProgress part(progress, share * static_cast<double>(i),
                          share * static_cast<double>(i + 1));
        const Stone changed = withPermitted(stone, sets[i]);
        const Obstacles obstacles(changed, nullptr);
        const Gauge gauge(obstacles, design, rules);
        FitOptions one = options;
        one.seconds = options.seconds * share;
        if (options.poses > 0)
            one.poses = std::max<long long>(
                1, static_cast<long long>(static_cast<double>(options.poses) * share));
        one.onBetter = nullptr;
        one.different = 0;
        for (const ClarityPoint& known : points)
            if (std::includes(sets[i].begin(), sets[i].end(), known.permitted.begin(),
                              known.permitted.end()))
                one.starts.push_back(known.placement);
        try {
            const FitResult found = findBest(gauge, one, &part);
            points.push_back(pointOf(changed, sets[i], cutter, design, found.placement));
        } catch (const Error& error) {
            if (error.code() != ErrorCode::NoSolution) throw;
        }
    }
    if (points.empty())
        throw Error(ErrorCode::NoSolution, "No placement of this cut fits into the rough.",
                    "Lower the polishing allowance.");
    // Cleanest first, and of equals the heaviest; then only what is heavier than all before it.
    std::stable_sort(
        points.begin(), points.end(), [](const ClarityPoint& a, const ClarityPoint& b) {
            return std::tie(a.worst_severity, a.total_severity, b.appraisal.finished_ct) <
                   std::tie(b.worst_severity, b.total_severity, a.appraisal.finished_ct);
        });
    std::vector<ClarityPoint> curve;
    for (ClarityPoint& point : points)
        if (curve.empty() || point.appraisal.finished_ct > curve.back().appraisal.finished_ct)
            curve.push_back(std::move(point));
    if (progress) progress->advanceTo(1.0);
    return curve;
}

}  // namespace macle
