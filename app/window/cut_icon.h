// A cut as a small picture, seen from the table, drawn from its solid: for the choice of cuts.
// Thread contract: GUI thread.
#pragma once

#include <QPixmap>
#include <string>

namespace macle::app {

// With the standard proportions, `side_px` logical pixels wide and high. Empty when the cut cannot
// be built.
QPixmap cutPicture(const std::string& cut, int side_px, double pixelRatio);

}  // namespace macle::app
