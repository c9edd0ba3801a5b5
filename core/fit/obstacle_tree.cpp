#include "core/fit/obstacle_tree.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "core/base/error.h"

namespace macle {

namespace {

constexpr int kBins = 16;
constexpr std::uint32_t kLeafTriangles = 4;
constexpr int kMaxDepth = 60;

// Longer triangles are halved, so that a contact can be told apart from others on the same face.
constexpr double kLongestShare = 1.0 / 16.0;  // of the largest extent
constexpr std::size_t kMostGrowth = 3;        // a mesh of slivers is left as it is
constexpr std::size_t kFreeGrowth = 50000;

using Float3 = std::array<float, 3>;

struct FloatBox {
    Float3 low{std::numeric_limits<float>::infinity(), std::numeric_limits<float>::infinity(),
               std::numeric_limits<float>::infinity()};
    Float3 high{-std::numeric_limits<float>::infinity(), -std::numeric_limits<float>::infinity(),
                -std::numeric_limits<float>::infinity()};

    void add(const FloatBox& other) {
        for (int axis = 0; axis < 3; ++axis) {
            low[axis] = std::min(low[axis], other.low[axis]);
            high[axis] = std::max(high[axis], other.high[axis]);
        }
    }
    float halfArea() const {
        const float x = high[0] - low[0], y = high[1] - low[1], z = high[2] - low[2];
        return x < 0.0F ? 0.0F : x * y + y * z + z * x;
    }
};

struct Item {
    FloatBox box;
    Float3 centre;
    std::uint32_t triangle;
};

// Halves the longest edges until none is longer than `longest`. False, and nothing changed, when
// that would take more than `most` triangles.
bool halveLongEdges(std::vector<TreeTriangle>& triangles, double longest, std::size_t most) {
    std::vector<TreeTriangle> done, waiting;
    const double limit = longest * longest;
    for (const TreeTriangle& given : triangles) {
        waiting.assign(1, given);
        while (!waiting.empty()) {
            TreeTriangle t = waiting.back();
            waiting.pop_back();
            double lengths[3];
            for (int i = 0; i < 3; ++i) {
                lengths[i] = 0.0;
                for (int axis = 0; axis < 3; ++axis) {
                    const double step = t.corner[3 * ((i + 1) % 3) + axis] - t.corner[3 * i + axis];
                    lengths[i] += step * step;
                }
            }
            int edge = 0;
            for (int i = 1; i < 3; ++i)
                if (lengths[i] > lengths[edge]) edge = i;
            if (lengths[edge] <= limit) {
                done.push_back(t);
                continue;
            }
            if (done.size() + waiting.size() >= most) return false;
            TreeTriangle other = t;
            for (int axis = 0; axis < 3; ++axis) {
                const double middle =
                    0.5 * (t.corner[3 * edge + axis] + t.corner[3 * ((edge + 1) % 3) + axis]);
                t.corner[3 * ((edge + 1) % 3) + axis] = middle;
                other.corner[3 * edge + axis] = middle;
            }
            waiting.push_back(other);
            waiting.push_back(t);
        }
    }
    triangles.swap(done);
    return true;
}

struct Job {
    std::uint32_t node;
    std::uint32_t begin;
    std::uint32_t end;
    int depth;
};

// Index of the first item of the right side; begin or end when no plane pays.
std::uint32_t split(std::vector<Item>& items, const Job& job) {
    Float3 low{}, high{};
    low.fill(std::numeric_limits<float>::infinity());
    high.fill(-std::numeric_limits<float>::infinity());
    for (std::uint32_t i = job.begin; i < job.end; ++i)
        for (int axis = 0; axis < 3; ++axis) {
            low[axis] = std::min(low[axis], items[i].centre[axis]);
            high[axis] = std::max(high[axis], items[i].centre[axis]);
        }
    int bestAxis = -1, bestBin = 0;
    float bestCost = std::numeric_limits<float>::infinity();
    for (int axis = 0; axis < 3; ++axis) {
        const float width = high[axis] - low[axis];
        if (!(width > 0.0F)) continue;
        const float scale = kBins / width;
        std::array<FloatBox, kBins> boxes;
        std::array<std::uint32_t, kBins> counts{};
        for (std::uint32_t i = job.begin; i < job.end; ++i) {
            const int bin = std::clamp(
                static_cast<int>((items[i].centre[axis] - low[axis]) * scale), 0, kBins - 1);
            boxes[bin].add(items[i].box);
            ++counts[bin];
        }
        std::array<float, kBins> rightCost{};
        FloatBox sweep;
        std::uint32_t count = 0;
        for (int bin = kBins - 1; bin > 0; --bin) {
            sweep.add(boxes[bin]);
            count += counts[bin];
            rightCost[bin] = count > 0 ? sweep.halfArea() * static_cast<float>(count) : 0.0F;
        }
        sweep = FloatBox();
        count = 0;
        for (int bin = 1; bin < kBins; ++bin) {
            sweep.add(boxes[bin - 1]);
            count += counts[bin - 1];
            if (count == 0 || count == job.end - job.begin) continue;
            const float cost = sweep.halfArea() * static_cast<float>(count) + rightCost[bin];
            if (cost < bestCost) {
                bestCost = cost;
                bestAxis = axis;
                bestBin = bin;
            }
        }
    }
    if (bestAxis < 0) return job.begin;
    const float scale = kBins / (high[bestAxis] - low[bestAxis]);
    const auto middle =
        std::partition(items.begin() + job.begin, items.begin() + job.end, [&](const Item& item) {
            return std::clamp(static_cast<int>((item.centre[bestAxis] - low[bestAxis]) * scale), 0,
                              kBins - 1) < bestBin;
        });
    return static_cast<std::uint32_t>(middle - items.begin());
}

Eigen::Vector3d cornerOf(const TreeTriangle& triangle, int index) {
    return {triangle.corner[3 * index], triangle.corner[3 * index + 1],
            triangle.corner[3 * index + 2]};
}

}  // namespace

ObstacleTree::ObstacleTree(const std::vector<ObstacleSurface>& surfaces,
                           std::vector<std::string> names, Progress* progress, bool halving)
    : names_(std::move(names)), closed_(names_.size(), 0), margins_(names_.size(), 0.0) {
    std::size_t total = 0;
    for (const ObstacleSurface& surface : surfaces)
        total += surface.mesh.triangles.size();
    if (total == 0 || total > std::numeric_limits<std::uint32_t>::max() / 4)
        throw Error(ErrorCode::BadInput, "The stone has no skin, or one of too many triangles.",
                    "Import the scan of the rough again.");
    triangles_.reserve(total);
    std::vector<TreeTriangle> inner;
    for (const ObstacleSurface& surface : surfaces) {
        closed_.at(surface.source) = surface.closed ? 1 : 0;
        if (!(surface.margin_mm >= 0.0) || !std::isfinite(surface.margin_mm))
            throw Error(ErrorCode::BadInput,
                        "The margin around '" + surface.name + "' is not a length.",
                        "Give it in mm, 0 or more.");
        margins_.at(surface.source) = surface.margin_mm;
        largestMargin_ = std::max(largestMargin_, surface.margin_mm);
        if (surface.source == 0) skinBox_ = bounds(surface.mesh);
        for (const auto& corners : surface.mesh.triangles) {
            TreeTriangle triangle{};
            triangle.source = surface.source;
            for (int i = 0; i < 3; ++i) {
                const Eigen::Vector3d& vertex = surface.mesh.vertices.at(corners[i]);
                if (!vertex.allFinite())
                    throw Error(ErrorCode::BadInput,
                                "A corner of '" + surface.name + "' is not a finite number.",
                                "Import it again.");
                for (int axis = 0; axis < 3; ++axis)
                    triangle.corner[3 * i + axis] = vertex[axis];
            }
            (surface.inner ? inner : triangles_).push_back(triangle);
        }
    }
    triangles_.insert(triangles_.end(), inner.begin(), inner.end());
    Eigen::Vector3d low = cornerOf(triangles_[0], 0), high = low;
    for (const TreeTriangle& triangle : triangles_)
        for (int i = 0; i < 3; ++i) {
            low = low.cwiseMin(cornerOf(triangle, i));
            high = high.cwiseMax(cornerOf(triangle, i));
        }
    origin_ = 0.5 * (low + high);
    if (halving)
        halveLongEdges(triangles_, kLongestShare * (high - low).maxCoeff(),
                       kMostGrowth * total + kFreeGrowth);
    std::vector<char> isInner(names_.size(), 0);
    for (const ObstacleSurface& surface : surfaces)
        isInner.at(surface.source) = surface.inner ? 1 : 0;
    // Halving keeps the order.
    firstInner_ = static_cast<std::uint32_t>(
        std::find_if(triangles_.begin(), triangles_.end(),
                     [&](const TreeTriangle& t) { return isInner[t.source] != 0; }) -
        triangles_.begin());
    build(progress);
}

void ObstacleTree::build(Progress* progress) {
    const auto total = static_cast<std::uint32_t>(triangles_.size());
    std::vector<Item> items(total);
    for (std::uint32_t i = 0; i < total; ++i) {
        Item& item = items[i];
        item.triangle = i;
        for (int axis = 0; axis < 3; ++axis) {
            const auto& c = triangles_[i].corner;
            const double a = c[axis] - origin_[axis], b = c[3 + axis] - origin_[axis],
                         d = c[6 + axis] - origin_[axis];
            item.box.low[axis] = static_cast<float>(std::min({a, b, d}));
            item.box.high[axis] = static_cast<float>(std::max({a, b, d}));
            item.centre[axis] = 0.5F * (item.box.low[axis] + item.box.high[axis]);
        }
    }
    nodes_.reserve(total);
    nodes_.emplace_back();
    std::vector<std::uint32_t> begin{0}, end{firstInner_};
    std::vector<Job> jobs;
    if (firstInner_ < total) {
        innerRoot_ = 1;
        nodes_.emplace_back();
        begin.push_back(firstInner_);
        end.push_back(total);
        jobs.push_back({innerRoot_, firstInner_, total, 0});
    }
    jobs.push_back({0, 0, firstInner_, 0});
    while (!jobs.empty()) {
        const Job job = jobs.back();
        jobs.pop_back();
        TreeNode& node = nodes_[job.node];
        begin[job.node] = job.begin;
        end[job.node] = job.end;
        if (job.end - job.begin <= kLeafTriangles) {
            node.first = job.begin;
            node.count = job.end - job.begin;
            continue;
        }
        if (job.end - job.begin > 4096 && progress) {
            progress->throwIfCancelled();
            progress->advanceTo(0.7 * job.begin / total);
        }
        std::uint32_t middle = job.depth < kMaxDepth ? split(items, job) : job.begin;
        if (middle == job.begin || middle == job.end)  // all centres alike
            middle = job.begin + (job.end - job.begin) / 2;
        const auto left = static_cast<std::uint32_t>(nodes_.size());
        node.first = left;
        node.count = 0;
        nodes_.emplace_back();
        nodes_.emplace_back();
        begin.resize(nodes_.size());
        end.resize(nodes_.size());
        jobs.push_back({left + 1, middle, job.end, job.depth + 1});
        jobs.push_back({left, job.begin, middle, job.depth + 1});
    }
    std::vector<TreeTriangle> ordered(total);
    for (std::uint32_t i = 0; i < total; ++i)
        ordered[i] = triangles_[items[i].triangle];
    triangles_.swap(ordered);
    turnBoxes(begin, end, progress);
    if (progress) {
        progress->throwIfCancelled();
        progress->advanceTo(1.0);
    }
}

namespace {

using Frame = Eigen::Matrix3d;  // rows are unit axes

struct Extent {
    Eigen::Vector3d low, high;  // along the rows of a frame
    double area() const {
        const Eigen::Vector3d e = high - low;
        return e.x() * e.y() + e.y() * e.z() + e.z() * e.x();
    }
};

// Axes along the mean normal and the main directions across it.
bool surfaceFrame(const TreeTriangle* triangles, std::uint32_t count, Frame& frame) {
    Eigen::Vector3d normal = Eigen::Vector3d::Zero(), middle = normal;
    double area = 0.0;
    for (std::uint32_t i = 0; i < count; ++i) {
        const Eigen::Vector3d a = cornerOf(triangles[i], 0);
        const Eigen::Vector3d cross =
            (cornerOf(triangles[i], 1) - a).cross(cornerOf(triangles[i], 2) - a);
        normal += cross;
        area += cross.norm();
        middle += a;
    }
    if (!(normal.norm() > 0.3 * area)) return false;
    normal.normalize();
    middle /= count;
    Eigen::Vector3d u = normal.unitOrthogonal();
    const Eigen::Vector3d v = normal.cross(u);
    double uu = 0.0, uv = 0.0, vv = 0.0;
    for (std::uint32_t i = 0; i < count; ++i)
        for (int c = 0; c < 3; ++c) {
            const Eigen::Vector3d d = cornerOf(triangles[i], c) - middle;
            const double du = d.dot(u), dv = d.dot(v);
            uu += du * du;
            uv += du * dv;
            vv += dv * dv;
        }
    const double turn = 0.5 * std::atan2(2.0 * uv, uu - vv);
    u = (std::cos(turn) * u + std::sin(turn) * v).normalized();
    frame.row(0) = u.transpose();
    frame.row(1) = normal.cross(u).transpose();
    frame.row(2) = normal.transpose();
    return true;
}

Extent extentAlong(const Frame& frame, const TreeTriangle* triangles, std::uint32_t count,
                   const Eigen::Vector3d& origin) {
    Extent extent;
    extent.low.setConstant(std::numeric_limits<double>::infinity());
    extent.high = -extent.low;
    for (std::uint32_t i = 0; i < count; ++i)
        for (int c = 0; c < 3; ++c) {
            const Eigen::Vector3d p = frame * (cornerOf(triangles[i], c) - origin);
            extent.low = extent.low.cwiseMin(p);
            extent.high = extent.high.cwiseMax(p);
        }
    return extent;
}

// Boxes of more than this share of all triangles wrap round the stone; turning them gains nothing.
constexpr double kTurnedShare = 1.0 / 8.0;
// Share by which boxes are widened: more than single precision can lose in centre and axes.
constexpr double kWidening = 1e-6;

void setBox(TreeNode& node, const Frame& frame, const Extent& extent) {
    const Eigen::Vector3d middle = frame.transpose() * (0.5 * (extent.low + extent.high));
    Eigen::Vector3d rounded;
    for (int axis = 0; axis < 3; ++axis) {
        node.centre[axis] = static_cast<float>(middle[axis]);
        rounded[axis] = node.centre[axis];
    }
    const Eigen::Vector3d along = frame * rounded;
    Eigen::Vector3d half = (extent.high - along).cwiseMax(along - extent.low);
    const double longest = half.maxCoeff();
    half.array() += kWidening * longest + 1e-12 * rounded.cwiseAbs().maxCoeff();
    for (int k = 0; k < 3; ++k)
        for (int axis = 0; axis < 3; ++axis)
            node.axes[3 * k + axis] = static_cast<float>(half[k] * frame(k, axis));
    node.extent = static_cast<float>(longest * (1.0 + kWidening));
}

}  // namespace

void ObstacleTree::turnBoxes(const std::vector<std::uint32_t>& begin,
                             const std::vector<std::uint32_t>& end, Progress* progress) {
    const Frame upright = Frame::Identity();
    std::vector<Extent> plain(nodes_.size());  // children come after their parent
    for (std::size_t n = nodes_.size(); n-- > 0;) {
        TreeNode& node = nodes_[n];
        if (progress && (n & 0xFFFF) == 0) progress->throwIfCancelled();
        const TreeTriangle* triangles = triangles_.data() + begin[n];
        const std::uint32_t count = end[n] - begin[n];
        if (node.count > 0) {
            plain[n] = extentAlong(upright, triangles, count, origin_);
        } else {
            plain[n].low = plain[node.first].low.cwiseMin(plain[node.first + 1].low);
            plain[n].high = plain[node.first].high.cwiseMax(plain[node.first + 1].high);
        }
        Frame frame;
        if (count <= kTurnedShare * triangles_.size() && surfaceFrame(triangles, count, frame)) {
            const Extent turned = extentAlong(frame, triangles, count, origin_);
            if (turned.area() < plain[n].area()) {
                setBox(node, frame, turned);
                continue;
            }
        }
        setBox(node, upright, plain[n]);
    }
    for (const std::uint32_t root : {std::uint32_t{0}, innerRoot_})
        reach_ = std::max(reach_,
                          plain[root].low.cwiseAbs().cwiseMax(plain[root].high.cwiseAbs()).norm());
}

namespace {

enum class Hit { None, Along, Against, Unclear };

// Crossing of a triangle by a ray from `point` along `direction`.
Hit crossing(const TreeTriangle& triangle, const Eigen::Vector3d& point,
             const Eigen::Vector3d& direction) {
    const Eigen::Vector3d a = cornerOf(triangle, 0) - point;
    const Eigen::Vector3d e1 = cornerOf(triangle, 1) - cornerOf(triangle, 0);
    const Eigen::Vector3d e2 = cornerOf(triangle, 2) - cornerOf(triangle, 0);
    const Eigen::Vector3d normal = e1.cross(e2);
    const double slope = normal.dot(direction);
    const double longest = std::max(e1.squaredNorm(), e2.squaredNorm());
    constexpr double kEdge = 1e-9;
    const Eigen::Vector3d c = direction.cross(a);
    // Barycentric coordinates times slope.
    const double u = -e2.dot(c), v = e1.dot(c), w = slope - u - v;
    const double band = kEdge * longest + 1e-14 * a.norm() * std::sqrt(longest);
    const double sign = slope >= 0.0 ? 1.0 : -1.0;
    const double least = std::min({sign * u, sign * v, sign * w});
    if (least < -band) return Hit::None;
    const double height = normal.dot(a);  // distance along the ray times slope
    const double lift = sign * height;
    const double deep = 1e-14 * (a.norm() + std::sqrt(longest)) * longest;
    if (lift < -deep) return Hit::None;
    if (least < band || lift < deep) return Hit::Unclear;
    return slope > 0.0 ? Hit::Along : Hit::Against;
}

struct SourceCount {
    int source;
    int count;
};

const std::array<Eigen::Vector3d, 6>& rayDirections() {
    static const std::array<Eigen::Vector3d, 6> directions = {
        Eigen::Vector3d(0.5773981, 0.5772113, 0.5774413).normalized(),
        Eigen::Vector3d(-0.2913377, 0.8437119, 0.4508211).normalized(),
        Eigen::Vector3d(0.6180339, -0.7320508, 0.2861407).normalized(),
        Eigen::Vector3d(-0.7071067, -0.1736481, -0.6854102).normalized(),
        Eigen::Vector3d(0.1414213, 0.2236067, -0.9643650).normalized(),
        Eigen::Vector3d(-0.9428090, 0.3090169, 0.1253323).normalized()};
    return directions;
}

}  // namespace

bool ObstacleTree::admissible(const Eigen::Vector3d& point) const {
    if (!point.allFinite()) return false;
    if ((point.array() < skinBox_.low.array()).any() ||
        (point.array() > skinBox_.high.array()).any())
        return false;
    thread_local std::vector<SourceCount> counts;
    const Eigen::Vector3d start = point - origin_;
    for (const Eigen::Vector3d& direction : rayDirections()) {
        counts.clear();
        bool clear = true;
        const Eigen::Vector3d inverse = direction.cwiseInverse();
        const Eigen::Vector3d steep = inverse.cwiseAbs();
        std::array<std::uint32_t, 2 * kMaxDepth + 80> stack{};
        int top = 0;
        stack[top++] = 0;
        if (innerRoot_ != 0) stack[top++] = innerRoot_;
        while (top > 0 && clear) {
            const TreeNode& node = nodes_[stack[--top]];
            double enter = 0.0, leave = std::numeric_limits<double>::infinity();
            for (int axis = 0; axis < 3; ++axis) {
                const double middle = (node.centre[axis] - start[axis]) * inverse[axis];
                const double span = (node.half(axis) + 1e-12 * reach_) * steep[axis];
                enter = std::max(enter, middle - span);
                leave = std::min(leave, middle + span);
            }
            if (enter > leave * (1.0 + 1e-12)) continue;
            if (node.count == 0) {
                stack[top++] = node.first + 1;
                stack[top++] = node.first;
                continue;
            }
            for (std::uint32_t i = node.first; i < node.first + node.count && clear; ++i) {
                const int source = triangles_[i].source;
                if (!closed_[source]) continue;
                const Hit hit = crossing(triangles_[i], point, direction);
                if (hit == Hit::None) continue;
                if (hit == Hit::Unclear) {
                    clear = false;
                    break;
                }
                const int step = hit == Hit::Along ? 1 : -1;
                auto place = std::find_if(counts.begin(), counts.end(),
                                          [&](const SourceCount& c) { return c.source == source; });
                if (place == counts.end())
                    counts.push_back({source, step});
                else
                    place->count += step;
            }
        }
        if (!clear) continue;
        bool inSkin = false;
        for (const SourceCount& c : counts) {
            if (c.source == 0)
                inSkin = c.count > 0;
            else if (c.count != 0)
                return false;
        }
        return inSkin;
    }
    return admissibleBySolidAngle(point);
}

bool ObstacleTree::admissibleBySolidAngle(const Eigen::Vector3d& point) const {
    std::vector<double> angles(names_.size(), 0.0);
    for (const TreeTriangle& triangle : triangles_) {
        const Eigen::Vector3d a = cornerOf(triangle, 0) - point, b = cornerOf(triangle, 1) - point,
                              c = cornerOf(triangle, 2) - point;
        const double la = a.norm(), lb = b.norm(), lc = c.norm();
        angles[triangle.source] +=
            2.0 * std::atan2(a.dot(b.cross(c)),
                             la * lb * lc + a.dot(b) * lc + b.dot(c) * la + c.dot(a) * lb);
    }
    for (std::size_t source = 0; source < angles.size(); ++source) {
        if (!closed_[source]) continue;
        const double turns = angles[source] / (4.0 * std::numbers::pi);
        if (source == 0 ? turns < 0.5 : std::abs(turns) > 0.5) return false;
    }
    return true;
}

}  // namespace macle
