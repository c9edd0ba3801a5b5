#include "core/solid/plane_clip.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <limits>

#include "core/base/tolerance.h"
#include "core/base/vector_width.h"

namespace macle {

namespace {

using Eigen::Vector3d;

// Half width of the box cut into, in distances of the farthest plane. A solid that reaches farther
// is left to the exact way.
constexpr double kBox = 8.0;
// While cutting, a corner this near a plane is on it. Of the farthest plane's distance.
constexpr double kOnWhileCutting = 1e-11;
// In the end corners are either nearer than the one or farther inside than the other. Of the reach.
constexpr double kOn = 2e-13;
constexpr double kOff = 10.0 * tolerance::kMergeVertex_mm;
// Room left in a new face for the corners that later cuts add.
constexpr std::size_t kSpareCorners = 6;
// Planes that meet more flatly fix a corner too badly (determinant of the normals).
constexpr double kFlattest = 1e-4;

typedef double Doubles __attribute__((vector_size(32)));
typedef long long Longs __attribute__((vector_size(32)));
constexpr std::size_t kLanes = 4;
constexpr std::size_t kBlock = 4 * kLanes;

// Coordinates one after the other, filled up with the origin to whole blocks.
struct Points {
    std::vector<double> x, y, z;

    std::size_t size() const { return x.size(); }
    Vector3d at(int k) const {
        const auto i = static_cast<std::size_t>(k);
        return {x[i], y[i], z[i]};
    }
    void set(int k, const Vector3d& point) {
        const auto i = static_cast<std::size_t>(k);
        x[i] = point.x();
        y[i] = point.y();
        z[i] = point.z();
    }
    void resize(std::size_t count) {
        x.resize(count, 0.0);
        y.resize(count, 0.0);
        z.resize(count, 0.0);
    }
};

// Heights of `blocks` blocks of points over a plane, and the indices of those above `floor`, of
// which it returns the number.
MACLE_MANY_WIDTHS
std::size_t heightsOver(const double* x, const double* y, const double* z, std::size_t blocks,
                        const double* plane, double floor, double* height, int* above) {
    std::size_t found = 0;
    for (std::size_t begin = 0; begin < blocks * kBlock; begin += kBlock) {
        Longs any = {};
        for (std::size_t k = begin; k < begin + kBlock; k += kLanes) {
            Doubles px, py, pz;
            std::memcpy(&px, x + k, sizeof px);
            std::memcpy(&py, y + k, sizeof py);
            std::memcpy(&pz, z + k, sizeof pz);
            const Doubles h = plane[0] * px + plane[1] * py + plane[2] * pz - plane[3];
            std::memcpy(height + k, &h, sizeof h);
            any |= h > floor;
        }
        if ((any[0] | any[1] | any[2] | any[3]) == 0) continue;
        for (std::size_t k = begin; k < begin + kBlock; ++k) {
            above[found] = static_cast<int>(k);
            found += height[k] > floor ? 1 : 0;
        }
    }
    return found;
}

class Clip {
  public:
    explicit Clip(const std::vector<Facet>& facets)
        : facets_(facets), words_((facets.size() + 6 + 63) / 64) {
        double farthest = 0.0;
        for (const Facet& facet : facets)
            farthest = std::max(farthest, facet.distance);
        on_ = kOnWhileCutting * farthest;
        loops_.resize(facets.size() + 6);
        makeBox(kBox * farthest);
    }

    // False when the cut is not that of a convex body.
    bool cut(int face);
    std::optional<ClippedSolid> result();

  private:
    static std::size_t index(int k) { return static_cast<std::size_t>(k); }

    void makeBox(double half);
    int addVertex(const Vector3d& point);
    void markFace(int vertex, int face) {
        masks_[index(vertex) * words_ + index(face) / 64] |= std::uint64_t{1} << (face % 64);
    }
    void clearFace(int vertex, int face) {
        masks_[index(vertex) * words_ + index(face) / 64] &= ~(std::uint64_t{1} << (face % 64));
    }
    int crossing(int inner, int outer);
    bool cutLoop(int face);
    bool closeLoop(int face);
    bool settleVertices(ClippedSolid& solid, const std::vector<int>& number) const;
    bool proven(const ClippedSolid& solid) const;

    const std::vector<Facet>& facets_;
    std::size_t words_;
    double on_ = 0.0;
    std::vector<std::vector<int>> loops_;  // by face; the box's six after those of the facets
    Points points_;                        // unused ones at the origin
    std::vector<double> height_;           // over the plane at hand
    std::vector<std::uint64_t> masks_;     // the faces round each vertex
    std::vector<int> unused_;
    std::size_t used_ = 0;  // no vertex at or above it was ever used

