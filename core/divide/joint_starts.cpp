// Where divisions are begun: one more stone beside those there are, or a piece sawn through its
// middle.
#include <algorithm>
#include <cmath>

#include "core/base/units.h"
#include "core/divide/joint_plan.h"

namespace macle {

using Eigen::Vector3d;

namespace {

constexpr double kSameDirection_deg = 8.0;
constexpr double kLeastShare = 0.01;  // of the rough: a smaller piece is none to cut a stone from
const std::vector<double> kThrough = {0.5, 0.35, 0.65, 0.2, 0.8};  // of a piece, below the saw

void addDistinct(std::vector<Vector3d>& directions, const Vector3d& one, bool eitherWay) {
    const double near = std::cos(radians(kSameDirection_deg));
    if (std::none_of(directions.begin(), directions.end(), [&](const Vector3d& known) {
            const double along = known.dot(one);
            return (eitherWay ? std::abs(along) : along) > near;
        }))
        directions.push_back(one);
}

std::vector<Vector3d> sawable(const JointDesk& desk) {
    std::vector<Vector3d> directions;
    if (desk.stone().axes)
        for (const SawableDirection& one : sawableDirections(*desk.stone().axes))
            directions.push_back(one.normal);
    return directions;
}

// Along the table and the facets of a stone, and the planes of the crystal.
std::vector<Vector3d> beside(const JointDesk& desk, const JointLeaf& leaf) {
    std::vector<Vector3d> directions;
    if (!desk.rules().mechanical) {
        directions.push_back(leaf.placement.rotation * Vector3d::UnitZ());
        for (const ConvexPart& part : desk.design(leaf.cut).parts)
            for (const Facet& facet : part.facets)
                addDistinct(directions, leaf.placement.rotation * facet.normal, false);
    }
    for (const Vector3d& one : sawable(desk))
        for (const double sign : {1.0, -1.0})
            addDistinct(directions, sign * one, false);
    return directions;
}

std::vector<Vector3d> through(const JointDesk& desk, const JointLeaf& leaf) {
    std::vector<Vector3d> directions = sawable(desk);
    if (desk.rules().mechanical) return directions;
    for (int axis = 2; axis >= 0; --axis)
        addDistinct(directions, leaf.placement.rotation * Vector3d::Unit(axis), true);
    for (int x = -1; x <= 1; ++x)
        for (int y = -1; y <= 1; ++y)
            for (int z = 0; z <= 1; ++z)
                if (std::abs(x) + std::abs(y) + z == 2)
                    addDistinct(directions,
                                leaf.placement.rotation * Vector3d(x, y, z).normalized(), true);
    return directions;
}

struct Ranked {
    JointStart start;
    double room = 0.0;  // share of the rough
};

std::vector<JointStart> roomiest(std::vector<Ranked> ranked, std::size_t most) {
    std::stable_sort(ranked.begin(), ranked.end(),
                     [](const Ranked& a, const Ranked& b) { return a.room > b.room; });
    if (ranked.size() > most) ranked.resize(most);
    std::vector<JointStart> starts;
    for (Ranked& one : ranked)
        starts.push_back(std::move(one.start));
    return starts;
}

}  // namespace

std::vector<int> missingFrom(const JointRules& rules, const JointPlan& plan) {
    std::vector<char> there(rules.stones.size(), 0);
    for (const JointLeaf& leaf : plan.leaves)
        there[static_cast<std::size_t>(leaf.wanted)] = 1;
    std::vector<int> missing;
    for (std::size_t i = 0; i < rules.stones.size(); ++i)
        if (there[i] == 0 && std::none_of(missing.begin(), missing.end(), [&](int known) {
                return rules.stones[static_cast<std::size_t>(known)] == rules.stones[i];
            }))
            missing.push_back(static_cast<int>(i));
    return missing;
}

std::vector<JointStart> inTurn(std::vector<std::vector<JointStart>> kinds) {
    std::vector<JointStart> starts;
    bool more = true;
    for (std::size_t i = 0; more; ++i) {
        more = false;
        for (std::vector<JointStart>& kind : kinds)
            if (i < kind.size()) {
                starts.push_back(std::move(kind[i]));
                more = true;
            }
    }
    return starts;
}

std::vector<JointStart> extensions(const JointDesk& desk, const JointPlan& plan, std::size_t most) {
    std::vector<std::vector<JointStart>> kinds;
    const std::vector<int> missing = missingFrom(desk.rules(), plan);
    const std::vector<PieceWalls> pieces = desk.walls(plan.saws);
    const int fresh = static_cast<int>(plan.leaves.size());
    for (int p = 0; p < fresh; ++p) {
        const JointLeaf& leaf = plan.leaves[static_cast<std::size_t>(p)];
        for (const int wanted : missing) {
            const auto with = [&](const Saw& saw, std::vector<int> open) {
                Ranked one;
                one.start.plan = plan;
                one.start.plan.saws.push_back(saw);
                one.start.plan.leaves.push_back({});
                one.start.plan.leaves.back().wanted = wanted;
                one.start.open = std::move(open);
                return one;
            };
            std::vector<Ranked> ranked;
            for (const Vector3d& direction : beside(desk, leaf)) {
                Ranked one = with(desk.sawBeside(plan, p, direction), {fresh});
                one.room = desk.shareWithin(desk.walls(one.start.plan.saws).back());
                if (one.room >= kLeastShare) ranked.push_back(std::move(one));
            }
            kinds.push_back(roomiest(std::move(ranked), most));
            ranked.clear();
            for (const Vector3d& direction : through(desk, leaf)) {
                const std::vector<double> offsets =
                    desk.quantiles(pieces[static_cast<std::size_t>(p)], direction, kThrough);
                for (std::size_t i = 0; i < offsets.size(); ++i) {
                    Ranked one = with(desk.sawThrough(p, direction, offsets[i]), {p, fresh});
                    JointLeaf& again = one.start.plan.leaves[static_cast<std::size_t>(p)];
                    const int kept = again.wanted;
                    again = {};
                    again.wanted = kept;
                    one.room = -static_cast<double>(i);  // by turns in every direction
                    ranked.push_back(std::move(one));
                }
            }
            kinds.push_back(roomiest(std::move(ranked), most));
        }
    }
    return inTurn(std::move(kinds));
}

}  // namespace macle
