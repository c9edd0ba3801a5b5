// Distances in the drawing of candidates, device-independent pixels.
#pragma once

namespace macle::app {

inline constexpr double kPad = 8.0;    // to the edge of the widget
inline constexpr double kGap = 5.0;    // between texts and lines
inline constexpr double kInset = 9.0;  // of values from the frame, so that marks are whole
inline constexpr double kMark = 5.0;   // half a mark

}  // namespace macle::app
