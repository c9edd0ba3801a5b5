// The library of cuts by name. Proportions are named doubles so that the command line, the window
// and the stone file need no code per cut. The program brings the cuts of resources/cuts within
// itself; a works adds its own as files of the same form. Thread contract: every function may be
// called from any thread; a cut once in the library stays there and does not move.
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "core/cut/cut_info.h"
#include "core/cut/design.h"
#include "core/cut/facet_edit.h"

namespace macle {

struct CutRecipe;

// All cuts known now: the program's own in the order of the trade's use, then those added.
std::vector<CutInfo> cutLibrary();
const CutInfo& findCut(const std::string& name);  // throws Error{NotFound} with the names

// Adds a cut file, or every *.json of a folder; a cut may be based on another of the same folder.
// A cut of the same name added before is replaced from now on; one of the program's own is not.
// Returns the names. Throws Error{NotFound, Io}, or Error{BadInput} naming the file, the rule and
// what is wrong; nothing is added then.
std::vector<std::string> addCuts(const std::filesystem::path& fileOrFolder);
std::string addCut(CutRecipe recipe);

// The text of a works' own cut, before it that of the cut it is based on if that is one too: what
// another program needs to build it. Empty for a cut of the program's own, or one not known.
std::vector<std::string> cutFiles(const std::string& name);

// Takes over such texts. Returns the names of cuts that were known in another form, which is
// replaced from now on. Throws Error{BadInput} and changes nothing; `source` is for messages.
std::vector<std::string> learnCuts(const std::vector<std::string>& files,
                                   const std::string& source);

// `given` completed with the standard values and checked against each range. The errors of
// makeDesign.
std::map<std::string, double> completeProportions(const CutInfo& cut,
                                                  const std::map<std::string, double>& given);

// Missing keys take their standard value; unknown keys and values out of range are
// Error{BadUsage} naming key, value and range, and so are values that cannot meet one another.
// The design records every proportion, the standard ones too.
Design makeDesign(const std::string& cut, const std::map<std::string, double>& proportions);

// Then changed facet by facet. The errors of `edited` too.
Design makeDesign(const std::string& cut, const std::map<std::string, double>& proportions,
                  const std::vector<FacetEdit>& edits);

// A list of edits as in the "edits" of a cut file. Throws Error{BadInput} naming `file` and the
// edit.
std::vector<FacetEdit> parseFacetEdits(const std::string& json, const std::string& file);

// A cut file for `base` changed facet by facet, with these standard proportions: what addCuts
// reads. Throws Error{NotFound} for an unknown base, Error{BadUsage} for a name that is none, is
// the base's, or is taken by one of the program's own, and what makeDesign and edited throw.
std::string editedCutFile(const std::string& base, const std::string& name,
                          const std::string& title,
                          const std::map<std::string, double>& proportions,
                          const std::vector<FacetEdit>& edits);

}  // namespace macle
