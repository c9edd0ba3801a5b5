// Measurements: what each benchmark took, and the ratios made of them.
#pragma once

#include <benchmark/benchmark.h>

#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace macle::bench {

// Prints like the console reporter and keeps, by name ("poseCold/20000"), the repetition that took
// the least processor time: the machine's other work only ever adds to it.
class Measurements : public benchmark::ConsoleReporter {
  public:
    Measurements() : ConsoleReporter(OO_Tabular) {}
    void ReportRuns(const std::vector<Run>& runs) override;

    // Nothing when that benchmark did not run.
    std::optional<double> seconds(const std::string& name) const;
    std::optional<double> counter(const std::string& name, const std::string& counter) const;

  private:
    struct Measured {
        double seconds = 0.0;
        std::map<std::string, double> counters;
    };
    std::map<std::string, Measured> measured_;
};

struct Figure {
    std::string name;  // "warm pose query at 1 M triangles"
    std::string key;   // in the JSON object
    std::string unit;  // "x", "us", "%"
    enum class Goal { AtMost, AtLeast } goal = Goal::AtMost;
    std::optional<double> target;
    std::function<std::optional<double>(const Measurements&)> value;
};

// Where each benchmark file adds its figures; printed in this order.
std::vector<Figure>& figures();

// Time of `name` over time of `of`.
std::function<std::optional<double>(const Measurements&)> timeRatio(std::string name,
                                                                    std::string of);
std::function<std::optional<double>(const Measurements&)> microseconds(std::string name);
std::function<std::optional<double>(const Measurements&)> counterOf(std::string name,
                                                                    std::string counter);

// The table, and one JSON object as the last line.
void printFigures(const Measurements& measurements);

}  // namespace macle::bench
