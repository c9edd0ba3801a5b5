// Runs the rules of a cut file for given proportions: Design out of CutRecipe. Meets are exact by
// construction: facets that are to meet in a point go through it, and every point named by a facet
// is checked to lie inside all other facets, so that no meet is cut off. Pure; any thread.
//
// A cut whose outline has a cleft is a union of two mirrored parts: when the sector is one half and
// some of its planes lean over to the other half, the first part has all planes of its half and
// the mirrored ones of those that do not lean; the second is its mirror image. For y < 0 the first
// part then lies within the second, so the union is the half and its mirror image.
#pragma once

#include "core/cut/cut_recipe.h"
#include "core/cut/design.h"

namespace macle {

// `proportions`: complete. Throws Error{BadUsage} when these proportions cannot meet (a `require`
// of the file, or a meet that another facet cuts off, naming rule and facet), Error{BadInput} when
// a rule itself is at fault, with the file and the rule.
Design construct(const CutRecipe& recipe, const std::map<std::string, double>& proportions);

}  // namespace macle
