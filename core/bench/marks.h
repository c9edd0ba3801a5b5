// Marks: the lines drawn on the skin before a stone is sawn and ground: the reference face, the
// saws with both edges of their kerf, and the girdles. Each is the exact section of the skin with
// its plane, as closed loops; where an earlier saw has cut the piece, the loop is closed along the
// face that saw left. Stone frame, mm. Pure functions; any thread.
#pragma once

#include <string>
#include <vector>

#include "core/bench/reference_face.h"

namespace macle {

namespace tolerance {
inline constexpr double kMarkOffSkin_mm = 1e-3;   // a point of a mark, at most
inline constexpr double kMarkOffPlane_mm = 1e-9;  // of a stone near its frame's origin
}  // namespace tolerance

enum class MarkKind { Reference, SawMiddle, KerfBelow, KerfAbove, Girdle };

struct MarkCurve {
    MarkKind kind = MarkKind::Reference;
    std::string name;  // "reference face", "saw 1 middle", "saw 1 edge below", "stone 2 girdle"
    int saw = -1;      // counted from 0; -1: of a stone
    int stone = -1;
    int piece = 0;  // on which it lies, counted as when it is marked
    Plane plane;
    std::vector<SectionLoop> loops;  // longest first; outer ones turn left against the normal
    std::vector<int> sideSaws;       // which saw left each side that a step may name
    double length_mm = 0.0;
    double skin_mm = 0.0;  // of it on the skin
};

struct MarkRequest {
    bool reference = true;  // of each stone in `stones`
    bool saws = true;
    bool girdles = false;
    std::vector<std::size_t> stones = {0};
};

struct Marks {
    std::vector<ReferenceFace> references;
    std::vector<MarkCurve> curves;
    double offPlane_mm = 0.0;  // the worst of all points, as computed again
    double offSkin_mm = 0.0;
    std::vector<std::string> remarks;   // curves that are not there, and why
    std::vector<std::string> cautions;  // dangers of the work
};

// `division` is what layout.saws make of the rough whose skin this is. Throws what
// referenceFaceOf and sectionOf throw; Error{Internal} when a point is off its plane or the skin.
Marks marksOf(const TriangleMesh& skin, const Layout& layout, const Division& division,
              const MarkRequest& request);

// A run of steps on one face.
struct MarkStretch {
    int saw = -1;  // whose face it runs on; -1: the skin
    double length_mm = 0.0;
};
std::vector<MarkStretch> stretchesOf(const MarkCurve& curve, const SectionLoop& loop);

}  // namespace macle
