#include "core/stone/volume_defects.h"

#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numeric>
#include <unordered_map>

#include "core/base/error.h"

namespace macle {

namespace {

using Eigen::Vector3d;
using Index = std::array<int, 3>;

constexpr std::size_t kMostParts = 100'000;

// Every edge of the six tetrahedra around the diagonal of a cell (Kuhn's partition) goes from a
// corner to one that is larger along some axes, so neighbours are these seven steps and their
// opposites.
constexpr std::array<Index, 7> kForward = {
    {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}, {1, 1, 0}, {1, 0, 1}, {0, 1, 1}, {1, 1, 1}}};

// The six tetrahedra: from corner 0 along the axes in each order to the far corner.
constexpr std::array<std::array<int, 3>, 6> kOrders = {
    {{0, 1, 2}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}}};

// How deep a value lies inside the range; below zero outside it.
double depthOf(const GreyRange& range, float value) {
    return std::min(static_cast<double>(value) - range.low,
                    range.high - static_cast<double>(value));
}

struct Part {
    Index low{}, high{};  // bounds, voxels
    std::size_t voxels = 0;
    bool atBorder = false;
};

// The parts of the range: a number per voxel, 0 for none.
class Labels {
  public:
    Labels(const Volume& volume, const GreyRange& range, Progress* progress)
        : volume_(volume), label_(volume.count(), 0) {
        std::vector<std::uint32_t> root(1, 0);
        const auto find = [&](std::uint32_t i) {
            while (root[i] != i)
                i = root[i] = root[root[i]];
            return i;
        };
        const auto [nx, ny, nz] = volume.size;
        for (int k = 0; k < nz; ++k) {
            if (progress) {
                progress->throwIfCancelled();
                progress->advanceTo(0.4 * k / nz);
            }
            for (int j = 0; j < ny; ++j)
                for (int i = 0; i < nx; ++i) {
                    const std::size_t here = at(i, j, k);
                    if (depthOf(range, volume.values[here]) < 0.0) continue;
                    std::uint32_t mine = 0;
                    for (const Index& step : kForward) {
                        const int x = i - step[0], y = j - step[1], z = k - step[2];
                        if (x < 0 || y < 0 || z < 0) continue;
                        const std::uint32_t other = label_[at(x, y, z)];
                        if (other == 0) continue;
                        const std::uint32_t theirs = find(other);
                        if (mine == 0)
                            mine = theirs;
                        else if (theirs != mine) {
                            const std::uint32_t less = std::min(mine, theirs);
                            root[std::max(mine, theirs)] = less;
                            mine = less;
                        }
                    }
                    if (mine == 0) {
                        mine = static_cast<std::uint32_t>(root.size());
                        root.push_back(mine);
                    }
                    label_[here] = mine;
                }
        }
        number(root, find);
    }

    const std::vector<Part>& parts() const { return parts_; }
    std::uint32_t labelAt(int i, int j, int k) const { return label_[at(i, j, k)]; }

  private:
    std::size_t at(int i, int j, int k) const {
        return (static_cast<std::size_t>(k) * static_cast<std::size_t>(volume_.size[1]) +
                static_cast<std::size_t>(j)) *
                   static_cast<std::size_t>(volume_.size[0]) +
               static_cast<std::size_t>(i);
    }

    template <class Find>
    void number(std::vector<std::uint32_t>& root, Find find) {
        std::vector<std::uint32_t> newOf(root.size(), 0);
        parts_.resize(1);
        const auto [nx, ny, nz] = volume_.size;
        for (int k = 0; k < nz; ++k)
            for (int j = 0; j < ny; ++j)
                for (int i = 0; i < nx; ++i) {
                    std::uint32_t& label = label_[at(i, j, k)];
                    if (label == 0) continue;
                    std::uint32_t& fresh = newOf[find(label)];
                    if (fresh == 0) {
                        if (parts_.size() > kMostParts)
                            throw Error(ErrorCode::BadInput,
                                        "The range of grey values has more than " +
                                            std::to_string(kMostParts) + " separate parts.",
                                        "Narrow the range until noise no longer belongs to it.");
                        fresh = static_cast<std::uint32_t>(parts_.size());
                        parts_.push_back({{i, j, k}, {i, j, k}, 0, false});
                    }
                    label = fresh;
                    Part& part = parts_[fresh];
                    const Index place = {i, j, k};
                    for (std::size_t axis = 0; axis < 3; ++axis) {
                        part.low[axis] = std::min(part.low[axis], place[axis]);
                        part.high[axis] = std::max(part.high[axis], place[axis]);
                    }
                    part.atBorder = part.atBorder || i == 0 || j == 0 || k == 0 || i == nx - 1 ||
                                    j == ny - 1 || k == nz - 1;
                    ++part.voxels;
                }
    }

