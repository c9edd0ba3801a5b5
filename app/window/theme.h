// The look of the window: neutral greys, one accent, and colours only where they mean something.
// All colours of the widgets stand in this file's source and nowhere else.
// Thread contract: GUI thread.
#pragma once

#include <QColor>
#include <QPalette>
#include <QPixmap>

#include "render/scene.h"

class QApplication;

namespace macle::app {

enum class ThemeChoice { FollowSystem, Light, Dark };

// Reads the desktop's own palette; call once, before the first applyTheme.
void rememberSystemTheme(const QApplication& application);
render::Theme resolved(ThemeChoice choice);

// Sets style, palette and style sheet of the whole application.
void applyTheme(QApplication& application, render::Theme theme);

// Severity 1 (slight) .. 5 (severe) on the published magma map of matplotlib (CC0), dark to bright.
QColor severityColour(int severity);
// A square of that colour with a neutral rim, so that it stands out on both themes.
QPixmap severitySwatch(int severity, int side_px, double pixelRatio, const QColor& rim);
// "1 slight" .. "5 severe"
QString severityLabel(int severity);

// For a figure that needs attention (a limit passed, a mismatch); readable on the theme's ground.
QColor attentionColour(const QPalette& palette);
QColor quietText(const QPalette& palette);

}  // namespace macle::app
