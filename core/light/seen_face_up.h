// How bodies inside a stone are seen from above through the crown: straight and as images that the
// facets mirror. Cut frame, mm; the eye far above, looking down along the axis.
//
// Each point of the face shows what its ray meets on its way inside, as long as the ray still
// carries a stated share of the light; the ray's way is cut into cells of the face that grow
// smaller near a body until some dozen lie across it. An image smaller than the least size, or of
// fewer than four cells, adds to the area but is not counted. Parts of the face narrower than the
// widest cell (1/256 of the stone) may be passed over: in a round brilliant the area came out up to
// 4 % below that of a raster of 1200 x 1200 rays. Glare, focus and the body's own colour are left
// out: an estimate.
#pragma once

#include <vector>

#include "core/base/progress.h"
#include "core/light/body_inside.h"
#include "core/light/light_body.h"
#include "core/light/trace_options.h"

namespace macle {

struct SeenOptions {
    double wavelength_nm = kYellowSodium_nm;
    // An image counts while its ray carries at least this share of the light that met the face.
    // At a face met too steeply for total reflection less than a fifth goes on: one such face is
    // allowed, two are not.
    double leastShare = 0.05;
    // Smallest image counted, across: the inclusion still told apart at 10x (IDC Rules 1980).
    double leastImage_mm = 0.005;
    int threads = 0;  // 0: all
};

struct SeenBody {
    double area_mm2 = 0.0;          // of the face that shows it, straight and mirrored together
    double shareOfFace = 0.0;       // of the stone's outline from above, 0..1
    double straightArea_mm2 = 0.0;  // seen before any facet has mirrored the ray
    double areaUnderTable_mm2 = 0.0;
    int images = 0;            // connected regions of the face that show it
    int imagesUnderTable = 0;  // those of which at least half lies within the table
};

// In the order of the bodies; each by itself, as if it were alone. The same at any thread count.
// Throws Error{BadUsage} for options out of range, Error{Cancelled}, and what LightBody throws.
std::vector<SeenBody> seenFaceUp(const LightBody& body, const std::vector<BodyInside>& bodies,
                                 const SeenOptions& options = {}, Progress* progress = nullptr);
std::vector<SeenBody> seenFaceUp(const Design& design, double size_mm, const Material& material,
                                 const std::vector<BodyInside>& bodies,
                                 const SeenOptions& options = {}, Progress* progress = nullptr);

}  // namespace macle
