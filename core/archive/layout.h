// Layout: one whole way of cutting the rough, and lists of them as JSON files
// (resources/schemas/layouts.schema.json).
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "core/cut/facet_edit.h"
#include "core/cut/placement.h"
#include "core/fit/fit_rules.h"

namespace macle {

// For now one stone from it.
struct Layout {
    std::string name = "Layout 1";
    std::string cut = "round";
    std::map<std::string, double> proportions;
    std::vector<FacetEdit> edits;  // of the cut's facets, by hand
    Placement placement;
    FitRules rules;
};

// Throws what makeDesign throws.
Design designOf(const Layout& layout);

// Throws Error{NotFound, BadInput, Io}; BadInput says which layout and field.
std::vector<Layout> readLayouts(const std::filesystem::path& file);
void writeLayouts(const std::vector<Layout>& layouts, const std::filesystem::path& file);

}  // namespace macle
