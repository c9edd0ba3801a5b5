// What a user sees of a cut in the library: its name, title and proportions with their ranges.
#pragma once

#include <string>
#include <vector>

namespace macle {

struct ProportionInfo {
    std::string key;     // "table_percent"
    std::string option;  // command line: "table"
    std::string label;   // window: "Table"
    std::string unit;    // "%" or "deg"
    double standard = 0.0;
    double low = 0.0;
    double high = 0.0;
    std::string measure;  // how it is read off a solid (core/appraise); may be empty
};

struct CutInfo {
    std::string name;   // "round"
    std::string title;  // "Round brilliant"
    std::vector<ProportionInfo> proportions;
    std::string note;  // a sentence on the convention or source of its proportions
    std::string file;  // of the works; empty for a cut of the program itself
};

}  // namespace macle
