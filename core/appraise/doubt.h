// Doubt: how far weight, clarity and value may come out otherwise, from what scanning, finding
// defects and polishing leave unsure. Monte Carlo: in each sample the proportions, the skin and the
// place of every defect are drawn from normal distributions; the stone keeps its pose and planned
// size, and is made smaller where the skin leaves no room for it. A planning estimate.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/appraise/clarity.h"
#include "core/appraise/price_table.h"
#include "core/appraise/reason.h"
#include "core/appraise/subject.h"
#include "core/appraise/value.h"
#include "core/base/progress.h"

namespace macle {

// Standard deviations. The defaults are from memory or common practice, no source.
struct DoubtRules {
    double scan_mm = 0.01;    // of the whole skin, inward or outward
    double defect_mm = 0.02;  // of each defect's place, along each axis
    double angle_deg = 0.2;   // of each proportion in degrees
    double length_mm = 0.02;  // of each proportion in percent, as a length at the stone's size
    int samples = 1000;
    std::uint64_t seed = 1;
    int threads = 0;  // 0: as many as the machine has
};

inline constexpr int kMostSamples = 1000000;
inline constexpr double kWidestDoubt_mm = 1.0;
inline constexpr double kWidestDoubt_deg = 5.0;

struct Percentiles {
    double p5 = 0.0;
    double p50 = 0.0;
    double p95 = 0.0;
    double mean = 0.0;
    double deviation = 0.0;
};
// Linear between order statistics (type 7 of Hyndman and Fan, American Statistician 50 (1996) 361).
// `values` must not be empty.
Percentiles percentilesOf(std::vector<double> values);

// Indices into clarityGrades(): of 100 samples 5 are cleaner, or as clean, and 5 lower, or as low.
struct GradePercentiles {
    int p5 = 0;
    int p50 = 0;
    int p95 = 0;
};

struct DefectDoubt {
    int defect = -1;
    std::string name;
    bool planned = false;  // left inside by the plan
    double shows = 0.0;    // share of the samples in which it lies inside
};

struct DoubtFigure {
    int samples = 0;
    int redrawn = 0;  // draws whose proportions met in no stone; they were drawn again
    Percentiles weight_ct;
    GradePercentiles grade;
    std::vector<double> grades;        // share of the samples that get each of clarityGrades()
    std::optional<Percentiles> value;  // over the samples the table has a price for
    double unpriced = 0.0;             // share it has none for
    std::optional<double> step_ct;     // lower end of the planned stone's price band
    double belowStep = 0.0;            // share of the samples that are rounded to less
    std::vector<DefectDoubt> defects;  // all that may show and are planned away, or the reverse
    Reasons reasons;
    std::string text;
};

// `prices` may be null; `query` gives what the stone's value needs beside weight and clarity, which
// each sample fills in. `reflections` are those of the plan and are kept. The same seed gives the
// same figures at any thread count. Throws Error{BadUsage} for deviations or samples out of range,
// Error{NoSolution} when too many draws meet in no stone, what makeDesign and RoughCutter::finish
// throw, Error{Cancelled}.
DoubtFigure doubtOf(const Subject& subject, const ClarityScale& scale, const PriceTable* prices,
                    const ValueQuery& query, const DoubtRules& rules,
                    const ReflectionsOf& reflections = {}, Progress* progress = nullptr);

}  // namespace macle
