// CutRecipe: what a cut file says. A cut is built in the plan and in height by a few rules, in the
// order of the file; every number may be a formula over the proportions and the values before it.
//
//   value    a name for a number
//   require  a condition (a formula that must be above zero) with the words for its refusal
//   place    a named point of the plan, mostly on the outline
//   point    a named point of space: over a place on a facet's plane, the meet of three facets,
//            or three coordinates
//   facet    a plane: level; through three points; through two points and along a level
//            direction; through one point along a direction at an angle to the girdle plane
//   girdle   upright flats between places of the outline, so many in each gap
//   round brilliant   every facet of a round, by the closed relations of round_brilliant.h
//
// A point of space is written NAME, or PLACE@HEIGHT with a formula for the height; ~ before it
// says that it only fixes a plane and may lie outside the stone. The rules
// build one sector; the symmetry turns and mirrors it. See resources/schemas/cut.schema.json.
#pragma once

#include <array>
#include <map>
#include <string>
#include <variant>
#include <vector>

#include "core/cut/cut_info.h"
#include "core/cut/facet_edit.h"

namespace macle {

struct ValueRule {
    std::string name;
    std::string is;
};

struct RequireRule {
    std::string above_zero;
    std::string otherwise;  // the refusal
    std::string remedy;
};

struct PlaceRule {
    enum class Way { At, Outline, Facing, Towards, Between, Tangents, Lines };
    std::string name;
    Way way = Way::At;
    std::vector<std::string> places;   // names
    std::vector<std::string> numbers;  // formulas
    std::string tangent_deg;           // formula; replaces the outline's own direction
};

struct PointRule {
    enum class Way { OnFacet, Meet, At };
    std::string name;
    Way way = Way::At;
    std::vector<std::string> names;    // place and facet, or three facets
    std::vector<std::string> numbers;  // three coordinates
};

struct FacetRule {
    std::string
        name;  // "crown main"; its last words tell the kind; numbers are added round the stone
    std::string id;                   // by which later rules call this plane; may be empty
    std::string level;                // formula; or the plane goes through:
    std::vector<std::string> points;  // one to three
    std::vector<std::string> along;   // a place (the outline's direction there) or two places
    std::string along_deg;            // or the azimuth of a direction
    std::string angle_deg;            // with one point
    bool crown = true;                // with an angle: falls outward, else rises outward
};

struct GirdleRule {
    std::vector<std::string> places;
    std::vector<int> flats;  // per gap
};

struct RoundBrilliantRule {};

struct CutRule {
    std::string label;  // "rule 12, facet \"star\", k = 1": for messages
    std::string when;   // formula; the rule is left out unless it is above zero
    std::variant<ValueRule, RequireRule, PlaceRule, PointRule, FacetRule, GirdleRule,
                 RoundBrilliantRule>
        what;
};

struct OutlineStep {
    enum class Kind { Start, Line, Arc, Quarter };
    Kind kind = Kind::Start;
    std::array<std::string, 2> to;
    std::array<std::string, 2> centre;
    std::string label;
};

struct CutRecipe {
    CutInfo info;
    std::string file;     // as named in messages
    std::string text;     // of it, as it was read
    int turns = 1;        // the sector is repeated so often round the axis
    bool mirror = false;  // and mirrored in the plane of the length
    std::vector<OutlineStep> outline;
    std::vector<CutRule> rules;
    // An edited cut: another cut, changed facet by facet. Then outline and rules are empty.
    std::string basedOn;
    std::map<std::string, double> standards;  // its own standard values, by key
    std::vector<FacetEdit> edits;
};

// Throws Error{BadInput} with the file, the rule and what is wrong there: text that is no JSON, a
// word unknown to the rules, a proportion whose standard lies outside its range.
CutRecipe parseCutRecipe(const std::string& text, const std::string& file);

// Reads a file of at most 1 MB. Throws also Error{NotFound, Io}.
CutRecipe readCutRecipe(const std::string& file);

}  // namespace macle
