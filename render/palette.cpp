#include "render/palette.h"

#include <vtkActor.h>
#include <vtkProperty.h>

#include <algorithm>

namespace macle::render {

namespace {

// Entries 96, 130, 164, 198 and 232 of the 256 of matplotlib's magma, `_magma_data` in
// lib/matplotlib/_cm_listed.py, released under CC0 by its authors. The two ends are left out: black
// is lost in the dark theme, and near white belongs to the stone.
constexpr std::array<Rgb, 5> kMagma = {{
    {0.512831, 0.148179, 0.507648},
    {0.729216, 0.219437, 0.471279},
    {0.921884, 0.341098, 0.377376},
    {0.991558, 0.580107, 0.402441},
    {0.995131, 0.827052, 0.585701},
}};

// Blue and sky blue of M. Okabe and K. Ito, "Color Universal Design" (2008): neither is on magma.
constexpr Rgb kBlue = {0.0 / 255, 114.0 / 255, 178.0 / 255};
constexpr Rgb kSkyBlue = {86.0 / 255, 180.0 / 255, 233.0 / 255};

// The violet side of C. Brewer's PuOr, a published scheme for readers with impaired colour vision
// (ColorBrewer 2.0, Apache 2.0): bluer than the dark end of magma.
constexpr Rgb kDeepViolet = {84.0 / 255, 39.0 / 255, 136.0 / 255};
constexpr Rgb kViolet = {128.0 / 255, 115.0 / 255, 172.0 / 255};
constexpr Rgb kPaleViolet = {178.0 / 255, 171.0 / 255, 210.0 / 255};

constexpr Rgb grey(double value) {
    return {value, value, value};
}

constexpr Palette kLight = {
    .background = grey(0.76),
    .rough = grey(0.40),
    .roughOpacity = 0.07,
    .rimOpacity = 0.62,
    .skin = {0.66, 0.65, 0.63},
    .stone = grey(1.0),
    .edge = grey(0.10),
    .otherStone = grey(0.86),
    .otherEdge = grey(0.42),
    .saw = kDeepViolet,
    .quietSaw = kViolet,
    .limit = kBlue,
    .halo = grey(1.0),
    .text = grey(0.12),
    .highlight = kBlue,
};

constexpr Palette kDark = {
    .background = grey(0.15),
    .rough = grey(0.74),
    .roughOpacity = 0.08,
    .rimOpacity = 0.72,
    .skin = {0.60, 0.59, 0.57},
    .stone = grey(1.0),
    .edge = grey(0.08),
    .otherStone = grey(0.62),
    .otherEdge = grey(0.24),
    .saw = kPaleViolet,
    .quietSaw = kViolet,
    .limit = kSkyBlue,
    .halo = grey(0.05),
    .text = grey(0.88),
    .highlight = kSkyBlue,
};

}  // namespace

const Palette& palette(Theme theme) {
    return theme == Theme::Light ? kLight : kDark;
}

Rgb severityColour(int severity) {
    return kMagma.at(static_cast<std::size_t>(std::clamp(severity, 1, 5) - 1));
}

void paint(vtkActor& actor, const Rgb& colour) {
    actor.GetProperty()->SetColor(colour[0], colour[1], colour[2]);
}

}  // namespace macle::render
