// MarkViews: the marks as seen from the reference face and from its sides: what of each is in sight
// and what the stone hides. Views in the stone frame, mm, seen along ViewAxes (outline.h). Private
// to core/bench. Pure; any thread.
#pragma once

#include <string>
#include <vector>

#include "core/bench/marks.h"
#include "core/bench/outline.h"

namespace macle {

// A part of a mark that is seen, or hidden, from end to end.
struct DrawnRun {
    bool seen = false;
    std::vector<Eigen::Vector2d> points;
    double length_mm = 0.0;  // as drawn
};

struct MarkView {
    std::string title;
    ViewAxes axes;
    Eigen::Vector2d low = Eigen::Vector2d::Zero();  // of the rough's shadow
    Eigen::Vector2d high = Eigen::Vector2d::Zero();
    std::vector<OutlineLoop> outline;
    std::vector<std::vector<DrawnRun>> runs;  // per curve
    std::vector<bool> pointSeen;              // per point of the first reference face
};

// Facing the plane, from two sides and from behind: of the first reference face, or of the first
// mark where there is none. Parts of a mark within the stone, on the face of a saw, count as
// hidden.
std::vector<MarkView> markViews(const Marks& marks, const TriangleMesh& skin);

}  // namespace macle
