// Joint search: two and more stones from one rough at once, each with its own cut, and the saws
// between them. What counts is the sum over the stones, so that the first one gives way where that
// brings the others more. Divisions are begun beside the best single stones, one stone after
// another, and by sawing through the middle; then every saw is moved and turned and the stones on
// both sides climb anew, as long as that helps; kicks lead out of what is only locally best. Saws
// form a tree: each divides one piece. Stone frame, mm.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/base/progress.h"
#include "core/divide/division.h"
#include "core/divide/layout.h"
#include "core/stone/stone.h"

namespace macle {

struct JointCut {
    std::string cut = "round";
    std::map<std::string, double> proportions = {};
    std::vector<FacetEdit> edits = {};
};

struct JointRules {
    std::vector<JointCut> cuts = {JointCut{}};
    // For each stone that is wanted, which of the cuts it may have.
    std::vector<std::vector<std::size_t>> stones = {{0}, {0}};
    bool fewer = false;             // divisions into fewer of them are answers too
    double kerf_mm = 0.0;           // where the beam enters, of a V
    std::optional<double> exit_mm;  // width of a V where it leaves; none: one width
    bool mechanical = false;        // cube and dodecahedron planes only; needs the crystal's axes
    FitRules fit;                   // of every stone; its allowance is kept from the saws too
};

// What a stone of one of the cuts would be worth at a placement that lies in sound material:
// finite, larger is better; called from several threads at once.
using StoneWorth = std::function<double(std::size_t cut, const Placement& placement)>;

struct JointLayout {
    Layout layout;                    // its first stone is the heaviest
    std::vector<double> worths;       // of its stones
    std::vector<double> volumes_mm3;  // of its stones
    double worth = 0.0;               // all together
    double volume_mm3 = 0.0;
};

struct JointOptions {
    double seconds = 20.0;  // <= 0: no limit by time
    long long poses = 0;    // > 0: ends after about so many pose queries, whatever the time
    std::uint64_t seed = 1;
    int threads = 0;            // 0: as many as the machine has
    std::size_t different = 4;  // how many clearly different layouts are wanted
    std::function<void(const JointLayout&)> onBetter;  // called from one thread at a time
};

struct JointResult {
    std::vector<JointLayout> layouts;  // clearly different, the most worth first
    double single = 0.0;               // worth of the best stone alone, undivided
    double seconds = 0.0;
    long long poses = 0;
};

// A stone smaller than this is none.
inline constexpr double kSmallestJoint_mm = 0.5;

// Without `worth` volumes count. Stones keep the kerf apart and lie inside the pieces that divide()
// finds for the layout's saws. Deterministic for a seed at any thread count when ended by `poses`;
// anytime and cancellable otherwise. Throws Error{BadUsage} for rules that make no sense, fewer
// than two stones or more than kMostStones, a mechanical saw without axes, or a search without end;
// Error{NoSolution} when no such division was found; Error{Cancelled}; what makeDesign throws.
JointResult findJoint(const Stone& stone, const RoughCutter& cutter, const JointRules& rules,
                      const StoneWorth& worth, const JointOptions& options,
                      Progress* progress = nullptr);

}  // namespace macle
