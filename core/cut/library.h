// The library of cuts by name. Proportions are named doubles so that the command line, the window
// and the stone file need no code per cut.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "core/cut/design.h"

namespace macle {

struct ProportionInfo {
    std::string key;     // "table_percent"
    std::string option;  // command line: "table"
    std::string label;   // window: "Table"
    std::string unit;    // "%" or "deg"
    double standard = 0.0;
    double low = 0.0;
    double high = 0.0;
};

struct CutInfo {
    std::string name;   // "round"
    std::string title;  // "Round brilliant"
    std::vector<ProportionInfo> proportions;
};

const std::vector<CutInfo>& cutLibrary();
const CutInfo& findCut(const std::string& name);  // throws Error{NotFound} with the names

// `given` completed with the standard values and checked against each range. The errors of
// makeDesign.
std::map<std::string, double> completeProportions(const CutInfo& cut,
                                                  const std::map<std::string, double>& given);

// Missing keys take their standard value; unknown keys and values out of range are
// Error{BadUsage} naming key, value and range, and so are values that cannot meet one another.
// The design records every proportion, the standard ones too.
Design makeDesign(const std::string& cut, const std::map<std::string, double>& proportions);

}  // namespace macle
