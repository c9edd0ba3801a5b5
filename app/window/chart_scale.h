// The scale of a chart's axis: ends and ticks at round numbers. Pure functions; any thread.
#pragma once

#include <vector>

namespace macle::app {

struct ChartScale {
    double low = 0.0;
    double high = 1.0;
    std::vector<double> ticks;  // low first, high last, evenly spaced
    int decimals = 0;           // that tell the ticks apart

    // 0 at the low end, 1 at the high end.
    double share(double value) const { return (value - low) / (high - low); }
};

// Ticks at multiples of 1, 2 or 5 times a power of ten around the values, at most `mostTicks` (at
// least 2) of them where that is possible with two. Values that are all one get room on both sides.
ChartScale roundScale(double low, double high, int mostTicks);

// Ticks at every whole step, or every 2nd, 5th and so on, so that there are at most `mostTicks`.
ChartScale stepScale(int low, int high, int mostTicks);

}  // namespace macle::app
