#include "tests/bench/measurements.h"

#include <cstdio>
#include <fstream>
#include <nlohmann/json.hpp>
#include <utility>

#include "core/base/numbers.h"

namespace macle::bench {

namespace {

double secondsOf(const benchmark::BenchmarkReporter::Run& run) {
    return run.cpu_accumulated_time / static_cast<double>(run.iterations);
}

}  // namespace

void Measurements::ReportRuns(const std::vector<Run>& runs) {
    const Run* least = nullptr;
    for (const Run& run : runs) {
        if (run.run_type != Run::RT_Iteration) continue;
        if (run.error_occurred || run.iterations == 0)
            ConsoleReporter::ReportRuns({run});
        else if (!least || secondsOf(run) < secondsOf(*least))
            least = &run;
    }
    if (!least) return;
    ConsoleReporter::ReportRuns({*least});
    std::string name = least->run_name.function_name;
    if (!least->run_name.args.empty()) name += "/" + least->run_name.args;
    Measured& measured = measured_[name];
    measured.seconds = secondsOf(*least);
    for (const auto& [key, counter] : least->counters)
        measured.counters[key] = counter.value;
}

std::optional<double> Measurements::seconds(const std::string& name) const {
    const auto place = measured_.find(name);
    if (place == measured_.end()) return std::nullopt;
    return place->second.seconds;
}

std::optional<double> Measurements::counter(const std::string& name,
                                            const std::string& counter) const {
    const auto place = measured_.find(name);
    if (place == measured_.end()) return std::nullopt;
    const auto found = place->second.counters.find(counter);
    if (found == place->second.counters.end()) return std::nullopt;
    return found->second;
}

std::vector<Figure>& figures() {
    static std::vector<Figure> all;
    return all;
}

std::function<std::optional<double>(const Measurements&)> timeRatio(std::string name,
                                                                    std::string of) {
    return [name = std::move(name), of = std::move(of)](const Measurements& m) {
        const auto a = m.seconds(name), b = m.seconds(of);
        return a && b && *b > 0.0 ? std::optional(*a / *b) : std::nullopt;
    };
}

std::function<std::optional<double>(const Measurements&)> microseconds(std::string name) {
    return [name = std::move(name)](const Measurements& m) {
        const auto seconds = m.seconds(name);
        return seconds ? std::optional(*seconds * 1e6) : std::nullopt;
    };
}

std::function<std::optional<double>(const Measurements&)> counterOf(std::string name,
                                                                    std::string counter) {
    return [name = std::move(name), counter = std::move(counter)](const Measurements& m) {
        return m.counter(name, counter);
    };
}

void printFigures(const Measurements& measurements) {
    std::string load = "unknown";
    std::ifstream("/proc/loadavg") >> load;
    nlohmann::ordered_json object;
    object["load"] = parseNumber(load).value_or(-1.0);
    std::printf("\nLoad of the machine at the end: %s\n\n", load.c_str());
    std::printf("%-64s %12s %-4s %14s\n", "figure", "value", "unit", "target");
    for (const Figure& figure : figures()) {
        const auto value = figure.value(measurements);
        if (!value) continue;
        std::string target;
        if (figure.target) {
            const bool most = figure.goal == Figure::Goal::AtMost;
            const bool met = most ? *value <= *figure.target : *value >= *figure.target;
            target = (most ? "<= " : ">= ") + formatExact(*figure.target) + (met ? "" : "  MISSED");
        }
        std::printf("%-64s %12.4g %-4s %14s\n", figure.name.c_str(), *value, figure.unit.c_str(),
                    target.c_str());
        object[figure.key] = *value;
    }
    std::printf("\n%s\n", object.dump().c_str());
}

}  // namespace macle::bench
