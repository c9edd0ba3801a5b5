// PartCut: one convex part of a design intersected with the skin.
//
// The boundary of (body and rough) is the skin inside the body plus the body's faces inside the
// rough. The skin's share is clipped triangle by triangle. A face's share is bounded by chains,
// where clipped triangles lie in its plane, and by spans of the body's own edges; its area follows
// from that border alone (Green), the volume from all areas (divergence theorem about the design's
// origin): V = 1/3 (sum over skin pieces of x . A + sum over faces of d_k A_k).
//
// The body is taken larger by a share of 2^-34 and pushed aside by less than that (about 1e-10 mm,
// far below every tolerance, far above rounding): coincidences by construction, such as a facet
// laid into a face of the rough or an edge into its plane, are thereby decided one way everywhere.
// The change of volume is taken out again to first order. Private to solid. Places are in the
// tree's own frame.
#pragma once

#include <cstdint>
#include <limits>
#include <string>
#include <vector>

#include "core/cut/placement.h"
#include "core/solid/prepared_design.h"
#include "core/solid/skin_tree.h"
#include "core/solid/triangle_clip.h"

namespace macle {

struct PlacedBody {
    const PreparedSolid* part = nullptr;
    std::vector<ClipPlane> planes;  // one per face
    std::vector<Eigen::Vector3d> vertices;
    std::vector<double> excess;  // per face, how far its plane was moved outward
    Eigen::Vector3d origin;      // the design's origin
    double volume = 0.0;
};
PlacedBody placeBody(const PreparedSolid& part, const Placement& placement,
                     const Eigen::Vector3d& middle_mm);

struct SkinPiece {
    std::uint32_t triangle = 0;
    std::uint32_t firstCorner = 0;  // in PartCut::corners
    std::uint32_t firstNear = 0;    // in PartCut::nearFaces: faces that may be nearest to it
    std::uint16_t corners = 0;      // 0: the whole triangle
    std::uint16_t nearFaces = 0;
    double area = 0.0;
    double depth = 0.0;       // of its deepest own vertex inside the body, 0 without one
    double depthBound = 0.0;  // no point of it lies deeper
    Eigen::Vector3d place;    // where `depth` was found
};

// A stretch of a body edge inside the rough, as one face walks it. Ends: a corner of a piece
// (>= 0, index in PartCut::corners) or a vertex of the body as -1 - v.
struct InnerSpan {
    int face = 0;
    std::int64_t from = 0;
    std::int64_t to = 0;
};

// Corner of a piece that was taken for a vertex of the body.
struct VertexContact {
    std::uint32_t corner = 0;
    int vertex = 0;
};

struct PartCut {
    PlacedBody body;
    std::vector<SkinPiece> pieces;
    std::vector<CutCorner> corners;
    std::vector<std::uint16_t> nearFaces;
    std::vector<std::int32_t> pieceOf;  // per triangle of the skin; -1 for none

    // Set by closeFaces.
    std::vector<InnerSpan> spans;
    std::vector<VertexContact> contacts;
    double volume = 0.0;
    std::string doubt;  // why the result must not be used; empty when verified

    // Set by clipSkin for closeFaces.
    std::vector<double> chainArea;          // per face
    std::vector<Eigen::Vector3d> chainSum;  // per face; what the spans must close
    Eigen::Vector3d skinArea = Eigen::Vector3d::Zero();
    double skinAreaTotal = 0.0;
    double skinMoment = 0.0;  // sum of (x - origin) . A
};

PartCut clipSkin(const SkinTree& tree, const PreparedSolid& part, const Placement& placement);

// Completes the faces and verifies. Leaves a reason in `doubt` instead of a result it cannot
// vouch for.
void closeFaces(const SkinTree& tree, PartCut& cut);

}  // namespace macle
