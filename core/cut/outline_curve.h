// OutlineCurve: the girdle outline of a cut seen from the table, for size 1, as pieces that follow
// one another counter-clockwise round the centre: straight lines and arcs. An arc is
// centre + (start - centre) cos s + (end' - centre) sin s: of a circle, or of the ellipse of two
// half axes. A place on the outline is told by its share along the pieces: 1.5 is half way along
// the second. Immutable; any thread.
#pragma once

#include <Eigen/Core>
#include <optional>
#include <vector>

namespace macle {

// A point of the plan and the direction in which the outline runs through it.
struct OutlinePlace {
    Eigen::Vector2d point = Eigen::Vector2d::Zero();
    Eigen::Vector2d along = Eigen::Vector2d::Zero();  // unit; zero where there is none
    double share = -1.0;                              // along the outline; negative: not on it
};

class OutlineCurve {
  public:
    void lineTo(const Eigen::Vector2d& start, const Eigen::Vector2d& end);
    // Circle round `centre`, counter-clockwise. Throws Error{NoSolution} when start and end are not
    // at one distance from it, or in one place.
    void arcTo(const Eigen::Vector2d& start, const Eigen::Vector2d& end,
               const Eigen::Vector2d& centre);
    // A quarter of an ellipse with half axes start - centre and end - centre.
    void quarterTo(const Eigen::Vector2d& start, const Eigen::Vector2d& end,
                   const Eigen::Vector2d& centre);

    std::size_t pieces() const { return pieces_.size(); }
    // share: 0 .. pieces. Throws Error{NoSolution} outside it.
    OutlinePlace at(double share) const;
    // Where the outward normal has this azimuth (degrees); nothing when no piece faces it.
    std::optional<OutlinePlace> facing(double azimuth_deg) const;
    // Where the ray from the centre through `point` crosses; nothing when it meets no piece.
    std::optional<OutlinePlace> towards(const Eigen::Vector2d& point) const;

  private:
    struct Piece {
        Eigen::Vector2d centre, first, second;  // line: first = start, second = end
        double turn = 0.0;                      // radians of the arc; 0 for a line
        Eigen::Vector2d point(double share) const;
        Eigen::Vector2d along(double share) const;
    };
    OutlinePlace place(std::size_t piece, double share) const;

    std::vector<Piece> pieces_;
};

}  // namespace macle
