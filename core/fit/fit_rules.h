// FitRules: what a placement must respect besides the skin and the forbidden defects.
#pragma once

namespace macle {

struct FitRules {
    double allowance_mm = 0.0;  // kept between the finished facets and skin or defect

    bool operator==(const FitRules&) const = default;
};

}  // namespace macle