    struct Crossing {
        int inner, outer, vertex;
    };
    std::vector<Crossing> crossings_;      // of the cut at hand
    std::vector<std::array<int, 2>> rim_;  // its border, from vertex to vertex
    std::vector<int> outside_;             // room for one more than all
    std::vector<int> scratch_;
};

int Clip::addVertex(const Vector3d& point) {
    if (unused_.empty()) {
        const std::size_t count = points_.size(), more = std::max(kBlock, count);
        points_.resize(count + more);
        height_.resize(count + more, 0.0);
        outside_.resize(count + more + 1);
        masks_.resize((count + more) * words_, 0);
        for (std::size_t k = more; k-- > 0;)
            unused_.push_back(static_cast<int>(count + k));
    }
    const int vertex = unused_.back();
    unused_.pop_back();
    used_ = std::max(used_, index(vertex) + 1);
    std::fill_n(masks_.begin() + static_cast<std::ptrdiff_t>(index(vertex) * words_), words_, 0);
    points_.set(vertex, point);
    height_[index(vertex)] = 0.0;
    return vertex;
}

void Clip::makeBox(double half) {
    for (int k = 0; k < 8; ++k)
        addVertex(Vector3d(k & 1 ? half : -half, k & 2 ? half : -half, k & 4 ? half : -half));
    constexpr int kSides[6][4] = {{0, 4, 6, 2}, {1, 3, 7, 5}, {0, 1, 5, 4},
                                  {2, 6, 7, 3}, {0, 2, 3, 1}, {4, 5, 7, 6}};
    for (int side = 0; side < 6; ++side) {
        const int face = static_cast<int>(facets_.size()) + side;
        loops_[index(face)].assign(kSides[side], kSides[side] + 4);
        for (const int vertex : kSides[side])
            markFace(vertex, face);
    }
}

// The vertex where the edge from inside to outside meets the plane; one for both its faces.
int Clip::crossing(int inner, int outer) {
    for (const Crossing& known : crossings_)
        if (known.inner == inner && known.outer == outer) return known.vertex;
    const double a = height_[index(inner)], b = height_[index(outer)];
    const double share = a / (a - b);
    const Vector3d from = points_.at(inner);
    const int vertex = addVertex(from + share * (points_.at(outer) - from));
    for (std::size_t w = 0; w < words_; ++w)
        masks_[index(vertex) * words_ + w] =
            masks_[index(inner) * words_ + w] & masks_[index(outer) * words_ + w];
    crossings_.push_back({inner, outer, vertex});
    return vertex;
}

// Cuts one face that has a vertex outside.
bool Clip::cutLoop(int face) {
    std::vector<int>& loop = loops_[index(face)];
    const auto isOut = [&](int v) { return height_[index(v)] > on_; };
    const auto isIn = [&](int v) { return height_[index(v)] < -on_; };
    if (std::none_of(loop.begin(), loop.end(), isIn)) {
        for (std::size_t c = 0; c < loop.size(); ++c) {
            const int a = loop[c], b = loop[c + 1 < loop.size() ? c + 1 : 0];
            if (!isOut(a)) clearFace(a, face);
            if (!isOut(a) && !isOut(b)) rim_.push_back({a, b});  // the neighbour stays
        }
        loop.clear();
        return true;
    }
    scratch_.clear();
    int leave = -1, enter = -1, turns = 0;
    for (std::size_t c = 0; c < loop.size(); ++c) {
        const int a = loop[c], b = loop[c + 1 < loop.size() ? c + 1 : 0];
        if (!isOut(a)) {
            scratch_.push_back(a);
            if (!isOut(b)) continue;
            ++turns;
            leave = a;
            if (isIn(a)) scratch_.push_back(leave = crossing(a, b));
        } else if (!isOut(b)) {
            enter = b;
            if (isIn(b)) scratch_.push_back(enter = crossing(b, a));
        }
    }
    if (turns != 1 || leave == enter) return false;
    loop = scratch_;
    rim_.push_back({enter, leave});
    return true;
}

// The new face, from the border of the cut.
bool Clip::closeLoop(int face) {
    std::vector<int>& loop = loops_[index(face)];
    loop.reserve(rim_.size() + kSpareCorners);
    for (int at = rim_.front()[0]; loop.size() < rim_.size();) {
        const auto next = std::find_if(rim_.begin(), rim_.end(),
                                       [at](const auto& step) { return step[0] == at; });
        if (next == rim_.end()) return false;
        loop.push_back(at);
        markFace(at, face);
        at = (*next)[1];
        if (at == loop.front()) break;
    }
    return loop.size() == rim_.size() && loop.size() >= 3;
}

bool Clip::cut(int face) {
    const Facet& facet = facets_[index(face)];
    const double plane[4] = {facet.normal.x(), facet.normal.y(), facet.normal.z(), facet.distance};
    const std::size_t outside =
        heightsOver(points_.x.data(), points_.y.data(), points_.z.data(),
                    (used_ + kBlock - 1) / kBlock, plane, on_, height_.data(), outside_.data());
    if (outside == 0) return true;
    crossings_.clear();
    rim_.clear();
    for (std::size_t w = 0; w < words_; ++w) {
        std::uint64_t touched = 0;
        for (std::size_t k = 0; k < outside; ++k)
            touched |= masks_[index(outside_[k]) * words_ + w];
        for (; touched != 0; touched &= touched - 1)
            if (!cutLoop(static_cast<int>(64 * w) + std::countr_zero(touched))) return false;
    }
    for (std::size_t k = 0; k < outside; ++k) {
        points_.set(outside_[k], Vector3d::Zero());
        unused_.push_back(outside_[k]);
    }
    return rim_.size() >= 3 && closeLoop(face);
}

// Each corner anew from the three of its planes that fix it best.
bool Clip::settleVertices(ClippedSolid& solid, const std::vector<int>& number) const {
    std::vector<const Facet*> round;
    for (std::size_t v = 0; v < number.size(); ++v) {
        if (number[v] < 0) continue;
        round.clear();
        for (std::size_t w = 0; w < words_; ++w)
            for (std::uint64_t rest = masks_[v * words_ + w]; rest != 0; rest &= rest - 1) {
                const std::size_t face = 64 * w + index(std::countr_zero(rest));
                if (face >= facets_.size()) return false;
                round.push_back(&facets_[face]);
            }
        if (round.size() < 3) return false;
        const Facet& a = *round[0];
        const Facet* b = nullptr;
        const Facet* c = nullptr;
        double widest = 0.0, sharpest = 0.0;
        for (const Facet* other : round) {
            const double wide = a.normal.cross(other->normal).squaredNorm();
            if (wide > widest) {
                widest = wide;
                b = other;
            }
        }
        if (!b) return false;
        const Vector3d ab = a.normal.cross(b->normal);
        for (const Facet* other : round) {
            const double sharp = std::abs(ab.dot(other->normal));
            if (sharp > sharpest) {
                sharpest = sharp;
                c = other;
            }
        }
        if (sharpest < kFlattest) return false;
        solid.vertices[index(number[v])] =
            (a.distance * b->normal.cross(c->normal) + b->distance * c->normal.cross(a.normal) +
             c->distance * ab) /
            ab.dot(c->normal);
    }
    return true;
}

// Every corner clearly on or off every plane, and on no plane with a face but its own.
bool Clip::proven(const ClippedSolid& solid) const {
    const std::size_t blocks = solid.vertices.size() / kBlock + 1;
    Points points;
    points.resize(blocks * kBlock);
    for (std::size_t v = 0; v < solid.vertices.size(); ++v)
        points.set(static_cast<int>(v), solid.vertices[v]);
    std::vector<double> height(points.size());
    std::vector<int> near(points.size() + 1);
    const double on = kOn * solid.reach, off = -kOff * std::max(1.0, solid.reach);
    for (std::size_t k = 0; k < facets_.size(); ++k) {
        const Vector3d& n = facets_[k].normal;
        const double plane[4] = {n.x(), n.y(), n.z(), facets_[k].distance};
        const std::size_t touching = heightsOver(points.x.data(), points.y.data(), points.z.data(),
                                                 blocks, plane, off, height.data(), near.data());
        for (std::size_t i = 0; i < touching; ++i)
            if (!(std::abs(height[index(near[i])]) <= on)) return false;
        const std::vector<int>& corners = solid.faces[k];
        if (corners.empty() ? touching > 2 : touching != corners.size()) return false;
        for (const int corner : corners)
            if (!(height[index(corner)] >= -on)) return false;
    }
    return true;
}

std::optional<ClippedSolid> Clip::result() {
    for (std::size_t side = facets_.size(); side < loops_.size(); ++side)
        if (!loops_[side].empty()) return std::nullopt;
    loops_.resize(facets_.size());
    ClippedSolid solid;
    std::vector<int> number(points_.size(), -1);
    int count = 0;
    for (std::vector<int>& loop : loops_)
        for (int& corner : loop) {
            int& given = number[index(corner)];
            if (given < 0) given = count++;
            corner = given;
        }
    solid.vertices.resize(index(count));
    solid.faces = std::move(loops_);
    if (!settleVertices(solid, number)) return std::nullopt;
    for (const Vector3d& vertex : solid.vertices)
        solid.reach = std::max(solid.reach, vertex.norm());
    if (!proven(solid)) return std::nullopt;
    return solid;
}

}  // namespace

std::optional<ClippedSolid> clipByPlanes(const std::vector<Facet>& facets) {
    Clip clip(facets);
    for (std::size_t k = 0; k < facets.size(); ++k)
        if (!clip.cut(static_cast<int>(k))) return std::nullopt;
    return clip.result();
}

}  // namespace macle
