#include "core/fit/free_climb.h"

#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "core/cut/library.h"
#include "core/solid/convex_solid.h"

namespace macle {

namespace {

constexpr double kFirstStep = 0.05;   // of the size
constexpr double kLastStep = 1e-6;    // of the size
constexpr double kLeastGain = 1e-8;   // of the side
constexpr double kReach = 2.0;        // of a step: how far above the least value contacts count
constexpr double kSpan = 2.0;         // sizes of step that lead through a whole range
constexpr double kDifference = 1e-4;  // of the range, for the slope in a proportion

}  // namespace

FreeClimb::FreeClimb(const ObstacleTree& tree, std::string cut,
                     std::map<std::string, double> pinned, std::vector<FacetEdit> edits,
                     const std::vector<FreeProportion>& free, const FitRules& rules,
                     std::function<bool()> stop)
    : tree_(tree),
      cut_(std::move(cut)),
      pinned_(std::move(pinned)),
      edits_(std::move(edits)),
      free_(free),
      rules_(rules),
      stop_(std::move(stop)) {}

std::map<std::string, double> FreeClimb::proportions(const std::vector<double>& values) const {
    std::map<std::string, double> all = pinned_;
    for (std::size_t i = 0; i < free_.size(); ++i)
        all[free_[i].key] = values[i];
    return all;
}

std::shared_ptr<const ShapedDesign> FreeClimb::shape(const std::vector<double>& values) const {
    try {
        auto shaped = std::make_shared<ShapedDesign>();
        shaped->design = makeDesign(cut_, proportions(values), edits_);
        shaped->parts = prepareParts(shaped->design, innerFor(tree_, shaped->design), rules_);
        shaped->side = std::cbrt(designVolume(shaped->design));
        return shaped;
    } catch (const Error& error) {
        // Values that cannot meet one another bound the space that is searched.
        if (error.code() == ErrorCode::BadUsage || error.code() == ErrorCode::NoSolution)
            return nullptr;
        throw;
    }
}

FreeClimb::Place FreeClimb::look(const Pose& pose, const std::vector<double>& values) {
    Place place{pose, values, 0.0, 0.0};
    const auto shaped = shape(values);
    ++poses_;
    if (!shaped || !tree_.admissible(pose.centre_mm)) return place;
    PoseQuery query(tree_, shaped->parts);
    query.aim(pose.rotation, pose.centre_mm);
    place.size_mm = std::max(0.0, query.smallest(-1).value);
    place.side_mm = place.size_mm * shaped->side;
    return place;
}

void FreeClimb::gatherRows(const Place& here, const ShapedDesign& shaped, double radius,
                           Programme& programme) {
    const double lever = 0.5 * here.size_mm;
    PoseQuery query(tree_, shaped.parts);
    query.aim(here.pose.rotation, here.pose.centre_mm);
    const Contact nearest = query.smallest(-1);
    const double steep = nearest.slope.norm();
    std::vector<Contact> contacts;
    query.gather(here.size_mm, here.size_mm + kReach * radius * steep, radius, 1.0 / steep,
                 contacts);
    contacts.push_back(nearest);
    std::vector<Programme::Step> slopes(contacts.size(), Programme::Step::Zero());
    for (std::size_t i = 0; i < contacts.size(); ++i)
        slopes[i].head<6>() = shaped.side * stepSlope(contacts[i], lever);
    for (std::size_t j = 0; j < free_.size(); ++j) {
        const double range = free_[j].high - free_[j].low;
        std::vector<double> values = here.values;
        const double middle = 0.5 * (free_[j].low + free_[j].high);
        values[j] += (values[j] < middle ? kDifference : -kDifference) * range;
        const auto beside = shape(values);
        if (!beside) continue;  // no slope: the climb leaves this proportion alone for a step
        PoseQuery other(tree_, beside->parts);
        other.aim(here.pose.rotation, here.pose.centre_mm);
        const double step_mm = (values[j] - here.values[j]) / range * kSpan * here.size_mm;
        for (std::size_t i = 0; i < contacts.size(); ++i)
            slopes[i][6 + static_cast<int>(j)] =
                (other.onTriangle(contacts[i].triangle).value * beside->side -
                 contacts[i].value * shaped.side) /
                step_mm;
    }
    programme.clear();
    for (std::size_t i = 0; i < contacts.size(); ++i)
        programme.add(contacts[i].value * shaped.side, slopes[i]);
}

FreeClimb::Place FreeClimb::climb(const Place& start, int mostPoses) {
    Place here = start;
    if (!(here.side_mm > 0.0)) return here;
    const long long ceiling = poses_ + mostPoses;
    double radius = kFirstStep * here.size_mm;
    Programme programme;
    while (radius > kLastStep * here.size_mm && poses_ < ceiling && !(stop_ && stop_())) {
        const auto shaped = shape(here.values);
        require(shaped != nullptr, "a place of the climb has proportions that meet");
        ++poses_;
        gatherRows(here, *shaped, radius, programme);
        bool better = false;
        for (int shrink = 0; shrink < 4 && !better && !(stop_ && stop_()); ++shrink) {
            Programme::Step low = Programme::Step::Zero(), high = Programme::Step::Zero();
            low.head<6>().setConstant(-radius);
            high.head<6>().setConstant(radius);
            const double unit = kSpan * here.size_mm;  // mm of step through a whole range
            for (std::size_t j = 0; j < free_.size(); ++j) {
                const double range = free_[j].high - free_[j].low;
                const auto at = 6 + static_cast<int>(j);
                low[at] = std::max(-radius, (free_[j].low - here.values[j]) / range * unit);
                high[at] = std::min(radius, (free_[j].high - here.values[j]) / range * unit);
                low[at] = std::min(low[at], 0.0);
                high[at] = std::max(high[at], 0.0);
            }
            const auto solved = programme.solve(low, high);
            const double gain = solved.reached - here.side_mm;
            if (gain < kLeastGain * here.side_mm) return here;
            std::vector<double> values = here.values;
            for (std::size_t j = 0; j < free_.size(); ++j) {
                const double range = free_[j].high - free_[j].low;
                values[j] += solved.step[6 + static_cast<int>(j)] / unit * range;
                values[j] = std::clamp(values[j], free_[j].low, free_[j].high);
            }
            const Place next =
                look(stepped(here.pose, solved.step.head<6>(), 0.5 * here.size_mm), values);
            if (next.side_mm > here.side_mm) {
                const double share = (next.side_mm - here.side_mm) / gain;
                if (share > 0.7 && solved.step.lpNorm<Eigen::Infinity>() > 0.9 * radius)
                    radius *= 2.0;
                else if (share < 0.3)
                    radius *= 0.5;
                here = next;
                better = true;
            } else {
                radius *= 0.4;
            }
        }
    }
    return here;
}

}  // namespace macle
