#include "core/fit/turn_fit.h"

#include "core/base/error.h"
#include "core/base/units.h"
#include "core/fit/local_fit.h"

namespace macle {

namespace {

// Of the size. A climb of one width may end where walls parallel to facets hide one another.
constexpr double kFirstSteps[] = {0.03, 0.1, 0.004};

}  // namespace

std::vector<TurnedFit> turnedFits(const Gauge& gauge, const Placement& start,
                                  const std::vector<double>& turns_deg, Progress* progress) {
    if (!start.rotation.coeffs().allFinite() || !(start.rotation.norm() > 0.5))
        throw Error(ErrorCode::BadUsage, "The rotation of the placement is not a unit quaternion.",
                    "Give four finite numbers whose squares sum to 1.");
    LocalFit fit(gauge.obstacles().tree(), gauge.prepared(),
                 [progress] { return progress && progress->cancelled(); });
    Climb rules;
    rules.turning = false;
    std::vector<TurnedFit> fits;
    for (const double turn_deg : turns_deg) {
        if (progress) progress->throwIfCancelled();
        const Pose pose{
            (start.rotation.normalized() *
             Eigen::Quaterniond(Eigen::AngleAxisd(radians(turn_deg), Eigen::Vector3d::UnitZ())))
                .normalized(),
            start.translation_mm};
        const LocalFit::Place from = fit.look(pose);
        if (progress) progress->throwIfCancelled();
        if (from.triangle < 0)
            throw Error(ErrorCode::NoSolution,
                        "The middle of the stone lies outside the rough or inside a defect.",
                        "Move it to sound material first.");
        LocalFit::Place place = from;
        for (const double firstStep : kFirstSteps) {
            rules.firstStep = firstStep;
            place = fit.climb(place, rules);
            if (progress) progress->throwIfCancelled();
        }
        fits.push_back(
            {turn_deg, from.size_mm, {place.pose.rotation, place.pose.centre_mm, place.size_mm}});
        if (progress)
            progress->advanceTo(static_cast<double>(fits.size()) /
                                static_cast<double>(turns_deg.size()));
    }
    return fits;
}

}  // namespace macle
