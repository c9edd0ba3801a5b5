// The light a stone is looked at in. It stands with the viewer: rocking the stone leaves it where
// it is. Radiance 1 is that of a perfect white lit by the same light from all around.
#pragma once

namespace macle {

enum class Lighting {
    // The whole half space on the viewer's side shines evenly.
    Even,
    // The same, but dark where the viewer's head stands in it: within 16 degrees of the line of
    // sight, as a head 0.2 m wide does at 0.35 m (own assumption).
    DarkViewer,
};

inline constexpr double kViewerCosine = 0.9612616959383189;  // of 16 degrees

// `cosine` of the angle between where the light comes from and the direction to the viewer.
constexpr double radiance(Lighting lighting, double cosine) {
    if (cosine <= 0.0) return 0.0;
    return lighting == Lighting::DarkViewer && cosine > kViewerCosine ? 0.0 : 1.0;
}

}  // namespace macle