    const Volume& volume_;
    std::vector<std::uint32_t> label_;
    std::vector<Part> parts_;  // from 1
};

// One part in a box of its own with a margin of one voxel: depths inside the range, with other
// parts and what lies beyond the volume taken as outside, and hollows filled.
class Field {
  public:
    Field(const Volume& volume, const Labels& labels, std::uint32_t label, const GreyRange& range)
        : volume_(volume), low_(labels.parts()[label].low) {
        const Part& part = labels.parts()[label];
        for (std::size_t axis = 0; axis < 3; ++axis) {
            --low_[axis];
            size_[axis] = part.high[axis] - part.low[axis] + 3;
        }
        // Beside the volume there is nothing; the surface goes half-way there.
        const double beside =
            -std::abs(depthOf(range, volume.at(part.low[0], part.low[1], part.low[2])));
        const double least = std::numeric_limits<double>::min();
        depth_.resize(static_cast<std::size_t>(size_[0]) * static_cast<std::size_t>(size_[1]) *
                      static_cast<std::size_t>(size_[2]));
        for (int k = 0; k < size_[2]; ++k)
            for (int j = 0; j < size_[1]; ++j)
                for (int i = 0; i < size_[0]; ++i) {
                    const Index v = {i + low_[0], j + low_[1], k + low_[2]};
                    bool there = true;
                    for (std::size_t axis = 0; axis < 3; ++axis)
                        there = there && v[axis] >= 0 && v[axis] < volume.size[axis];
                    double& depth = depth_[at(i, j, k)];
                    if (!there) {
                        depth = std::min(beside, -least);
                        continue;
                    }
                    depth = depthOf(range, volume.at(v[0], v[1], v[2]));
                    // No edge joins two parts, so of another part only the side counts.
                    if (labels.labelAt(v[0], v[1], v[2]) == label)
                        depth = std::max(depth, least);
                    else
                        depth = std::min(-std::abs(depth), -least);
                }
        fillHollows();
    }

    bool hollow() const { return hollow_; }

    // Halves the steps, with cubic interpolation (Catmull and Rom, 1974): between a few voxels a
    // round body is far from linear, and flat triangles would cut off its bulge.
    void refine() {
        for (std::size_t axis = 0; axis < 3; ++axis)
            refineAlong(axis);
        step_ *= 0.5;
    }

    TriangleMesh surface() const {
        TriangleMesh mesh;
        std::unordered_map<std::uint64_t, std::uint32_t> known;
        // The vertex where the surface crosses the edge between two voxels.
        const auto vertex = [&](const Index& a, const Index& b) {
            const std::uint64_t from = at(a[0], a[1], a[2]), to = at(b[0], b[1], b[2]);
            const auto [found, fresh] =
                known.try_emplace(std::min(from, to) * depth_.size() + std::max(from, to),
                                  static_cast<std::uint32_t>(mesh.vertices.size()));
            if (fresh) {
                const double da = depth_[from], db = depth_[to];
                // Away from the voxels, so that no two vertices fall together.
                const double t = std::clamp(da / (da - db), 0.01, 0.99);
                const Vector3d p = gridPlace(a), q = gridPlace(b);
                mesh.vertices.push_back(volume_.place_mm(p + t * (q - p)));
            }
            return found->second;
        };
        for (int k = 0; k + 1 < size_[2]; ++k)
            for (int j = 0; j + 1 < size_[1]; ++j)
                for (int i = 0; i + 1 < size_[0]; ++i) {
                    if (uniform(i, j, k)) continue;
                    for (const auto& order : kOrders) {
                        std::array<Index, 4> corner;
                        corner[0] = {i, j, k};
                        for (std::size_t s = 0; s < 3; ++s) {
                            corner[s + 1] = corner[s];
                            ++corner[s + 1][static_cast<std::size_t>(order[s])];
                        }
                        cut(corner, vertex, mesh);
                    }
                }
        return mesh;
    }

  private:
    std::size_t at(int i, int j, int k) const {
        return (static_cast<std::size_t>(k) * static_cast<std::size_t>(size_[1]) +
                static_cast<std::size_t>(j)) *
                   static_cast<std::size_t>(size_[0]) +
               static_cast<std::size_t>(i);
    }
    // In voxels of the volume.
    Vector3d gridPlace(const Index& v) const {
        return Vector3d(low_[0], low_[1], low_[2]) + step_ * Vector3d(v[0], v[1], v[2]);
    }

