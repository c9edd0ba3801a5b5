// The stone file (.macle): one SQLite database per stone. Inputs are stored, results recomputed.
// application_id 0x4D61636C ("Macl"), user_version = schema version, rollback journal, opened
// defensively. Saving writes a new file beside the old one and renames it into place, so that a
// crash leaves the old or the new.
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "core/base/progress.h"
#include "core/cut/placement.h"
#include "core/fit/fit_rules.h"
#include "core/stone/stone.h"

namespace macle {

// One whole way of cutting the rough; for now one stone from it.
struct Layout {
    std::string name = "Layout 1";
    std::string cut = "round";
    std::map<std::string, double> proportions;
    Placement placement;
    FitRules rules;
};

struct StoneFile {
    Stone stone;
    std::vector<Layout> layouts;
};

// Throws Error{BadInput} for a file that is not a stone file, is newer than this program, or is
// damaged; Error{Io}.
StoneFile openStoneFile(const std::filesystem::path& file);
void saveStoneFile(const StoneFile& content, const std::filesystem::path& file);

// A STONE argument: a `.macle` file, or a mesh taken in as a stone of diamond with no defects.
StoneFile openStone(const std::filesystem::path& file, Progress* progress = nullptr);

}  // namespace macle
