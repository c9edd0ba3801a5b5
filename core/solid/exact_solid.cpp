#include "core/solid/exact_solid.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numeric>
#include <tuple>
#include <utility>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/tolerance.h"
#include "core/solid/facet_meets.h"
#include "core/solid/polygon.h"

namespace macle {

namespace {

using Eigen::Vector3d;

// Vertices taken for one. A group never grows wider than allowed, so that a ring of short edges
// does not draw its vertices far off their planes.
class Groups {
  public:
    Groups(const std::vector<FacetMeet>& raw, double widest)
        : parent_(raw.size()), widest_(widest) {
        std::iota(parent_.begin(), parent_.end(), 0);
        for (const FacetMeet& vertex : raw)
            boxes_.emplace_back(vertex.point);
    }
    int root(int k) {
        while (parent_[index(k)] != k) {
            parent_[index(k)] = parent_[index(parent_[index(k)])];
            k = parent_[index(k)];
        }
        return k;
    }
    void uniteWithin(int a, int b) {
        const int low = std::min(root(a), root(b));
        const int high = std::max(root(a), root(b));
        const Eigen::AlignedBox3d both = boxes_[index(low)].merged(boxes_[index(high)]);
        if (low == high || both.diagonal().norm() >= widest_) return;
        parent_[index(high)] = low;
        boxes_[index(low)] = both;
    }

  private:
    static std::size_t index(int k) { return static_cast<std::size_t>(k); }

    std::vector<int> parent_;
    std::vector<Eigen::AlignedBox3d> boxes_;
    double widest_;
};

struct Merged {
    ConvexSolid solid;
    double moved = 0.0;  // farthest any vertex was moved by merging
};

// Contracts the edges shorter than the tolerance, shortest first.
std::vector<int> groupsOf(const std::vector<FacetMeet>& raw,
                          const std::vector<std::vector<int>>& faces, double tooShort) {
    std::vector<std::tuple<double, int, int>> shortEdges;
    for (const auto& corners : faces)
        eachEdge(corners, [&](int a, int b) {
            const double length =
                (raw[static_cast<std::size_t>(a)].point - raw[static_cast<std::size_t>(b)].point)
                    .norm();
            if (a < b && length < tooShort) shortEdges.emplace_back(length, a, b);
        });
    std::sort(shortEdges.begin(), shortEdges.end());
    Groups groups(raw, tooShort);
    for (const auto& [length, a, b] : shortEdges)
        groups.uniteWithin(a, b);
    std::vector<int> roots(raw.size());
    for (std::size_t k = 0; k < raw.size(); ++k)
        roots[k] = groups.root(static_cast<int>(k));
    return roots;
}

// Drops repeated corners, faces left with fewer than three (their neighbours share the remaining
// edge), and vertices left with two faces only (they lie on the edge between them).
void dropCollapsed(std::vector<std::vector<int>>& faces, std::size_t vertexCount) {
    for (bool changed = true; changed;) {
        changed = false;
        std::vector<int> uses(vertexCount, 0);
        for (auto& corners : faces) {
            corners.erase(std::unique(corners.begin(), corners.end()), corners.end());
            while (corners.size() > 1 && corners.front() == corners.back())
                corners.pop_back();
            if (corners.size() < 3) corners.clear();
            for (const int corner : corners)
                ++uses[static_cast<std::size_t>(corner)];
        }
        for (auto& corners : faces) {
            const auto onEdge = [&](int corner) {
                return uses[static_cast<std::size_t>(corner)] < 3;
            };
            changed = std::erase_if(corners, onEdge) > 0 || changed;
        }
    }
}

Merged merge(const std::vector<FacetMeet>& raw, std::vector<std::vector<int>> faces,
             double tooShort) {
    const std::vector<int> roots = groupsOf(raw, faces, tooShort);
    // A group stands where its planes fix a point best.
    std::vector<int> sharpest(raw.size(), -1);
    for (std::size_t k = 0; k < raw.size(); ++k) {
        int& best = sharpest[static_cast<std::size_t>(roots[k])];
        if (best < 0 || raw[k].sharpness > raw[static_cast<std::size_t>(best)].sharpness)
            best = static_cast<int>(k);
    }
    const auto place = [&](int root) {
        return raw[static_cast<std::size_t>(sharpest[static_cast<std::size_t>(root)])].point;
    };

    Merged merged;
    for (std::size_t k = 0; k < raw.size(); ++k)
        merged.moved = std::max(merged.moved, (raw[k].point - place(roots[k])).norm());
    for (auto& corners : faces)
        for (int& corner : corners)
            corner = roots[static_cast<std::size_t>(corner)];
    dropCollapsed(faces, raw.size());

    std::vector<int> number(raw.size(), -1);
    for (std::size_t k = 0; k < faces.size(); ++k) {
        if (faces[k].empty()) continue;
        SolidFace face;
        face.facet = static_cast<int>(k);
        for (const int root : faces[k]) {
            int& index = number[static_cast<std::size_t>(root)];
            if (index < 0) {
                index = static_cast<int>(merged.solid.vertices.size());
                merged.solid.vertices.push_back(place(root));
            }
            face.corners.push_back(index);
        }
        merged.solid.faces.push_back(std::move(face));
    }
    return merged;
}

void verifyPlanes(const ConvexSolid& solid, const std::vector<Facet>& facets, double allowed) {
    for (const Vector3d& vertex : solid.vertices)
        for (const Facet& facet : facets)
            require(facet.normal.dot(vertex) - facet.distance <= allowed,
                    "every vertex of the solid satisfies every facet");
    for (const SolidFace& face : solid.faces) {
        const Facet& facet = facets[static_cast<std::size_t>(face.facet)];
        for (const int corner : face.corners)
            require(std::abs(facet.normal.dot(solid.vertices[static_cast<std::size_t>(corner)]) -
                             facet.distance) <= allowed,
                    "every corner of a face lies on its facet");
    }
}

}  // namespace

SolidDraft exactSolid(const std::vector<Facet>& facets) {
    const FacetMeets raw = facetMeets(facets);
    SolidDraft draft;
    // From planes and areas before any merging: exact for the planes as given.
    std::vector<Vector3d> points;
    points.reserve(raw.meets.size());
    for (const FacetMeet& meet : raw.meets)
        points.push_back(meet.point);
    draft.volume = volumeByAreas(facets, raw.faces, points);
    const double scale = std::max(1.0, raw.reach);
    Merged merged = merge(raw.meets, raw.faces, tolerance::kMergeVertex_mm * scale);
    draft.solid = std::move(merged.solid);
    draft.moved = merged.moved;
    if (draft.solid.faces.size() < 4)
        throw Error(ErrorCode::NoSolution,
                    "The facets enclose a sliver thinner than the tolerance of " +
                        formatExact(tolerance::kMergeVertex_mm * scale) + " mm.",
                    "Move the facets apart.");
    verifyPlanes(draft.solid, facets, tolerance::kOnPlane_mm * scale);
    return draft;
}

}  // namespace macle
