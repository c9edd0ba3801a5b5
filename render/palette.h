// Colours by meaning, for both themes. Components 0..1, sRGB as sent to the screen.
#pragma once

#include <array>

#include "render/scene.h"

class vtkActor;

namespace macle::render {

using Rgb = std::array<double, 3>;

struct Palette {
    Rgb background;
    Rgb rough;            // seen through
    double roughOpacity;  // facing the viewer
    double rimOpacity;    // where the skin turns away: the soft silhouette
    Rgb skin;             // skin left on the finished stone
    Rgb stone;            // facets: the brightest thing in the picture
    Rgb edge;             // between facets
    Rgb otherStone;       // facets of the layout's other stones
    Rgb otherEdge;
    Rgb saw;       // the chosen saw plane
    Rgb quietSaw;  // the others
    Rgb limit;     // what stops the design
    Rgb halo;      // around marks and text, so that they read on anything
    Rgb text;
    Rgb highlight;  // outline of the chosen defect
};

const Palette& palette(Theme theme);

// Severity 1 slight (dark) .. 5 severe (bright); values outside are clamped.
// The magma map of matplotlib (S. van der Walt, N. Smith, E. Firing; CC0), see palette.cpp.
Rgb severityColour(int severity);

void paint(vtkActor& actor, const Rgb& colour);

}  // namespace macle::render
