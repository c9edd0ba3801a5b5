// The one tolerance policy. Scan noise is about 0.01 mm and weights are right to better than
// 0.0005 ct; every length below is far smaller, so none of them can move a figure shown.
#pragma once

namespace macle::tolerance {

// Two scan vertices closer than this are one point (STL repeats each vertex per triangle).
// Relative to the largest extent, because single-precision files round to about 6e-8 of it.
inline constexpr double kWeldRelative = 1e-9;

// Solid vertices nearer than this are one vertex (planes meeting in a point by construction).
inline constexpr double kMergeVertex_mm = 1e-7;

// A point counts as on a facet plane within this.
inline constexpr double kOnPlane_mm = 1e-7;

// A design that pokes out by less than this is inside.
inline constexpr double kInside_mm = 1e-6;

// Relative agreement asked between two ways of computing one volume.
inline constexpr double kVolumeRelative = 1e-9;

// A scan and a scale that differ by more than this share are flagged (issue of trust in intake).
inline constexpr double kScaleMismatch = 0.01;

}  // namespace macle::tolerance
