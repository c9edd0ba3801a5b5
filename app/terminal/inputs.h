// Inputs shared by the verbs: the stone, the cut with its proportions, the placement file.
#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "app/terminal/arguments.h"
#include "app/terminal/console.h"
#include "core/archive/stone_file.h"
#include "core/cut/design.h"

namespace macle::app {

// --cut, --edits and one option per proportion of any cut in the library.
std::vector<OptionSpec> cutOptions();
std::vector<OptionSpec> proportionOptions();

// Throws Error{BadUsage} for a name not in the library, with the nearest one.
void checkCutName(const std::string& cut);

// The proportions given as options; keys as in the library. Throws Error{BadUsage} for an option
// the cut does not have.
std::map<std::string, double> givenProportions(const Arguments& arguments, const std::string& cut);

// The facet edits of --edits, none without it. Throws Error{NotFound, Io, BadInput}.
std::vector<FacetEdit> givenEdits(const Arguments& arguments);

// A placement file: {quaternion_wxyz, translation_mm} with size_mm, cut, proportions, facet_edits
// and allowance_mm where known; or what `fit --json` prints, with these under `placement`.
struct PlacementFile {
    Placement placement;
    std::optional<double> size_mm;
    std::optional<std::string> cut;
    std::map<std::string, double> proportions;
    std::vector<FacetEdit> edits;
    std::optional<double> allowance_mm;
};
// Throws Error{NotFound, Io, BadInput} naming the file and the field.
PlacementFile readPlacementFile(const std::filesystem::path& file);

// --placement, --layout, --stone, --cut and the proportions.
std::vector<OptionSpec> layoutOptions();

// The layout the arguments mean: from the stone file (--layout, or its first), its first stone
// replaced by a placement file and changed by single options and `size_mm`. Nothing when no
// placement is known. Throws Error{BadUsage} when a placement is known but not the cut or the size.
std::optional<Layout> chosenWholeLayout(const Arguments& arguments, const StoneFile& file,
                                        std::optional<double> size_mm = std::nullopt);

// The stone of the layout, from 0, that the arguments mean (--stone, or the first): changes and
// single figures are about it. Throws Error{BadUsage} when there is no such stone.
std::size_t chosenStone(const Arguments& arguments, const Layout& layout);

// The one stone of it that the arguments mean (--stone, or the first), as a layout of its own.
// Where the rough is sawn `file.stone` becomes the piece that stone is cut from; throws what divide
// throws.
std::optional<Layout> chosenLayout(const Arguments& arguments, StoneFile& file,
                                   std::optional<double> size_mm = std::nullopt);

// --size MM, where the verb has it.
std::optional<double> sizeOption(const Arguments& arguments);

// The cut asked for when there is no placement yet. Throws Error{BadUsage} when there is none.
Layout layoutWithoutPlacement(const Arguments& arguments);

// --material, for stones that are not diamond: densities and indices of resources/materials.
OptionSpec materialOption();
// The material asked for, or `otherwise`. Throws Error{NotFound} with the names.
Material givenMaterial(const Arguments& arguments, const Material& otherwise);

// The stone file or scan, of the material asked for.
StoneFile openStoneArgument(const Arguments& arguments, const std::string& file, Console& console);

}  // namespace macle::app
