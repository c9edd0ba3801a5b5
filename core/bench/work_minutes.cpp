#include "core/bench/work_minutes.h"

#include <algorithm>
#include <cmath>

#include "core/base/error.h"

namespace macle {

namespace {

bool takes(const BenchStep& step, const std::string& operation, bool sawn) {
    switch (step.kind) {
        case BenchStepKind::Table:
            return operation == "blocking" || (sawn && operation == "sawing");
        case BenchStepKind::Girdle:
            return operation == "bruting";
        case BenchStepKind::FirstMains:
        case BenchStepKind::FurtherMains:
        case BenchStepKind::Culet:
            return operation == "blocking";
        case BenchStepKind::SmallFacets:
            return operation == "brillianteering";
        case BenchStepKind::GirdlePolish:
            return operation == "girdle polish";
        case BenchStepKind::Check:
            return operation == "acid and check";
        default:
            return false;
    }
}

// What the rates count of a step, in minutes; rates by other units count evenly.
double measureOf(const BenchStep& step, const OperationRates& rates, bool sawn,
                 std::size_t sharers) {
    const bool capSawnOff =
        sawn && step.kind == BenchStepKind::Table && rates.operation != "sawing";
    int facets = 0;
    for (const FacetWork& facet : step.facets)
        facets += facet.count;
    double sum = 0.0;
    for (const WorkRate& rate : rates.minutes) {
        if (rate.per == "ct removed")
            sum += rate.minutes * (capSawnOff ? 0.0 : std::max(0.0, step.removed_ct));
        else if (rate.per == "facet")
            sum += rate.minutes * facets;
        else
            sum += rate.minutes / static_cast<double>(sharers);
    }
    return sum;
}

void add(BenchStep& step, const std::string& operation, double minutes) {
    step.minutes = step.minutes.value_or(0.0) + minutes;
    if (std::find(step.operations.begin(), step.operations.end(), operation) ==
        step.operations.end())
        step.operations.push_back(operation);
}

}  // namespace

void shareMinutes(const WorkEstimate& estimate, const ShopRates& rates, BenchStep& first,
                  const std::vector<BenchStep*>& own) {
    double shared = 0.0;
    for (const WorkStep& work : estimate.steps) {
        const auto rate =
            std::find_if(rates.operations.begin(), rates.operations.end(),
                         [&](const OperationRates& r) { return r.operation == work.operation; });
        require(rate != rates.operations.end(), "an estimated operation has a rate");
        std::vector<BenchStep*> sharers;
        for (BenchStep* step : own)
            if (takes(*step, work.operation, estimate.sawn)) sharers.push_back(step);
        if (sharers.empty())  // done once for the rough, or a cut that has no facets of the kind
            sharers.push_back(
                work.operation == "windowing" || work.operation == "marking" ? &first : own.back());
        std::vector<double> measures;
        double whole = 0.0;
        for (const BenchStep* step : sharers) {
            measures.push_back(measureOf(*step, *rate, estimate.sawn, sharers.size()));
            whole += measures.back();
        }
        for (std::size_t i = 0; i < sharers.size(); ++i) {
            const double minutes = whole > 0.0 ? work.minutes * measures[i] / whole
                                               : work.minutes / static_cast<double>(sharers.size());
            add(*sharers[i], work.operation, minutes);
            shared += minutes;
        }
    }
    constexpr double kLastDigits = 1e-9;
    require(std::abs(shared - estimate.minutes) <= kLastDigits * (1.0 + estimate.minutes),
            "the minutes of a stone's steps add up to its estimate");
}

}  // namespace macle
