#include "app/window/chart_scale.h"

#include <algorithm>
#include <cmath>

namespace macle::app {
namespace {

// Ends within this share of a step of a tick count as on it.
constexpr double kOnTick = 1e-9;

ChartScale ticked(double low, double high, double step) {
    ChartScale scale;
    const double first = std::floor(low / step + kOnTick);
    const double last = std::max(std::ceil(high / step - kOnTick), first + 1.0);
    for (double k = first; k <= last; k += 1.0)
        scale.ticks.push_back(k == 0.0 ? 0.0 : k * step);
    scale.low = scale.ticks.front();
    scale.high = scale.ticks.back();
    scale.decimals = std::max(0, static_cast<int>(-std::floor(std::log10(step) + kOnTick)));
    return scale;
}

ChartScale fewest(double low, double high, double step, int mostTicks) {
    static constexpr double kGrow[3] = {2.0, 2.5, 2.0};  // 1, 2, 5, 10
    ChartScale scale = ticked(low, high, step);
    const auto most = static_cast<std::size_t>(std::max(mostTicks, 2));
    // From a step near the wanted one a few growths suffice; two ticks may not hold both ends, as
    // for -1 .. 1, whatever the step.
    for (int k = 0; k < 12 && scale.ticks.size() > most; ++k) {
        step *= kGrow[k % 3];
        scale = ticked(low, high, step);
    }
    return scale;
}

}  // namespace

ChartScale roundScale(double low, double high, int mostTicks) {
    if (!std::isfinite(low) || !std::isfinite(high)) return ticked(0.0, 1.0, 1.0);
    if (high < low) std::swap(low, high);
    // Digits beyond these are not shown anywhere.
    const double least = std::max({1e-3, 1e-9 * std::abs(low), 1e-9 * std::abs(high)});
    if (high - low < least) {
        const double room = std::max(least, 0.05 * std::abs(high));
        low -= room;
        high += room;
    }
    const double wanted = (high - low) / std::max(mostTicks - 1, 1);
    return fewest(low, high, std::pow(10.0, std::floor(std::log10(wanted))), mostTicks);
}

ChartScale stepScale(int low, int high, int mostTicks) {
    if (high < low) std::swap(low, high);
    ChartScale scale = fewest(low, std::max(high, low + 1), 1.0, mostTicks);
    scale.decimals = 0;
    return scale;
}

}  // namespace macle::app