    void refineAlong(std::size_t axis) {
        const Index before = size_;
        const std::vector<double> coarse = std::move(depth_);
        const auto old = [&](Index v) {
            v[axis] = std::clamp(v[axis], 0, before[axis] - 1);
            return coarse[(static_cast<std::size_t>(v[2]) * static_cast<std::size_t>(before[1]) +
                           static_cast<std::size_t>(v[1])) *
                              static_cast<std::size_t>(before[0]) +
                          static_cast<std::size_t>(v[0])];
        };
        size_[axis] = 2 * before[axis] - 1;
        depth_.resize(static_cast<std::size_t>(size_[0]) * static_cast<std::size_t>(size_[1]) *
                      static_cast<std::size_t>(size_[2]));
        for (int k = 0; k < size_[2]; ++k)
            for (int j = 0; j < size_[1]; ++j)
                for (int i = 0; i < size_[0]; ++i) {
                    Index v = {i, j, k};
                    const bool between = v[axis] % 2 != 0;
                    v[axis] /= 2;
                    double value = old(v);
                    if (between) {
                        Index w = v;
                        const auto next = [&](int shift) {
                            w[axis] = v[axis] + shift;
                            return old(w);
                        };
                        value = (9.0 * (value + next(1)) - next(-1) - next(2)) / 16.0;
                        // Never on the very level.
                        if (value == 0.0) value = -std::numeric_limits<double>::min();
                    }
                    depth_[at(i, j, k)] = value;
                }
    }

    bool inside(const Index& v) const { return depth_[at(v[0], v[1], v[2])] > 0.0; }

    bool uniform(int i, int j, int k) const {
        const bool first = inside({i, j, k});
        for (int c = 1; c < 8; ++c)
            if (inside({i + (c & 1), j + (c >> 1 & 1), k + (c >> 2 & 1)}) != first) return false;
        return true;
    }

    // Voxels outside the part that no path through outside voxels joins to the margin belong to it.
    void fillHollows() {
        std::vector<bool> reached(depth_.size(), false);
        std::vector<Index> waiting = {{0, 0, 0}};
        reached[0] = true;
        while (!waiting.empty()) {
            const Index v = waiting.back();
            waiting.pop_back();
            for (const Index& step : kForward)
                for (const int sign : {1, -1}) {
                    const Index w = {v[0] + sign * step[0], v[1] + sign * step[1],
                                     v[2] + sign * step[2]};
                    bool there = true;
                    for (std::size_t axis = 0; axis < 3; ++axis)
                        there = there && w[axis] >= 0 && w[axis] < size_[axis];
                    if (!there || reached[at(w[0], w[1], w[2])] || inside(w)) continue;
                    reached[at(w[0], w[1], w[2])] = true;
                    waiting.push_back(w);
                }
        }
        for (std::size_t n = 0; n < depth_.size(); ++n)
            if (!reached[n] && depth_[n] <= 0.0) {
                depth_[n] = -depth_[n];
                hollow_ = true;
            }
    }

    // The surface inside one tetrahedron, outward.
    template <class Vertex>
    void cut(const std::array<Index, 4>& corner, const Vertex& vertex, TriangleMesh& mesh) const {
        std::array<int, 4> in{}, out{};
        int insides = 0, outsides = 0;
        for (int c = 0; c < 4; ++c) {
            if (inside(corner[static_cast<std::size_t>(c)]))
                in[static_cast<std::size_t>(insides++)] = c;
            else
                out[static_cast<std::size_t>(outsides++)] = c;
        }
        if (insides == 0 || outsides == 0) return;
        const auto edge = [&](int a, int b) {
            return vertex(corner[static_cast<std::size_t>(a)], corner[static_cast<std::size_t>(b)]);
        };
        // Outward is away from an inside corner.
        const Vector3d inner = volume_.place_mm(gridPlace(corner[static_cast<std::size_t>(in[0])]));
        const auto add = [&](std::uint32_t a, std::uint32_t b, std::uint32_t c) {
            const Vector3d &p = mesh.vertices[a], &q = mesh.vertices[b], &r = mesh.vertices[c];
            if ((q - p).cross(r - p).dot(p - inner) < 0.0) std::swap(b, c);
            mesh.triangles.push_back({a, b, c});
        };
        if (insides == 1) {
            add(edge(in[0], out[0]), edge(in[0], out[1]), edge(in[0], out[2]));
        } else if (insides == 3) {
            add(edge(in[0], out[0]), edge(in[1], out[0]), edge(in[2], out[0]));
        } else {
            const std::uint32_t a = edge(in[0], out[0]), b = edge(in[0], out[1]),
                                c = edge(in[1], out[1]), d = edge(in[1], out[0]);
            add(a, b, c);
            add(a, c, d);
        }
    }

