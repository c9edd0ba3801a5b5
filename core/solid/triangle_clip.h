// One triangle of the skin clipped to a convex body, with every decision made so that the two
// triangles at a skin edge agree on what is left of it:
//  - a corner's side of a plane is a function of that corner and that plane alone;
//  - the point where a skin edge meets a plane is computed from the lower-numbered end, and its
//    side of another plane is decided by comparing places along the edge, never by coordinates;
//  - the loop stays a loop whatever rounding does inside the triangle.
// So the pieces' borders cancel in pairs along skin edges, and what remains are closed chains in
// the facet planes. Private to solid.
#pragma once

#include <Eigen/Core>
#include <array>
#include <cstdint>
#include <vector>

namespace macle {

struct ClipPlane {
    Eigen::Vector3d normal;
    Eigen::Vector3d absolute;  // of the normal's coordinates
    double offset = 0.0;       // inside: normal . x <= offset
};

// A corner of a clipped piece. `next` labels the edge that leaves it: a face of the body (>= 0),
// or skin edge e as -1 - e. With the label of the edge that arrives, it says what the corner is:
// two skin edges a skin vertex, one of each a skin edge in a plane, two planes an edge of the body.
struct CutCorner {
    Eigen::Vector3d place;
    std::int32_t next = 0;
};

constexpr bool isSkinEdge(std::int32_t label) {
    return label < 0;
}
constexpr int skinEdge(std::int32_t label) {
    return -1 - label;
}

// Scratch space is kept between triangles; one clipper per thread.
class TriangleClipper {
  public:
    // `cutting`: faces whose plane has a corner of the triangle beyond it, ascending. `heights`:
    // for each of those, the three corners' distances. `vertices`: numbers, for the order along
    // edges. The result is valid until the next call; fewer than two corners means nothing is left.
    const std::vector<CutCorner>& clip(const std::array<const Eigen::Vector3d*, 3>& corners,
                                       const std::array<std::uint32_t, 3>& vertices,
                                       const std::vector<ClipPlane>& planes,
                                       const std::vector<std::uint16_t>& cutting,
                                       const std::vector<std::array<double, 3>>& heights);

  private:
    enum class Kind : std::uint8_t { Vertex, OnSkinEdge, Within };
    struct Corner {
        Eigen::Vector3d place;
        double along = 0.0;  // share of the skin edge, from its lower-numbered end
        std::int32_t next = 0;
        Kind kind = Kind::Vertex;
        std::uint8_t index = 0;  // vertex or skin edge
    };

    double height(const Corner& corner, const ClipPlane& plane,
                  const std::array<double, 3>& heights) const;
    Corner crossing(const Corner& from, double fromHeight, const Corner& to, double toHeight,
                    const std::array<const Eigen::Vector3d*, 3>& corners,
                    const std::array<double, 3>& heights) const;

    std::array<std::uint8_t, 3> low_{};  // per skin edge: corner with the lower number
    std::array<std::uint8_t, 3> high_{};
    std::vector<Corner> loop_;
    std::vector<Corner> kept_;
    std::vector<double> side_;
    std::vector<CutCorner> result_;
};

}  // namespace macle
