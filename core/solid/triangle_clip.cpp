#include "core/solid/triangle_clip.h"

#include <algorithm>
#include <limits>

namespace macle {
namespace {

constexpr double kLeastOutside = std::numeric_limits<double>::min();

}  // namespace

// Positive outside. The sign is the decision; the size serves interpolation only.
double TriangleClipper::height(const Corner& corner, const ClipPlane& plane,
                               const std::array<double, 3>& heights) const {
    switch (corner.kind) {
        case Kind::Vertex:
            return heights[corner.index];
        case Kind::OnSkinEdge: {
            const double a = heights[low_[corner.index]];
            const double b = heights[high_[corner.index]];
            const double between = a + (b - a) * corner.along;
            bool inside = a <= 0.0;
            if (inside != (b <= 0.0)) {
                const double meets = a / (a - b);
                inside = inside ? corner.along <= meets : corner.along >= meets;
            }
            return inside ? std::min(between, 0.0) : std::max(between, kLeastOutside);
        }
        case Kind::Within:
            break;
    }
    return plane.normal.dot(corner.place) - plane.offset;
}

TriangleClipper::Corner TriangleClipper::crossing(
    const Corner& from, double fromHeight, const Corner& to, double toHeight,
    const std::array<const Eigen::Vector3d*, 3>& corners,
    const std::array<double, 3>& heights) const {
    Corner made;
    if (isSkinEdge(from.next)) {
        const int edge = skinEdge(from.next);
        const std::uint8_t a = low_[static_cast<std::size_t>(edge)];
        const std::uint8_t b = high_[static_cast<std::size_t>(edge)];
        made.kind = Kind::OnSkinEdge;
        made.index = static_cast<std::uint8_t>(edge);
        made.along = heights[a] / (heights[a] - heights[b]);
        made.place = *corners[a] + (*corners[b] - *corners[a]) * made.along;
    } else {
        made.kind = Kind::Within;
        made.place = from.place + (to.place - from.place) * (fromHeight / (fromHeight - toHeight));
    }
    return made;
}

const std::vector<CutCorner>& TriangleClipper::clip(
    const std::array<const Eigen::Vector3d*, 3>& corners,
    const std::array<std::uint32_t, 3>& vertices, const std::vector<ClipPlane>& planes,
    const std::vector<std::uint16_t>& cutting, const std::vector<std::array<double, 3>>& heights) {
    loop_.clear();
    for (std::uint8_t i = 0; i < 3; ++i) {
        const std::uint8_t j = (i + 1) % 3;
        low_[i] = vertices[i] < vertices[j] ? i : j;
        high_[i] = vertices[i] < vertices[j] ? j : i;
        loop_.push_back({*corners[i], 0.0, -1 - i, Kind::Vertex, i});
    }
    for (std::size_t m = 0; m < cutting.size() && !loop_.empty(); ++m) {
        const std::int32_t face = cutting[m];
        const ClipPlane& plane = planes[cutting[m]];
        side_.clear();
        bool anyOutside = false;
        for (const Corner& corner : loop_) {
            side_.push_back(height(corner, plane, heights[m]));
            anyOutside = anyOutside || side_.back() > 0.0;
        }
        if (!anyOutside) continue;
        kept_.clear();
        for (std::size_t i = 0; i < loop_.size(); ++i) {
            const std::size_t j = i + 1 == loop_.size() ? 0 : i + 1;
            const bool in = side_[i] <= 0.0;
            if (in) kept_.push_back(loop_[i]);
            if (in == (side_[j] <= 0.0)) continue;
            kept_.push_back(crossing(loop_[i], side_[i], loop_[j], side_[j], corners, heights[m]));
            kept_.back().next = in ? face : loop_[i].next;
        }
        loop_.swap(kept_);
    }
    result_.clear();
    for (const Corner& corner : loop_)
        result_.push_back({corner.place, corner.next});
    return result_;
}

}  // namespace macle