    const Volume& volume_;
    Index low_;
    Index size_{};
    double step_ = 1.0;  // of this grid, in voxels
    std::vector<double> depth_;
    bool hollow_ = false;
};

// The surface of a part. Over few voxels its flat triangles cut off what bulges between them; then
// it is stretched about its middle to the volume that a grid four times as fine gives.
TriangleMesh surfaceOf(const Field& field, const Part& part) {
    constexpr int kFewVoxels = 24;
    constexpr std::size_t kMostVoxels = 20'000;
    constexpr double kMostStretch = 1.2;  // of the volume; more is another shape, not a bulge
    TriangleMesh surface = field.surface();
    const int least = std::min(
        {part.high[0] - part.low[0], part.high[1] - part.low[1], part.high[2] - part.low[2]});
    if (least >= kFewVoxels || part.voxels > kMostVoxels) return surface;
    Field fine = field;
    fine.refine();
    fine.refine();
    const double ratio = signedVolume_mm3(fine.surface()) / signedVolume_mm3(surface);
    if (!(ratio > 1.0 && ratio < kMostStretch)) return surface;
    const Vector3d middle = bounds(surface).centre();
    for (Vector3d& v : surface.vertices)
        v = middle + std::cbrt(ratio) * (v - middle);
    return surface;
}

}  // namespace

VolumeDefects defectsFromVolume(const Volume& volume, const VolumeDefectOptions& options,
                                Progress* progress) {
    if (!(options.range.low <= options.range.high) || !std::isfinite(options.range.low) ||
        !std::isfinite(options.range.high))
        throw Error(ErrorCode::BadUsage, "The range of grey values is none.",
                    "Give a lower and an upper value, the lower one first.");
    if (options.severity < 1 || options.severity > 5 || !(options.smallest_mm3 >= 0.0))
        throw Error(ErrorCode::BadUsage, "Severity is 1 to 5, the smallest size 0 mm3 or more.",
                    "Correct the numbers.");
    const Labels labels(volume, options.range, progress);
    const double voxel_mm3 = std::abs(volume.step_mm.determinant());
    VolumeDefects found;
    struct Sized {
        double volume_mm3;
        std::uint32_t label;
        TriangleMesh surface;
    };
    std::vector<Sized> kept;
    const auto& parts = labels.parts();
    for (std::uint32_t label = 1; label < parts.size(); ++label) {
        if (progress) {
            progress->throwIfCancelled();
            progress->advanceTo(0.4 + 0.6 * label / static_cast<double>(parts.size()));
        }
        const Part& part = parts[label];
        if (part.atBorder && options.dropAtBorder) {
            ++found.atBorder;
            continue;
        }
        // Far below the limit by its voxels alone: no surface is needed to say so.
        const double rough_mm3 = static_cast<double>(part.voxels) * voxel_mm3;
        if (27.0 * rough_mm3 < options.smallest_mm3) {
            ++found.tooSmall;
            found.tooSmall_mm3 += rough_mm3;
            continue;
        }
        Field field(volume, labels, label, options.range);
        TriangleMesh surface = surfaceOf(field, part);
        const double size = signedVolume_mm3(surface);
        if (size < options.smallest_mm3) {
            ++found.tooSmall;
            found.tooSmall_mm3 += size;
            continue;
        }
        if (options.within != nullptr && !contains(*options.within, bounds(surface).centre())) {
            ++found.outside;
            continue;
        }
        if (field.hollow()) ++found.cavities;
        kept.push_back({size, label, std::move(surface)});
    }
    std::stable_sort(kept.begin(), kept.end(),
                     [](const Sized& a, const Sized& b) { return a.volume_mm3 > b.volume_mm3; });
    for (Sized& one : kept) {
        Defect defect;
        defect.name = "defect " + std::to_string(found.defects.size() + 1);
        defect.kind = options.kind;
        defect.severity = options.severity;
        defect.shape = std::move(one.surface);
        found.defects.push_back(std::move(defect));
        found.volumes_mm3.push_back(one.volume_mm3);
    }
    return found;
}

}  // namespace macle
