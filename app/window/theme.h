// The look of the window: neutral greys, one accent, and colours only where they mean something.
// All colours of the widgets stand in this file's source and nowhere else.
// Thread contract: GUI thread.
#pragma once

#include <QColor>
#include <QPalette>
#include <QPixmap>

#include "render/scene.h"

class QWidget;

namespace macle::app {

enum class ThemeChoice { FollowSystem, Light, Dark };

// Reads the desktop's own palette; call once, before the first applyTheme.
void rememberSystemTheme();
render::Theme resolved(ThemeChoice choice);

// Sets style and palette of the whole application.
void applyTheme(render::Theme theme);

// Severity 1 (slight) .. 5 (severe) on the published magma map of matplotlib (CC0), dark to bright.
QColor severityColour(int severity);
// A square of that colour with a neutral rim, so that it stands out on both themes.
QPixmap severitySwatch(int severity, int side_px, double pixelRatio, const QColor& rim);
// "1 slight" .. "5 severe"
QString severityLabel(int severity);

// Colours of the theme that is applied. Attention: for a figure that needs it (a limit passed, a
// mismatch); quiet: captions and hints.
QColor attentionColour();
QColor quietText();
QColor plainText();
// Of the small pictures of placements.
struct SketchColours;
SketchColours sketchColours();
// Gives the text of one widget a colour; to be repeated when the theme changes.
void colourText(QWidget* widget, const QColor& colour);

}  // namespace macle::app
