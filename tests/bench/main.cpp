#include <benchmark/benchmark.h>

#include "tests/bench/measurements.h"

int main(int argc, char** argv) {
    benchmark::Initialize(&argc, argv);
    if (benchmark::ReportUnrecognizedArguments(argc, argv)) return 2;
    macle::bench::Measurements measurements;
    benchmark::RunSpecifiedBenchmarks(&measurements);
    macle::bench::printFigures(measurements);
    return 0;
}
